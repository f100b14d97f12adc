"""What the side sheet of the loom page shows: a wire, a run, a place or an item, with the fields that belong here."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from loomwright.errors import UnknownName
from loomwright.rig.keys import WireKeys
from loomwright.web import forms, sheets
from loomwright.web.service import Opened
from loomwright.web.units import Units
from loomwright.web.work.looms import Harnessed

WIRE = ("id", "length_mm", "via", "colour", "cover")
"""Keys of a wire that are about the harness: label, length as measured, way, colour, sleeve."""
_GONE = "It may have been taken out: go back to the loom."


def sheet(opened: Opened, harness: Harnessed | None, chosen: Mapping[str, str], shown: Units) -> dict[str, Any]:
    """What the side sheet shows. A run goes by its places, or by its number as drawings and findings give it.

    Raises
    ------
    UnknownName
        Where the address names a wire, a run, a place or an item that the rig does not have.
    """
    d = opened.draft
    loom = harness.loom if harness else None
    if chosen.get("wire"):
        found = d.wire(chosen["wire"])
        if found is None:
            raise UnknownName(f'no wire "{chosen["wire"]}" in this rig. {_GONE}')
        made = next((w for w in loom.wires if w.id == found.id), None) if loom else None
        runs = [d.runs[n - 1] for n in made.runs if n <= len(d.runs)] if made else []
        items = dict.fromkeys(r.partition(".")[0] for r in (found.start, found.end))
        rows = [i for i in (d.item(name) for name in items) if i is not None]
        return {
            "kind": "wire", "wire": found, "made": made, "runs": runs,
            "places": list(dict.fromkeys(i.place for i in rows)),
            "bolted": found.size.strip().lower() == "bolted",
            "fields": forms.fields(WireKeys, WIRE, d.table("wire", found.id), shown, {}),
        }  # fmt: skip
    if chosen.get("item"):
        item = d.item(chosen["item"])
        if item is None:
            raise UnknownName(f'no item "{chosen["item"]}" in this rig. {_GONE}')
        ends = [
            (w, e) for w in (loom.wires if loom else ()) for e in w.ends
            if e.terminal.partition(".")[0] == item.id
        ]  # fmt: skip
        return {"kind": "item", "item": item, "ends": ends}
    if chosen.get("run"):
        key = chosen["run"]
        if key.isdecimal() and 0 < int(key) <= len(d.runs):
            key = d.runs[int(key) - 1].key
        form = sheets.form(d, {"run": key}, shown)
        number = next((n for n, r in enumerate(d.runs, 1) if r is d.run(key)), 0)
        bundle = next((b for b in loom.bundles if b.run == number), None) if loom else None
        return {"kind": "run", "form": form, "headed": True, "bundle": bundle, "number": number}
    if chosen.get("place"):
        return {"kind": "place", "form": sheets.form(d, {"place": chosen["place"]}, shown)}
    return {"kind": ""}
