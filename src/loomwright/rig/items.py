"""Items from their tables: parts looked up, and what a part allows checked."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from loomwright.errors import InputError, UnknownName
from loomwright.rig import impedance
from loomwright.rig.catalogue import Catalogue
from loomwright.rig.keys import ItemKeys
from loomwright.rig.model import AmplifierSpec, Band, ConnectorSpec, FuseSpec, Impedance, Item, LoadSpec, Mounting, Part
from loomwright.rig.panels import spot
from loomwright.rig.plan import Panel
from loomwright.rig.report import Report
from loomwright.rig.words import show

CHARGE_PCT = 80.0


def find_part(item_id: str, part_id: str, catalogue: Catalogue, report: Report) -> Part | None:
    """The part of an item; None, with the problem in the report, where there is none that can be used."""
    try:
        part = catalogue.part(part_id)
        if part.terminals:
            return part
        report.add(
            f"item.{item_id}.part", "a part with terminals, that has its place in the vehicle",
            f"{part_id}, wire by the length", "Draw it as a [[wire]] of that size, and take this item out.",
        )  # fmt: skip
    except UnknownName:
        report.unknown(f"item.{item_id}.part", "a part of the catalogue", part_id, list(catalogue.ids()))
    except InputError as error:
        report.problems.extend(p for p in error.problems if p not in report.problems)
    return None


def make_item(
    item_id: str, keys: ItemKeys, part: Part, panels: Mapping[str, Panel | None], report: Report,
    folder: Path | None = None,
) -> Item:  # fmt: skip
    """The item; what its part does not allow goes into the report. ``folder`` is where the rig's file lies."""
    head = f"item.{item_id}"
    _fuses(head, keys, part, report)
    if part.family not in ("source", "processor"):
        for key in ("remote_on_ms", "remote_off_ms"):
            if getattr(keys, key) is not None:
                report.add(
                    f"{head}.{key}", "this key on source units and processors only",
                    f"it on {part.id}, family {part.family}", "Take it out.",
                )  # fmt: skip
    if part.family != "battery":
        for key in ("charge_pct", "resistance_factor"):
            if getattr(keys, key) is not None:
                report.add(
                    f"{head}.{key}", "this key on batteries only", f"it on {part.id}, family {part.family}",
                    "Take it out.",
                )  # fmt: skip
    _connector(head, keys, part, report)
    return Item(
        id=item_id,
        part=part,
        place=keys.place,
        fuses_a=tuple(keys.fuses_a) if keys.fuses_a or not isinstance(part.spec, FuseSpec) else _fixed(part),
        charge_pct=CHARGE_PCT if keys.charge_pct is None else keys.charge_pct,
        resistance_factor=1.0 if keys.resistance_factor is None else keys.resistance_factor,
        comes_off=keys.comes_off,
        bridged=_bridged(head, keys, part, report),
        mounting=_mounting(head, keys, part, report),
        impedance=_impedance(head, keys, part, report, folder),
        bands=_bands(head, keys, part, report),
        gains_v=_gains(head, keys, part, report),
        remote_on_ms=keys.remote_on_ms,
        remote_off_ms=keys.remote_off_ms,
        tail_mm=keys.tail_mm,
        key=keys.key or 1,
        sockets=keys.sockets or "a",
        spot=spot(head, keys, part, panels, report),
    )


def _connector(head: str, keys: ItemKeys, part: Part, report: Report) -> None:
    spec = part.spec
    if not isinstance(spec, ConnectorSpec):
        for key in ("key", "sockets"):
            if getattr(keys, key) is not None:
                report.add(
                    f"{head}.{key}", "this key on connectors only", f"it on {part.id}, family {part.family}",
                    "Take it out.",
                )  # fmt: skip
        return
    if keys.key is not None and keys.key > spec.keyings:
        report.add(
            f"{head}.key", f"1 to {spec.keyings}: the ways in which {part.id} can be keyed", f"{keys.key}",
            "Choose one of them, or a connector that can be keyed.",
        )  # fmt: skip
    if keys.sockets is not None and spec.halves == "alike":
        report.add(
            f"{head}.sockets", f"nothing: the halves of {part.id} are alike", show(keys.sockets), "Take it out."
        )


def _fixed(part: Part) -> tuple[float, ...]:
    """Ratings that a part brings by itself: a breaker's."""
    spec = part.spec
    return (spec.rating_a,) if isinstance(spec, FuseSpec) and spec.rating_a is not None else ()


def _fuses(head: str, keys: ItemKeys, part: Part, report: Report) -> None:
    spec = part.spec
    if not isinstance(spec, FuseSpec):
        if keys.fuses_a:
            report.add(
                f"{head}.fuses_a", "this key on fuse holders and fused blocks only",
                f"it on {part.id}, family {part.family}", "Take it out.",
            )  # fmt: skip
        return
    if spec.rating_a is not None:
        if keys.fuses_a:
            report.add(
                f"{head}.fuses_a", f"nothing: {part.id} has a fixed rating of {spec.rating_a:g} A", show(keys.fuses_a),
                "Take it out, or use a breaker of another rating.",
            )  # fmt: skip
        return
    ways = part.ways or 1
    if len(keys.fuses_a) != ways:
        received = f"{len(keys.fuses_a)} values" if keys.fuses_a else "nothing"
        report.add(
            f"{head}.fuses_a", "1 value" if ways == 1 else f"{ways} values, one for each way", received,
            'Give a rating, "auto", or 0 for an empty way.',
        )  # fmt: skip
    for n, rating in enumerate(keys.fuses_a, 1):
        if rating != "auto" and rating > spec.max_rating_a:
            report.add(
                f"{head}.fuses_a[{n}]", f"at most {spec.max_rating_a:g} A in {part.id}", f"{rating:g}",
                "Use a smaller fuse, or a holder made for a larger one.",
            )  # fmt: skip


def _bridged(head: str, keys: ItemKeys, part: Part, report: Report) -> tuple[tuple[int, int], ...]:
    if not keys.bridged:
        return ()
    spec = part.spec
    if not isinstance(spec, AmplifierSpec) or spec.bridged_4ohm_w is None:
        report.add(
            f"{head}.bridged", f"no bridged pairs: {part.id} cannot bridge", show(keys.bridged),
            "Take it out, or use an amplifier that bridges.",
        )  # fmt: skip
        return ()
    pairs = [[n, n + 1] for n in range(1, spec.channels, 2)]
    seen: set[int] = set()
    good: list[tuple[int, int]] = []
    for n, (a, b) in enumerate(keys.bridged, 1):
        if sorted((a, b)) not in pairs:
            report.add(
                f"{head}.bridged[{n}]", f"one of the pairs {', '.join(map(show, pairs))}", show([a, b]),
                "Bridge two channels that lie side by side.",
            )  # fmt: skip
        elif a in seen or b in seen:
            report.add(f"{head}.bridged[{n}]", "each channel once", show([a, b]), "Take the pair out.")
        else:
            good.append((min(a, b), max(a, b)))
        seen.update((a, b))
    return tuple(sorted(good))


def _mounting(head: str, keys: ItemKeys, part: Part, report: Report) -> Mounting:
    kind = keys.mounting or "open"
    if part.family != "driver":
        for key in ("mounting", "box_l", "port_hz", "impedance_file", "impedance"):
            if getattr(keys, key):
                report.add(
                    f"{head}.{key}", "this key on drivers only", f"it on {part.id}, family {part.family}",
                    "Take it out.",
                )  # fmt: skip
        return Mounting()
    for key, kinds in (("box_l", ("sealed", "vented")), ("port_hz", ("vented",))):
        given = getattr(keys, key) is not None
        if given and kind not in kinds:
            report.add(
                f"{head}.{key}", f"this key with mounting = {' or '.join(map(show, kinds))}",
                f"it with mounting = {show(kind)}", "Set the mounting, or take the key out.",
            )  # fmt: skip
        elif not given and kind in kinds:
            report.add(
                f"{head}.{key}", "a number above 0", "nothing", f"A {kind} box needs the key {key}.",
            )  # fmt: skip
    return Mounting(kind, keys.box_l, keys.port_hz)


def _impedance(head: str, keys: ItemKeys, part: Part, report: Report, folder: Path | None) -> Impedance | None:
    if part.family != "driver":
        return None
    if keys.impedance_file is not None and keys.impedance:
        report.add(
            f"{head}.impedance_file", "either a file or the rows themselves", "both", "Take one of the two keys out."
        )
        return None
    if keys.impedance_file is not None:
        return impedance.read_file(folder, keys.impedance_file, f"{head}.impedance_file", report)
    return impedance.from_rows(keys.impedance, f"{head}.impedance", report) if keys.impedance else None


def _bands(head: str, keys: ItemKeys, part: Part, report: Report) -> tuple[Band, ...]:
    spec = part.spec
    count = spec.channels if isinstance(spec, AmplifierSpec | LoadSpec) and part.family != "source" else 0
    if keys.bands and not count:
        report.add(
            f"{head}.bands", "this key on processors and amplifiers only", f"it on {part.id}, family {part.family}",
            "Take it out.",
        )  # fmt: skip
        return ()
    seen: set[int] = set()
    for n, band in enumerate(keys.bands, 1):
        for channel in band.channels:
            if channel > count or channel in seen:
                report.add(
                    f"{head}.bands[{n}].channels", f"each of the channels 1 to {count} once", str(channel),
                    "Take it out, or write all filters of a channel in one band.",
                )  # fmt: skip
            seen.add(channel)
        if band.high_pass_hz and band.low_pass_hz and band.high_pass_hz >= band.low_pass_hz:
            report.add(
                f"{head}.bands[{n}].low_pass_hz", f"more than high_pass_hz, which is {band.high_pass_hz:g}",
                f"{band.low_pass_hz:g}", "Exchange the two.",
            )  # fmt: skip
    return tuple(
        Band(tuple(b.channels), b.high_pass_hz, b.low_pass_hz, b.slope_db, b.alignment, b.limit_w) for b in keys.bands
    )


def _gains(head: str, keys: ItemKeys, part: Part, report: Report) -> tuple[float, ...]:
    spec = part.spec
    count = spec.channels if isinstance(spec, AmplifierSpec) else 0
    if keys.gains_v and len(keys.gains_v) != count:
        expected = f"{count} values, one for each channel" if count else "this key on amplifiers only"
        report.add(f"{head}.gains_v", expected, f"{len(keys.gains_v)} values", "Give one for each channel.")
        return ()
    return tuple(keys.gains_v)


def terminal_names(items: Mapping[str, Item], item_id: str) -> list[str]:
    """Names of an item's terminals, in the order of its family."""
    return [t.name for t in items[item_id].part.terminals]
