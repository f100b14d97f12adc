"""Loudspeakers on their channels: shorts, ties, real loads, polarity, balance."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from loomwright.facts import loudspeakers
from loomwright.findings.loads import band_loads
from loomwright.findings.model import Finding
from loomwright.findings.registry import Say, check
from loomwright.findings.words import amount, listing, num
from loomwright.rig.model import AmplifierSpec, Rig
from loomwright.sound.levels import sensitivity_db
from loomwright.sound.results import ChannelLoad
from loomwright.study import Study

BALANCE_DB = 3.0
DAMAGE = "Ohm's law; output stages are made for the least load that their maker states (calculated)"


def _ends(load: ChannelLoad) -> tuple[str, str, str]:
    return (load.item, load.plus, load.minus)


@check(
    "E911",
    "Channel shorted",
    "Stop",
    why="Metal alone joins the two terminals of a channel. The output stage feeds a dead short and burns, or its "
    "protection shuts the whole amplifier down.",
    remedy="Find where plus and minus meet, and part them before power.",
    source=DAMAGE,
    mark="calculated",
)
def channel_shorted(study: Study, say: Say) -> Iterator[Finding]:
    """Channels whose plus and minus are joined by wires alone."""
    for load in study.sound.loads.channels:
        if load.short:
            yield say(
                _ends(load),
                f"Wires alone join {load.plus} and {load.minus}: 0 Ω.",
                f"Part the wires that join {load.plus} and {load.minus}.",
            )


@check(
    "E912",
    "Two channels tied together",
    "Stop",
    why="Two outputs on one wiring drive each other: the difference between them flows through both output stages. "
    "Bridged outputs have no common minus, so a shared return is a tie too.",
    remedy="Give each channel its own pair of wires, back to its own two terminals.",
    source=DAMAGE,
    mark="calculated",
)
def channels_tied(study: Study, say: Say) -> Iterator[Finding]:
    """Channels that meet in one speaker wiring."""
    met = [c for c in study.sound.loads.channels if c.flagged("shared")]
    said: set[str] = set()
    for load in met:
        if load.plus in said:
            continue
        mine = set(_wires(study.rig, load))
        group = [c for c in met if mine & set(_wires(study.rig, c))]
        said.update(c.plus for c in group)
        ends = listing(c.name for c in group)
        yield say(
            (*dict.fromkeys(c.item for c in group), *(c.plus for c in group)),
            f"{len(group)} outputs meet in one wiring: {ends}.",
            f"Part {ends}: a pair of wires for each, to its own plus and minus.",
        )


def _wires(rig: Rig, load: ChannelLoad) -> tuple[str, ...]:
    if load.wires:
        return tuple(load.wires)
    return tuple(w.id for w in rig.wires if {w.start, w.end} & {load.plus, load.minus})


@check(
    "E913",
    "Real load below what the amplifier stands",
    "Fix",
    why="A loudspeaker's impedance dips below its nominal figure. Where all that hangs on a channel dips below four "
    "fifths of the amplifier's least load, its output stage runs hot or shuts down at that pitch.",
    remedy="Wire the drivers in series, use drivers of higher impedance, or mend the crossover part that causes the "
    "dip.",
    source="IEC 60268-5: the impedance stays above 80 % of the rated one",
    mark="from memory",
)
def real_load_low(study: Study, say: Say) -> Iterator[Finding]:
    """Channels that pass by nominal ohms, yet whose real impedance dips under 80 % of the least load."""
    nominal = band_loads(study.rig)
    share = loudspeakers.least_share()
    for load in study.sound.loads.channels:
        spec = study.rig.items[load.item].part.spec
        if not isinstance(spec, AmplifierSpec) or not load.drivers or load.short or load.open:
            continue
        least = spec.min_load_ohm
        if load.bridged and spec.min_bridged_ohm is not None:
            least = spec.min_bridged_ohm
        booked = nominal[load.item][load.channels[0] - 1]
        if booked is not None and booked < 0.98 * least:
            continue
        heard = (load.frequency_hz >= 20.0) & (load.frequency_hz <= 20_000.0)
        size = np.where(heard, np.abs(load.impedance_ohm), np.inf)
        at = int(np.argmin(size))
        if size[at] < share * least:
            yield say(
                (load.item, load.plus, *load.drivers),
                f"{load.name} sees {amount(float(size[at]), 'ohm')} at {amount(float(load.frequency_hz[at]), 'Hz')}; "
                f"{num(100 * share)} % of its least load of {num(least)} Ω is {amount(share * least, 'ohm')}.",
                f"Raise the load on {load.name}: fewer drivers on it, or drivers of more ohms.",
                provisional=load.guess,
            )


@check(
    "E914",
    "Bridged pair that the rig does not say is bridged",
    "Fix",
    why="The loudspeaker lies between plus of one channel and minus of another. Unless the amplifier is switched to "
    "bridged it gets two unlike signals; and while the rig does not say so, its load is not reckoned.",
    remedy="Say bridged under the amplifier and set its switch, or wire the loudspeaker to one channel.",
    source="the wiring as described (calculated)",
    mark="calculated",
)
def bridged_unsaid(study: Study, say: Say) -> Iterator[Finding]:
    """Loudspeakers between two channels that are not described as a bridged pair."""
    met = [c for c in study.sound.loads.channels if c.flagged("bridged unsaid")]
    for item in dict.fromkeys(c.item for c in met):
        mine = [c for c in met if c.item == item]
        ends = [t for c in mine for t in (c.plus, c.minus) if study.rig.wires_at(t)]
        yield say(
            (item, *ends),
            f"A loudspeaker lies between {listing(ends)}, and bridged names 0 pairs of them.",
            f"Say bridged = [[..]] under item {item}, and set its switch to bridged.",
        )


@check(
    "E915",
    "Loudspeaker that gets nothing",
    "Fix",
    why="Both tags of a driver lie on one conductor, or the wiring that it is in puts no volts on it.",
    remedy="Move one of its wires to where the volts are.",
    source="Kirchhoff's laws (calculated)",
    mark="calculated",
)
def driver_silent(study: Study, say: Say) -> Iterator[Finding]:
    """Drivers that are wired in and get no volts."""
    said = set()
    for load in study.sound.loads.channels:
        for flag in (*load.flagged("driver shorted"), *load.flagged("driver idle")):
            if flag.items[0] not in said and not load.short:
                said.add(flag.items[0])
                yield say(
                    flag.items, f"0 V on it: {flag.text}.", f"Wire both tags of {flag.items[0]} to their own conductor."
                )


@check(
    "E916",
    "Polarity reversed on one loudspeaker of a pair",
    "Fix",
    why="Two like drivers that move against each other take the bass away between them. Impedance cannot show it; only "
    "the wiring, a battery on the leads, or the ear can.",
    remedy="Exchange the two wires at that loudspeaker, unless the crossover asks for it.",
    source="pressures of two like sources in antiphase cancel (calculated)",
    mark="calculated",
    unless="Know where a crossover of coils and capacitors lies before it: of second order, a reversed driver may be "
    "right.",
)
def polarity(study: Study, say: Say) -> Iterator[Finding]:
    """Drivers that lie the other way round than the others of their part."""
    for name, load, right in against_their_like(study):
        passive = bool(load.parts)
        yield say(
            (name,),
            f"Plus of {name} follows {load.minus}; {len(right)} like it ({listing(right)}) the other way round.",
            f"Exchange the wires at {name}.+ and {name}.-."
            if not passive
            else f"Check the crossover of {name}: reversed is right with some; else exchange its wires.",
            severity="Know" if passive else None,
        )


def against_their_like(study: Study) -> Iterator[tuple[str, ChannelLoad, tuple[str, ...]]]:
    """Drivers that lie the other way round than others of their part, with their channel and those others."""
    kinds: dict[str, list[tuple[str, bool, ChannelLoad]]] = {}
    for load in study.sound.loads.channels:
        for name, driver in load.drivers.items():
            kinds.setdefault(study.rig.items[name].part.id, []).append((name, driver.reversed, load))
    for group in kinds.values():
        right = tuple(name for name, back, _ in group if not back)
        if right:
            yield from ((name, load, right) for name, back, load in group if back)


@check(
    "E917",
    "Drivers on one channel out of balance",
    "Know",
    why="Drivers that share a channel share its volts by their ohms: one plays loud, one soft, and the loud one takes "
    "most of the watts.",
    remedy="Wire them another way, or give them a channel each.",
    source="series and parallel of impedances (calculated); 3 dB is common practice",
    mark="calculated",
)
def balance(study: Study, say: Say) -> Iterator[Finding]:
    """Channels without crossover parts whose drivers differ by more than 3 dB."""
    for name, choices in study.sound.choices.items():
        load = next(c for c in study.sound.loads.channels if c.name == name)
        levels = {}
        for driver, d in load.drivers.items():
            share = float(np.max(np.abs(d.textbook)))
            at_1w, _ = sensitivity_db(study.rig, driver)
            levels[driver] = at_1w + 10.0 * math.log10(max(share**2 / d.nominal_ohm, 1e-12))
        loud, soft = max(levels, key=lambda k: levels[k]), min(levels, key=lambda k: levels[k])
        apart = levels[loud] - levels[soft]
        if apart > BALANCE_DB:
            best = choices.best
            better = f"Wire them as {best.channels[0].words}." if best is not None else "Give each its own channel."
            yield say(
                (load.item, *load.drivers),
                f"On {name} {loud} plays {amount(apart, 'dB')} louder than {soft}.",
                better,
            )
