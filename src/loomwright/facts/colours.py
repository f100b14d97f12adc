"""Colours of wires in letters: ``RD``, ``BK``, ``BUWH`` (IEC 60757)."""

from __future__ import annotations

from loomwright.facts import tables


def letters() -> tuple[str, ...]:
    """Letters of the single colours, and of green-and-yellow."""
    return tuple(tables.rows("harness", "harness.colour"))


def known(code: str) -> bool:
    """Whether a code is one colour, or up to three one after the other."""
    return bool(parts(code))


def parts(code: str) -> tuple[str, ...]:
    """The single colours of a code, in its order; empty where it is none."""
    single = letters()
    if code in single:
        return (code,)
    pairs = tuple(code[k : k + 2] for k in range(0, len(code), 2))
    return pairs if 1 <= len(pairs) <= 3 and len(set(pairs)) == len(pairs) and set(pairs) <= set(single) else ()


def words(code: str) -> str:
    """A code in words: ``blue and white``; the code itself where it is none."""
    names = tables.rows("harness", "harness.colour")
    return " and ".join(names[p].text() for p in parts(code)) or code
