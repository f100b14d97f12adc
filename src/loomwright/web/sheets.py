"""The forms of the side sheet: which keys of the rig file each one shows, and what it offers for them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from loomwright.errors import UnknownName
from loomwright.facts import joints
from loomwright.rig.keys import (
    BandKeys,
    HeadKeys,
    ItemKeys,
    LimitKeys,
    PanelKeys,
    PlaceKeys,
    RunKeys,
    VehicleKeys,
    WireKeys,
)
from loomwright.rig.model import AmplifierSpec, LoadSpec
from loomwright.web import catalogues, forms
from loomwright.web.draft import Draft, DraftItem, DraftWire, terminals
from loomwright.web.forms import Field
from loomwright.web.units import Units

ABOUT = ("title", "ambient_c", "bundle_basis", "demo", "notes")
VEHICLE = ("kind", "drive", "idle_rpm", "cruise_rpm", "crank_a", "crank_min_v", "start_battery")
LIMITS = ("drop_v", "session_h", "session_engine", "session_programme", "listening_mm")
PLACE = ("temperature_c", "comes_off", "engine_space", "wet", "slack_mm")
RUN = ("between", "length_mm", "hazards", "cover", "hole_mm", "bend_radius_mm", "supports_mm")
WIRE = ("length_mm", "via", "metal", "insulation_c", "cover")
WIRE_MORE = ("id", "from", "to", "from_joint", "to_joint", "measured_mohm", "as_sold", "colour")
ITEM_MORE = ("part", "comes_off", "tail_mm", "panel", "at_mm", "turn_deg", "layer", "fixed", "turns")
PANEL = (
    "place", "width_mm", "height_mm", "corners_mm", "outline_file",
    "holes_mm", "keep_outs_mm", "space_mm", "entry_mm", "material",
    "thickness_mm", "upright", "pull_out_mm", "edge_mm", "screw_edge_mm", "spacer_mm",
)
BATTERY = ("charge_pct", "resistance_factor")
AMPLIFIER = ("bridged", "gains_v")
REMOTE = ("remote_on_ms", "remote_off_ms")
DRIVER = ("mounting", "box_l", "port_hz", "impedance")
CONNECTOR = ("key", "sockets")
BAND = ("channels", "high_pass_hz", "low_pass_hz", "slope_db", "alignment", "limit_w")
BANDED = ("amplifier", "processor")
BESIDE = ("impedance_file",)
"""Names a file beside the rig file. The store has none, so it is shown only where it stands, to be emptied."""
OF_FAMILY = {
    "battery": BATTERY, "amplifier": AMPLIFIER, "driver": DRIVER, "source": REMOTE, "processor": REMOTE,
    "connector": CONNECTOR,
}  # fmt: skip
_GONE = "It may have been taken out: go back to the rig."


@dataclass(frozen=True, slots=True)
class SideForm:
    """A form of the side sheet: where it goes, what it says which table it is about, its fields."""

    title: str
    action: str
    button: str
    fields: tuple[Field, ...]
    about: Mapping[str, str] = field(default_factory=dict)
    remove: str = ""
    note: str = ""
    name: str | None = None


def form(draft: Draft, chosen: Mapping[str, str], units: Units) -> SideForm | None:
    """The form for what the address chooses; None where it chooses something else.

    Raises
    ------
    UnknownName
        Where the rig has no such place, run or band.
    """
    if chosen.get("band"):
        return _band(draft, chosen.get("item", ""), chosen["band"], units)
    if chosen.get("table"):
        return _table(draft, chosen["table"], units)
    if chosen.get("place"):
        return _place(draft, chosen["place"], units)
    if chosen.get("run"):
        return _run(draft, chosen["run"], units)
    if chosen.get("panel"):
        return _panel(draft, chosen["panel"], units)
    if chosen.get("add") == "panel":
        made = forms.fields(PanelKeys, PANEL, {}, units, {"place": draft.places})
        return SideForm("Add a panel", "panel/add", "Add it", made, name="")
    if chosen.get("add") == "place":
        made = forms.fields(PlaceKeys, PLACE, {}, units, {})
        return SideForm("Add a place", "place/add", "Add it", made, name="")
    if chosen.get("add") == "run":
        note = "" if len(draft.places) > 1 else "A run joins two places: add another place first."
        made = forms.fields(RunKeys, RUN, {}, units, {"between": draft.places})
        return SideForm("Add a run", "run/add", "Add it", made, note=note)
    return None


def _table(draft: Draft, table: str, units: Units) -> SideForm:
    raw = draft.raw.get(table, {})
    raw = raw if isinstance(raw, Mapping) else {}
    if table == "about":
        return SideForm("The rig as a whole", "about", "Save", forms.fields(HeadKeys, ABOUT, draft.raw, units, {}))
    if table == "vehicle":
        batteries = [i.id for i in draft.items if i.part is not None and i.part.family == "battery"]
        made = forms.fields(VehicleKeys, VEHICLE, raw, units, {"start_battery": batteries})
        return SideForm("The vehicle", "vehicle", "Save", made)
    if table == "limits":
        return SideForm("Limits", "limits", "Save", forms.fields(LimitKeys, LIMITS, raw, units, {}))
    raise UnknownName("no such form. There are: about, vehicle, limits.")


def _place(draft: Draft, name: str, units: Units) -> SideForm:
    if name not in draft.places:
        raise UnknownName(f'no place "{name}" in this rig. {_GONE}')
    made = forms.fields(PlaceKeys, PLACE, draft.table("place", name), units, {})
    here = ", ".join(i.id for i in draft.items if i.place == name)
    note = f"Here: {here}." if here else "No item here yet."
    return SideForm(f"Place {name}", "place", "Save", made, {"place": name}, "place/remove", note, name)


def _panel(draft: Draft, name: str, units: Units) -> SideForm:
    if name not in panels(draft):
        raise UnknownName(f'no panel "{name}" in this rig. {_GONE}')
    made = forms.fields(PanelKeys, PANEL, draft.table("panel", name), units, {"place": draft.places})
    here = ", ".join(i.id for i in draft.items if draft.table("item", i.id).get("panel") == name)
    note = f"On it: {here}." if here else "No item on it yet: name it in the sheet of an item."
    return SideForm(f"Panel {name}", "panel", "Save", made, {"panel": name}, "panel/remove", note, name)


def panels(draft: Draft) -> list[str]:
    """The panels of the text."""
    found = draft.raw.get("panel", {})
    return list(found) if isinstance(found, Mapping) else []


def _run(draft: Draft, key: str, units: Units) -> SideForm:
    found = draft.run(key)
    if found is None:
        raise UnknownName(f'no run "{" to ".join(key.split("."))}" in this rig. {_GONE}')
    made = forms.fields(RunKeys, RUN, found.table, units, {"between": draft.places})
    title = f"Run {' to '.join(found.between)}"
    return SideForm(title, "run", "Save", made, {"run": found.key}, "run/remove")


def _band(draft: Draft, item_id: str, which: str, units: Units) -> SideForm:
    item = draft.item(item_id)
    if item is None or not channels(item):
        raise UnknownName(f'no item "{item_id}" with channels in this rig. {_GONE}')
    found = bands(draft, item)
    known = {"channels": [str(n) for n in range(1, channels(item) + 1)]}
    if which == "new":
        made = forms.fields(BandKeys, BAND, {}, units, known)
        return SideForm(f"Filters on {item.id}", "item/band/add", "Add them", made, {"item": item.id})
    if not which.isdecimal() or not 1 <= int(which) <= len(found):
        raise UnknownName(f"no filters {which} on {item.id}. {_GONE}")
    made = forms.fields(BandKeys, BAND, found[int(which) - 1], units, known)
    about = {"item": item.id, "band": which}
    return SideForm(f"Filters {which} on {item.id}", "item/band", "Save", made, about, "item/band/remove")


def channels(item: DraftItem) -> int:
    """How many channels of an item can have filters set on them."""
    spec = item.part.spec if item.part is not None and item.part.family in BANDED else None
    return spec.channels if isinstance(spec, AmplifierSpec | LoadSpec) else 0


def bands(draft: Draft, item: DraftItem) -> list[Mapping[str, Any]]:
    """The filters set on an item, as the text has them."""
    found = draft.table("item", item.id).get("bands")
    return [b for b in found if isinstance(b, Mapping)] if isinstance(found, list) else []


def band_words(band: Mapping[str, Any]) -> str:
    """A band in a few words."""
    on = band.get("channels")
    named = ", ".join(map(str, on)) if isinstance(on, list) else "?"
    low, high = band.get("high_pass_hz"), band.get("low_pass_hz")
    passed = (
        f"{low:g} to {high:g} Hz" if _figures(low, high) else f"from {low:g} Hz" if _figures(low)
        else f"to {high:g} Hz" if _figures(high) else "all"
    )  # fmt: skip
    limit = f", at most {band['limit_w']:g} W" if _figures(band.get("limit_w")) else ""
    return f"{named}: {passed}{limit}"


def _figures(*values: object) -> bool:
    return all(isinstance(v, int | float) for v in values)


def wire_fields(draft: Draft, wire: DraftWire, units: Units) -> tuple[tuple[Field, ...], tuple[Field, ...]]:
    """The fields of a wire, size apart: those that are often changed, and the rest."""
    raw = draft.table("wire", wire.id)
    refs = [f"{i.id}.{t.name}" for i, t in terminals(draft)]
    known: Mapping[str, Sequence[str]] = {
        "from": refs, "to": refs, "from_joint": joints.names(), "to_joint": joints.names()
    }  # fmt: skip
    often, rest = (forms.fields(WireKeys, names, raw, units, known) for names in (WIRE, WIRE_MORE))
    return often, rest


def item_fields(draft: Draft, item: DraftItem, units: Units, own: str) -> tuple[Field, ...]:
    """The fields of an item, place and fuses apart: those that its part can have."""
    family = item.part.family if item.part is not None else ""
    raw = draft.table("item", item.id)
    names = ITEM_MORE + OF_FAMILY.get(family, ()) + tuple(k for k in BESIDE if k in raw)
    alike = [p.id for p, _ in catalogues.words(own) if family in ("", p.family)]
    return forms.fields(ItemKeys, names, raw, units, {"part": alike, "panel": panels(draft)})
