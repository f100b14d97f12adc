"""The catalogue: generic parts that come with Loomwright, and the user's own beside the rig file."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cache
from importlib import resources
from pathlib import Path

import tomli

from loomwright.errors import InputError, Problem, UnknownName
from loomwright.facts import batteries, conductors, joints
from loomwright.rig import sizes
from loomwright.rig.keys import Keys
from loomwright.rig.model import Part
from loomwright.rig.part_keys import (
    PART_KEYS,
    BatteryKeys,
    CatalogueKeys,
    ChargerKeys,
    DriverKeys,
    PartKeys,
    PassiveKeys,
    WireStockKeys,
)
from loomwright.rig.read import read_tables, read_text
from loomwright.rig.report import Report
from loomwright.rig.specs import part as make_part
from loomwright.rig.specs import passive_value
from loomwright.rig.tables import check, dotted
from loomwright.rig.terminals import groups
from loomwright.rig.words import ID_RULE, bad_id, nearest, show

FORMAT = 1
Q_AGREES = 0.1
"""A stated total Q may differ this much from the two that make it: data sheets round."""
OWN_FILES = ("catalogue.toml", "*.catalogue.toml")


@dataclass(frozen=True)
class Catalogue:
    """Part tables by id, each with the file it came from. A table is checked when its part is asked for."""

    tables: Mapping[str, tuple[Mapping[str, object], str]]
    _made: dict[str, Part] = field(default_factory=dict, compare=False, repr=False)

    def ids(self) -> tuple[str, ...]:
        return tuple(sorted(self.tables))

    def part(self, part_id: str) -> Part:
        """One part.

        Raises
        ------
        UnknownName
            Where no part has that id; the message gives the nearest one.
        InputError
            Where its table cannot be used.
        """
        if part_id in self._made:
            return self._made[part_id]
        if part_id not in self.tables:
            near = nearest(part_id, self.tables)
            hint = f' Did you mean "{near}"?' if near else ""
            raise UnknownName(f"no part {show(part_id)} in the catalogue.{hint}")
        table, file = self.tables[part_id]
        report = Report(file)
        part = _part(part_id, table, report)
        if part is None:
            raise InputError(report.problems)
        self._made[part_id] = part
        return part

    def over(self, other: Catalogue) -> Catalogue:
        """This catalogue laid over another: where both have a part, this one's counts."""
        return Catalogue({**other.tables, **self.tables})


@cache
def builtin() -> Catalogue:
    """The parts that come with Loomwright."""
    tables: dict[str, tuple[Mapping[str, object], str]] = {}
    folder = resources.files("loomwright.rig") / "data"
    for entry in sorted(folder.iterdir(), key=lambda e: e.name):
        if entry.name.endswith(".toml"):
            data = tomli.loads(entry.read_text(encoding="utf-8"))
            for part_id, table in _parts(data).items():
                if part_id in tables:
                    raise InputError([_twice(entry.name, part_id, tables[part_id][1])])
                tables[part_id] = (table, entry.name)
    return Catalogue(tables)


def parse(text: str, file_name: str) -> Catalogue:
    """A user's catalogue, every part of it checked.

    Raises
    ------
    InputError
        With every problem found.
    """
    data = read_tables(text, file_name)
    report = Report(file_name)
    if data.get("format") != FORMAT:
        report.add(
            "format", f"{FORMAT}", show(data.get("format")), f"Write format = {FORMAT} at the top of the catalogue."
        )
    head = {k: v for k, v in data.items() if k != "part"} | {"format": FORMAT}
    check(CatalogueKeys, head, report, dotted(""))
    if not isinstance(data.get("part", {}), dict):
        report.add("part", "tables such as [part.name]", show(data["part"]), "Write each part as [part.name].")
    parts = _parts(data)
    for part_id, table in parts.items():
        _part(part_id, table, report)
    report.raise_if_any()
    return Catalogue({part_id: (table, file_name) for part_id, table in parts.items()})


def beside(rig_path: Path) -> Catalogue:
    """The user's catalogues in the folder of a rig file, laid over the built-in one.

    They are called ``catalogue.toml`` or ``<name>.catalogue.toml``.

    Raises
    ------
    InputError
        Where one cannot be used, or two of them define one part.
    """
    found = sorted({p for pattern in OWN_FILES for p in rig_path.parent.glob(pattern)})
    own: dict[str, tuple[Mapping[str, object], str]] = {}
    problems: list[Problem] = []
    for path in found:
        try:
            read = parse(read_text(path), str(path))
        except InputError as error:
            problems.extend(error.problems)
            continue
        for part_id, (table, file) in read.tables.items():
            if part_id in own:
                problems.append(_twice(file, part_id, own[part_id][1]))
            own[part_id] = (table, file)
    if problems:
        raise InputError(problems)
    return Catalogue(own).over(builtin()) if own else builtin()


def _parts(data: Mapping[str, object]) -> Mapping[str, Mapping[str, object]]:
    parts = data.get("part", {})
    if not isinstance(parts, dict):
        return {}
    return {k: v if isinstance(v, dict) else {"": v} for k, v in parts.items()}


def _twice(file: str, part_id: str, other: str) -> Problem:
    return Problem(
        file, f"part.{part_id}", "a part that no other catalogue here defines", f"also in {other}",
        "Rename one of the two, or take one out.",
    )  # fmt: skip


def _part(part_id: str, table: Mapping[str, object], report: Report) -> Part | None:
    head = f"part.{part_id}"
    before = len(report.problems)
    if reason := bad_id(part_id):
        report.add(head, f"an id: {ID_RULE}", reason, "Rename the part.")
    family = table.get("family")
    if not isinstance(family, str) or family not in PART_KEYS:
        report.unknown(f"{head}.family", "a family", family if isinstance(family, str) else show(family), [*PART_KEYS])
        return None
    keys = check(PART_KEYS[family], table, report, dotted(head))
    if keys is None:
        return None
    _sense(keys, head, report)
    return make_part(part_id, keys) if len(report.problems) == before else None


def _sense(keys: PartKeys, head: str, report: Report) -> None:
    """What one key alone cannot show."""
    known = {group.name: None for group, _, _ in groups(keys)}
    for name, own in keys.terminal.items():
        if name not in known:
            report.unknown(f"{head}.terminal.{name}", "a group of terminals", name, list(known))
        if own.joint is not None and own.joint not in _joints():
            report.unknown(f"{head}.terminal.{name}.joint", "a joint", own.joint, list(_joints()))
    match keys:
        case BatteryKeys():
            tables = list(batteries.tables())
            if keys.rest_table not in tables:
                report.unknown(f"{head}.rest_table", "a table of resting volts", keys.rest_table, tables)
            _rising(keys, head, report, "charge_min_v", "charge_max_v")
        case ChargerKeys():
            if len(keys.rpm) != len(keys.current_a):
                report.add(
                    f"{head}.current_a", f"{len(keys.rpm)} values, one for each engine speed",
                    f"{len(keys.current_a)} values", "Give one current for each engine speed.",
                )  # fmt: skip
            if any(b <= a for a, b in zip(keys.rpm, keys.rpm[1:], strict=False)):
                report.add(f"{head}.rpm", "engine speeds that rise", show(keys.rpm), "Put them in rising order.")
        case PassiveKeys() if passive_value(keys) is None:
            fits = {"capacitor": "capacitance_uf", "coil": "inductance_mh"}.get(keys.element, "resistance_ohm")
            report.add(f"{head}.{fits}", "a number above 0", "nothing", f"A {keys.element} needs the key {fits}.")
        case DriverKeys():
            _driver(keys, head, report)
        case WireStockKeys():
            try:
                bolted = conductors.parse_size(keys.size).system == "bolted"
            except UnknownName:
                bolted = True
            if bolted:
                expected = 'a size such as "8 AWG", "8 SAE" or "8 mm2"'
                report.add(f"{head}.size", expected, show(keys.size), sizes.advice(keys.size))
        case _:
            pass


def _driver(keys: DriverKeys, head: str, report: Report) -> None:
    """Small-signal values that belong together, and a Q that can be."""
    needed = ("re_ohm", "fs_hz", "qms", "qes")
    if any(getattr(keys, k) is not None for k in (*needed, "le_mh", "vas_l")):
        for key in needed:
            if getattr(keys, key) is None:
                report.add(
                    f"{head}.{key}", f"all of {', '.join(needed)}, or none", "nothing",
                    "Take it from the data sheet or measure it; else leave all of them out.",
                )  # fmt: skip
    if keys.qts is not None and keys.qms is not None and keys.qes is not None:
        both = keys.qms * keys.qes / (keys.qms + keys.qes)
        if abs(keys.qts / both - 1.0) > Q_AGREES:
            report.add(
                f"{head}.qts", f"{both:.3g}, from qms = {keys.qms:g} and qes = {keys.qes:g}", f"{keys.qts:g}",
                "Correct one of the three: 1/qts = 1/qms + 1/qes.",
            )  # fmt: skip
    if keys.re_ohm is not None and not 0.5 <= keys.re_ohm / keys.nominal_ohm <= 1.25:
        report.add(
            f"{head}.re_ohm", f"0.5 to 1.25 times nominal_ohm = {keys.nominal_ohm:g}", f"{keys.re_ohm:g}",
            "Correct one of the two; state a double voice coil as it is wired.",
        )  # fmt: skip


def _rising(keys: Keys, head: str, report: Report, low: str, high: str) -> None:
    if getattr(keys, low) > getattr(keys, high):
        report.add(
            f"{head}.{high}", f"at least {low} = {getattr(keys, low):g}", show(getattr(keys, high)),
            "Correct one of the two.",
        )  # fmt: skip


def _joints() -> Iterable[str]:
    return joints.names()
