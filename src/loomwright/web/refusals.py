"""What a form says where a value cannot be used: in the words of its fields, not in those of the rig file."""

from __future__ import annotations

import re
from dataclasses import replace

from loomwright.errors import Problem
from loomwright.rig import holds
from loomwright.web import forms

_PLACE = re.compile(r"(?:wire\[\d+\] \((?P<wire>.*)\)|(?:item|place|panel)\.(?P<named>.+)|run\[(?P<run>\d+)\])"
                    r"\.(?P<key>\w+)(?:\[(?P<n>\d+)\])?")  # fmt: skip
_ROW = re.compile(r"row (?P<row>\d+), (?P<key>\w+)")
_ROW_FIELDS = {"many": "how many", "what": "what", "where": "where"}
_UNIT = re.compile(r" \[([^\]]+)\]$")
_ONLY_IN_FILES = (
    (re.compile(r"^Write (.*): a number without quotes; its unit stands in the name of the key\.$"), r"Type \1."),
    (re.compile(r"^Write one of these, (?:in|without) quotes\.$"), "Choose one of these."),
    (re.compile(r"^Write (.*?)[,;] (?:in|without) quotes\.$"), r"Type \1."),
    (re.compile(r"^Write at least one character\.$"), "Fill it in."),
)


def on_a_form(problem: Problem) -> Problem:
    """A problem as a form tells it: its place by the label of the field, its remedy without the file's quotes."""
    remedy = problem.remedy
    for pattern, words in _ONLY_IN_FILES:
        remedy = pattern.sub(words, remedy)
    return replace(
        problem, place=_place(problem.place), remedy=remedy, expected=_UNIT.sub(r" \1", problem.expected),
        received="nothing" if problem.received == '""' else problem.received,
    )  # fmt: skip


def _place(place: str) -> str:
    row = _ROW.fullmatch(place)
    if row is not None:
        return f"row {row['row']}, {_ROW_FIELDS.get(row['key'], row['key'])}"
    found = _PLACE.fullmatch(place)
    if found is None:
        return place
    owner = found["wire"] or found["named"] or f"run {found['run']}"
    said = forms.LABELS.get(found["key"]) or forms.words(found["key"], holds.unit(found["key"]))
    return f"{owner}, {said}{' ' + found['n'] if found['n'] else ''}"
