"""Loomwright: plan, prove and hand over amplified audio in small 12 V vehicles."""

__version__ = "0.1.0"
