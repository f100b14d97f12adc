"""Names as they are read: two that look alike in print are one person's."""

from __future__ import annotations

import unicodedata
from collections.abc import Mapping

_LETTERS = (
    "АA ВB СC ЕE НH ІI ЈJ КK МM ОO РP ЅS ТT ХX ԜW аa сc ԁd еe һh іi јj ӏl оo рp ԛq ѕs ѵv ԝw хx уy үy "
    "ΑA ΒB ΕE ΖZ ΗH ΙI ΚK ΜM ΝN ΟO ΡP ΤT ΥY ΧX αa γy ιi κk νv οo ρp υu χx ϲc ϳj ıi"
)
LOOKS: Mapping[str, Mapping[str, str]] = {
    "letters": {pair[0]: pair[1] for pair in _LETTERS.split()},
    "strokes": {"I": "l", "|": "l", "1": "l", "0": "O"},
}
"""Cyrillic and Greek letters by the Latin ones that they look like; strokes that look like a small l or an O."""
_UNHEARD = frozenset({"Zs", "Pd", "Po", "Pc", "Cf", "Cc"})  # spaces, strokes, stops, what is not seen at all


def same_name(a: str, b: str) -> bool:
    """Whether two names are one person's, as far as names go.

    Case, accents, spaces and stops do not make two of one; nor do letters of another script that look the same.

    >>> same_name("Ana Gil", "аna gil "), same_name("Al", "AI"), same_name("Cal", "Cai")
    (True, True, False)
    """
    return _told(a) == _told(b) or _told(a, "strokes") == _told(b, "strokes")


def _told(name: str, *also: str) -> str:
    text = unicodedata.normalize("NFKC", name)
    for table in ("letters", *also):
        text = "".join(LOOKS[table].get(c, c) for c in text)
    plain = "".join(
        c for c in unicodedata.normalize("NFKD", text.casefold())
        if unicodedata.category(c) not in _UNHEARD and not "\u0300" <= c <= "\u036f"
    )  # fmt: skip
    return plain or " ".join(name.split())
