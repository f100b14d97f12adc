"""Filters: a high-pass for every loudspeaker, in the processor where it has an output for it, else in the amplifier."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np

from loomwright.draft.sheet import Sheet
from loomwright.draft.speakers import Feeding, is_bass
from loomwright.draft.writing import NOTE
from loomwright.rig.model import AmplifierSpec, Band, DriverSpec, Item
from loomwright.sound import boxes
from loomwright.sound.frequencies import grid_hz
from loomwright.sound.signal_path import band_response

NICE_HZ = (25.0, 30.0, 35.0, 40.0, 50.0, 60.0, 70.0, 80.0, 90.0, 100.0, 110.0, 120.0, 140.0, 160.0, 180.0, 200.0, 220.0,
           250.0, 300.0, 350.0, 400.0, 500.0, 600.0, 800.0, 1000.0, 1250.0, 1600.0, 2000.0, 2500.0, 3000.0, 3500.0,
           4000.0, 5000.0)  # fmt: skip
MOVES = 1.8
"""Most that full output may move a cone beyond its linear way; the checks complain from twice on."""
BASS_TOP_HZ = 100.0
"""Where bass drivers hand over to the others, if there are any (common practice: 80 to 120 Hz)."""


def draft(sheet: Sheet, feedings: Sequence[Feeding], fed: Mapping[str, int]) -> None:
    """Write bands for every channel, high-pass by its loudspeaker's excursion and lowest frequency."""
    rows: dict[tuple[str, float | None, float | None], list[int]] = {}
    processor = next(iter(sheet.families("processor")), None)
    capped = {d for i in sheet.items.values() if i.part.startswith("capacitor") for d in [i.id.rpartition("_cap")[0]]}
    names: dict[tuple[str, float | None, float | None], list[str]] = {}
    low_ways = [f for f in feedings if _deep(sheet, f)]
    others = [f for f in feedings if f not in low_ways]
    for feeding in feedings:
        drivers = [sheet.rig.items[d] for d in feeding.drivers]
        described = processor is not None and processor.bands and feeding.channel not in fed
        if described or any(d.id in capped for d in drivers):
            continue
        corners = [hz for d in drivers if (hz := _high_pass_hz(sheet, feeding, d)) is not None]
        high = max(corners, default=None)
        deep = feeding in low_ways
        low = BASS_TOP_HZ if deep and others and (high or 0.0) < BASS_TOP_HZ else None
        if not deep and len(others) < len(feedings):
            high = max(high or 0.0, BASS_TOP_HZ)
        if high is None and low is None:
            continue
        if processor is not None and feeding.channel in fed:
            owner, number = processor.id, fed[feeding.channel]
        else:
            owner, number = feeding.amplifier, feeding.number
        if sheet.rig.items[owner].bands or _shares(sheet, feeding, feedings, fed):
            continue
        rows.setdefault((owner, high, low), []).append(number)
        names.setdefault((owner, high, low), []).extend(feeding.drivers)
    owners: dict[str, list[dict[str, object]]] = {}
    for (owner, high, low), channels in rows.items():
        row: dict[str, object] = {"channels": sorted(channels)}
        if high is not None:
            row["high_pass_hz"] = high
        if low is not None:
            row["low_pass_hz"] = low
        row[NOTE] = ", ".join(names[owner, high, low])
        owners.setdefault(owner, []).append(row)
    for owner, made in owners.items():
        sheet.put(owner, "", bands=made)
        sheet.choose(
            f"{owner} bands",
            "; ".join(f"channels {', '.join(map(str, r['channels']))} from {r.get('high_pass_hz', 0):g} Hz"  # type: ignore[call-overload]
                      for r in made),
            "full output must not drive a cone beyond twice its way, nor bass reach a small driver",
        )  # fmt: skip


def _deep(sheet: Sheet, feeding: Feeding) -> bool:
    """Whether a channel plays bass: its loudspeakers are made for it, or it is an amplifier's only one."""
    drivers = [sheet.rig.items[d] for d in feeding.drivers]
    spec = sheet.rig.items[feeding.amplifier].part.spec
    alone = isinstance(spec, AmplifierSpec) and spec.channels == 1
    low = [s.fs_hz for d in drivers if isinstance(s := d.part.spec, DriverSpec) and s.fs_hz is not None]
    return all(is_bass(d) for d in drivers) or (alone and len(low) == len(drivers) and max(low) < 60.0)


def _shares(sheet: Sheet, feeding: Feeding, every: Sequence[Feeding], fed: Mapping[str, int]) -> bool:
    """Whether a channel without a lead of its own takes the filtered signal of its neighbour with like loudspeakers."""
    if feeding.channel in fed:
        return False
    near = feeding.number + 1 if feeding.number % 2 else feeding.number - 1
    return any(
        f.amplifier == feeding.amplifier and f.number == near and f.channel in fed
        and sheet.rig.items[f.drivers[0]].part.id == sheet.rig.items[feeding.drivers[0]].part.id
        for f in every
    )  # fmt: skip


def _high_pass_hz(sheet: Sheet, feeding: Feeding, driver: Item) -> float | None:
    spec = driver.part.spec
    assert isinstance(spec, DriverSpec)
    least = spec.lowest_hz or 0.0
    known = boxes.small_signal(spec)
    need = 0.0
    if known is not None and spec.xmax_mm is not None:
        f = grid_hz()
        limit = boxes.excursion_limit_v(known, driver.mounting, spec.xmax_mm, f)
        if limit is not None:
            volts = _full_v(sheet, feeding, spec)
            heard = f >= 20.0
            for corner in (0.0, *NICE_HZ):
                left = band_response(Band((1,), corner or None), f)
                if np.max(np.where(heard, volts * left / limit, 0.0)) <= MOVES:
                    need = corner
                    break
    found = max(least, need)
    if found <= 0.0:
        return None
    return next((n for n in NICE_HZ if n >= found * (1 - 1e-9)), found)


def _full_v(sheet: Sheet, feeding: Feeding, driver: DriverSpec) -> float:
    """Volts at one loudspeaker at the amplifier's full output, its whole output on it: the cautious figure."""
    spec = sheet.rig.items[feeding.amplifier].part.spec
    assert isinstance(spec, AmplifierSpec)
    bridged = any(feeding.number in p for p in _bridged(sheet, feeding.amplifier))
    watts = (spec.bridged_4ohm_w or 2 * spec.output_4ohm_w) if bridged else spec.output_4ohm_w
    return math.sqrt(watts * 4.0)


def _bridged(sheet: Sheet, amplifier: str) -> list[Sequence[int]]:
    put = sheet.keys.get((amplifier, "bridged"))
    if put is not None:
        return [tuple(p) for p in put[0]]  # type: ignore[union-attr,arg-type]
    return list(sheet.rig.items[amplifier].bridged)
