"""What is wrong with text that is not TOML, said in the words of the one who wrote it."""

from __future__ import annotations

import re

_ROWS = ("wire", "run")
_YES_NO = {"yes": "true", "on": "true", "no": "false", "off": "false"}
_SEE = "Mend this line; see toml.io for the syntax."
_QUOTE = ("text between two quotes", "a quote that is not closed", "Put the missing quote at the other end.")
_UNCLOSED = ("illegal character '\\n'", "unterminated string", "illegal character '\\r'")
_VALUE = re.compile(r"^\s*(?P<key>[^=\s\[#]+)\s*=\s*(?P<value>[^#]*?)\s*(?:#.*)?$")
_HEAD = re.compile(r"^\s*\[\[?\s*(?P<name>\w+)\s*\]")
_TWICE = re.compile(r"[Cc]annot declare \((?P<names>[^)]*)\) twice")
_COMMA = re.compile(r"(?P<whole>[+-]?\d+),(?P<part>\d+)")
_FIGURE = re.compile(r"(?P<figure>[+-]?\d+(?:\.\d+)?)\s*(?P<unit>[A-Za-z%°][\w%]*)")


def explain(line: str, what: str) -> tuple[str, str, str]:
    """What was expected, what was received, what to do, for one line and the parser's own words about it.

    >>> explain('title = "Trike', "illegal character '\\\\n'")[1]
    'a quote that is not closed'
    """
    said = what.casefold()
    if said.startswith(_UNCLOSED):
        return _QUOTE
    head = _HEAD.match(line)
    if head and head["name"] in _ROWS and said.startswith("cannot"):
        name = head["name"]
        return (
            f"every {name} under [[{name}]], two brackets", f"both [{name}] and [[{name}]], or [{name}] twice",
            f"Write [[{name}]] with two brackets over each {name} of the file.",
        )  # fmt: skip
    if twice := _TWICE.search(what):
        names = [n.strip(" '\"") for n in twice["names"].split(",")]
        return (
            "each name once", f"a second [{'.'.join(n for n in names if n)}]",
            "Give one of the two another name, or take it out.",
        )  # fmt: skip
    if said.startswith("cannot overwrite a value") and (found := _VALUE.match(line)):
        return "each key once in its table", f"{found['key']} a second time", "Take one of the two out."
    found = _VALUE.match(line)
    if found and (better := _value(found["key"], found["value"])):
        return better
    return "TOML", what, _SEE


def _value(key: str, value: str) -> tuple[str, str, str] | None:
    """What is wrong with a value that stands without quotes."""
    word = value.casefold()
    if word in ("true", "false") or word in _YES_NO:
        right = _YES_NO.get(word, word)
        return "true or false", value, f"Write {key} = {right}, in small letters and without quotes."
    if not value:
        return f"a value after {key} =", "nothing", "Write the value, or take the line out."
    if value.count('"') == 1 or value.count("'") == 1:
        return _QUOTE
    if comma := _COMMA.fullmatch(value):
        whole, part = comma["whole"], comma["part"]
        thousands = f", or {key} = {whole}{part}" if len(part) == 3 else ""
        return "a point in a number, no comma", value, f"Write {key} = {whole}.{part}{thousands}."
    if figure := _FIGURE.fullmatch(value):
        return (
            "a number alone, or text in quotes", value,
            f"Write {key} = {figure['figure']}: the unit stands in the name of the key. Text goes in quotes.",
        )  # fmt: skip
    if re.fullmatch(r"[^\W\d][\w .-]*", value):
        return "a number, true or false, or text in quotes", value, f'Write {key} = "{value}", in quotes.'
    return None
