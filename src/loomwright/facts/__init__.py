"""Figures of the trade: published, calculated, common practice or from memory, each with its source.

The figures are rows in ``data/*.toml``; these modules read them and hold the formulas that go with them.
"""
