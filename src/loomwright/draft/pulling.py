"""From pulls to wires: disconnects wherever something comes off, contacts given out, wires numbered."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field

from loomwright.draft.sheet import NewWire, Pull, Sheet
from loomwright.errors import InputError, Problem
from loomwright.rig.edit import Value
from loomwright.rig.model import ConnectorSpec

PLUGS = "plugs"
SEALED = ("connector_2_sealed", "connector_4_sealed", "connector_6_sealed", "connector_8_sealed", "connector_12_sealed")
LINE = "connector_4_line"
POWER = ("connector_power_2_50a", "connector_power_2_120a")
HOT_C, VERY_HOT_C = 55.0, 100.0


@dataclass(frozen=True, slots=True)
class Boundary:
    """Where something comes off: the connector sits in ``place``; ``off`` is what is lifted away."""

    place: str
    off: str


@dataclass
class Crossing:
    """Pulls that cross one boundary through one connector; ``ends`` are given out as they come."""

    pulls: list[int] = field(default_factory=list)


def realise(sheet: Sheet) -> None:
    """Cut every pull at the boundaries that it crosses, fit connectors there, and write the wires."""
    paths = [_boundaries(sheet, p) for p in sheet.pulls]
    contacts = _contacts(sheet, paths)
    for n, pull in enumerate(sheet.pulls):
        here = pull.start
        pieces: list[tuple[str, str]] = []
        for boundary, outward in paths[n]:
            item, number = contacts[n, boundary]
            near, far = (f"{item}.a{number}", f"{item}.b{number}")
            if not outward:
                near, far = far, near
            pieces.append((here, near))
            here = far
        pieces.append((here, pull.end))
        for start, end in pieces:
            keys = {**dict(pull.keys), **_insulation(sheet, pull, start, end)}
            sheet.wires.append(
                NewWire(sheet.number(pull.letter), start, end, pull.size, pull.chapter, pull.why, pull.group,
                        tuple(keys.items()))
            )  # fmt: skip


def _boundaries(sheet: Sheet, pull: Pull) -> list[tuple[Boundary, bool]]:
    """Boundaries on a pull's way, each with whether it is passed from the fixed side outwards."""
    ends = [ref.partition(".")[0] for ref in (pull.start, pull.end)]
    places = [sheet.place_of(i) for i in ends]
    families = [sheet.part_of(i).family for i in ends]
    if families[0] == "frame":
        places[0] = places[1]
    if families[1] == "frame":
        places[1] = places[0]
    found: list[tuple[Boundary, bool]] = []
    if _comes_off(sheet, ends[0]):
        found.append((Boundary(places[0], ends[0]), False))
    way = sheet.routes.way(places[0], places[1])
    if way is None:
        raise InputError(
            [Problem(sheet.rig.file, "run", f"runs that lead from {places[0]} to {places[1]}", "no way between them",
                     f"Add the run on which {ends[0]} and {ends[1]} are wired.")]
        )  # fmt: skip
    here = places[0]
    for k in way.runs:
        a, b = sheet.rig.runs[k].between
        there = b if here == a else a
        off_here, off_there = (sheet.rig.places[p].comes_off for p in (here, there))
        if off_there:
            found.append((Boundary(here, there), True))
        elif off_here:
            found.append((Boundary(there, here), False))
        here = there
    if _comes_off(sheet, ends[1]):
        found.append((Boundary(places[1], ends[1]), True))
    return found


def _comes_off(sheet: Sheet, item: str) -> bool:
    return item in sheet.rig.items and sheet.rig.items[item].comes_off


def _contacts(
    sheet: Sheet, paths: list[list[tuple[Boundary, bool]]]
) -> dict[tuple[int, Boundary], tuple[str, int]]:
    """Connector and contact of every pull at every boundary."""
    crossing: dict[Boundary, list[int]] = defaultdict(list)
    for n, path in enumerate(paths):
        for boundary, _ in path:
            crossing[boundary].append(n)
    given: dict[tuple[int, Boundary], tuple[str, int]] = {}
    fitted: dict[tuple[str, str], int] = defaultdict(int)
    for item in sheet.families("connector"):
        fitted[item.place, item.part.id] += 1
    for boundary in crossing:
        kinds: dict[str, list[int]] = {"power": [], "signal": [], "line": []}
        for n in crossing[boundary]:
            kinds[_class(sheet.pulls[n])].append(n)
        for bundle in _bundles(sheet, kinds["power"]):
            part = POWER[0] if fitted[boundary.place, POWER[0]] < _keyings(sheet, POWER[0]) else POWER[1]
            plug = _fit(sheet, boundary, f"{boundary.off}_plug", part, fitted)
            for number, n in enumerate(bundle, 1):
                given[n, boundary] = plug, number
        for heap in _heaps(_bundles(sheet, kinds["signal"]), 12):
            part = _sealed(len(heap), boundary.place, fitted)
            plug = _fit(sheet, boundary, f"{boundary.off}_signal", part, fitted)
            for number, n in enumerate(heap, 1):
                given[n, boundary] = plug, number
        for heap in _heaps([[n] for n in kinds["line"]], 4):
            plug = _fit(sheet, boundary, f"{boundary.off}_line", LINE, fitted)
            for number, n in enumerate(heap, 1):
                given[n, boundary] = plug, number
    return given


def _class(pull: Pull) -> str:
    if pull.kind == "line":
        return "line"
    return "power" if pull.kind in ("power", "ground") and not pull.group.startswith("small:") else "signal"


def _bundles(sheet: Sheet, pulls: Iterable[int]) -> list[list[int]]:
    """Pulls by what must go side by side: loudspeaker pairs first, then remotes, then small feeds."""
    rank = {"speaker": 0, "remote": 1, "power": 2, "ground": 2, "line": 3}
    heaps: dict[str, list[int]] = defaultdict(list)
    for n in pulls:
        heaps[sheet.pulls[n].bundle].append(n)
    order = {"power": 0, "speaker": 0, "remote": 0, "line": 0, "ground": 1}
    made = [sorted(h, key=lambda n: (order[sheet.pulls[n].kind], n)) for h in heaps.values()]
    return sorted(made, key=lambda h: (rank[sheet.pulls[h[0]].kind], h[0]))


def _heaps(bundles: list[list[int]], most: int) -> list[list[int]]:
    heaps: list[list[int]] = []
    for bundle in bundles:
        if heaps and len(heaps[-1]) + len(bundle) <= most:
            heaps[-1] = [*heaps[-1], *bundle]
        else:
            heaps.append(list(bundle))
    return heaps


def _sealed(count: int, place: str, fitted: dict[tuple[str, str], int]) -> str:
    """The smallest sealed connector with so many contacts that is not at this place yet: none can then be swapped."""
    fit = [p for p in SEALED if int(p.split("_")[1]) >= count] or [SEALED[-1]]
    return next((p for p in fit if not fitted[place, p]), fit[-1])


def _keyings(sheet: Sheet, part: str) -> int:
    spec = sheet.part(part).spec
    return spec.keyings if isinstance(spec, ConnectorSpec) else 1


def _fit(sheet: Sheet, boundary: Boundary, stem: str, part: str, fitted: dict[tuple[str, str], int]) -> str:
    fitted[boundary.place, part] += 1
    key = fitted[boundary.place, part]
    keys: dict[str, Value] = {"key": key} if 1 < key <= _keyings(sheet, part) else {}
    plug = sheet.place(stem, part, boundary.place, PLUGS, f"{boundary.off} comes off", **keys)
    turned = f"; keyed {key}, so that it goes into no other" if keys else ""
    sheet.choose(plug, part, f"{boundary.off} comes off: every wire that crosses has a plug{turned}")
    return plug


def _insulation(sheet: Sheet, pull: Pull, start: str, end: str) -> dict[str, Value]:
    """Metal and insulation that suit the places on the way."""
    if pull.kind not in ("power", "ground"):
        return {}
    ends = [ref.partition(".")[0] for ref in (start, end)]
    frame = [sheet.part_of(i).family == "frame" for i in ends]
    here, there = (sheet.place_of(i) for i in ends)
    if frame[0]:
        here = there
    if frame[1]:
        there = here
    way = sheet.routes.way(here, there)
    runs = [sheet.rig.runs[k] for k in (way.runs if way else ())]
    places = [sheet.rig.places[p] for p in {here, there, *(p for r in runs for p in r.between)}]
    hottest = max(p.temperature_c for p in places)
    wet = any(p.wet for p in places) or any("water" in r.hazards for r in runs) or sheet.rig.vehicle.kind == "boat"
    keys: dict[str, Value] = {}
    metal = sheet.given.wishes.metal or ("tinned copper" if wet else "copper")
    if metal != "copper":
        keys["metal"] = metal
    if insulation_c(hottest) != 105:
        keys["insulation_c"] = insulation_c(hottest)
    return keys


def insulation_c(hottest_c: float) -> int:
    """The insulation that suits the hottest place on a way."""
    return 105 if hottest_c <= HOT_C else 125 if hottest_c <= VERY_HOT_C else 200
