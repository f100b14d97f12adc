"""Remote wires and loudspeaker loads."""

from __future__ import annotations

from collections.abc import Iterator

from loomwright.findings.loads import band_loads
from loomwright.findings.model import Finding
from loomwright.findings.registry import Say, check
from loomwright.findings.ways import amplifiers, ways_of
from loomwright.findings.words import amount, listing, num
from loomwright.sound.remotes import budgets
from loomwright.study import Study


@check(
    "E901",
    "Remote output overloaded",
    "Fix",
    why="A remote output gives a few hundred milliamperes at most. Above that its volts sag, amplifiers drop out, "
    "and the output dies.",
    remedy="Switch a relay with the output, and let the relay feed the remote lines.",
    source="ISO 10487 A5: 150 to 300 mA at most; the part's own limit",
    mark="published",
)
def remote_overloaded(study: Study, say: Say) -> Iterator[Finding]:
    """Remote outputs that have to give more than they can."""
    for net in budgets(study.rig):
        if net.over:
            yield say(
                (net.item, *(i for i, _ in net.draws_ma)),
                f"{net.item}.remote_out has to give {amount(net.total_ma, 'mA')} "
                f"({listing(f'{i} {num(ma)}' for i, ma in net.draws_ma)}); {amount(net.limit_ma, 'mA')} is its limit.",
                f"Fit a relay with a diode after {net.item}.remote_out, fed through a 1 A fuse.",
            )


@check(
    "E902",
    "Relay coil without a diode on a remote output",
    "Fix",
    why="When the coil lets go it kicks back more than a hundred volts into the output that fed it.",
    remedy="Use a relay with a diode or a resistor across its coil, the right way round.",
    source="common practice",
    mark="common practice",
)
def bare_coil(study: Study, say: Say) -> Iterator[Finding]:
    """Relays without a quenching part whose coil hangs on a remote output."""
    for net in budgets(study.rig):
        if net.bare_coils:
            draws = dict(net.draws_ma)
            coils = listing(f"{r} ({amount(draws[r], 'mA')})" for r in net.bare_coils)
            yield say(
                (net.item, *net.bare_coils),
                f"On {net.item}.remote_out without a diode: {coils}.",
                f"Fit a relay with a diode as {listing(net.bare_coils)}, or 1 diode across each coil, cathode to plus.",
            )


@check(
    "E903",
    "Amplifier without a remote wire",
    "Fix",
    why="Without its remote wire the amplifier stays asleep, or someone bridges it to the feed and it never sleeps.",
    remedy="Run a remote wire to it.",
    source="common practice",
    mark="common practice",
)
def no_remote(study: Study, say: Say) -> Iterator[Finding]:
    """Amplifiers with a remote terminal and nothing on it."""
    ways = ways_of(study.rig)
    for item, spec in amplifiers(study.rig):
        if spec.remote_ma > 0 and ways.has(f"{item.id}.remote") and not ways.wires_at(f"{item.id}.remote"):
            yield say(
                (item.id,),
                f"Nothing on {item.id}.remote, which takes {amount(spec.remote_ma, 'mA')}.",
                f"Run a remote wire from the source's remote output to {item.id}.remote.",
            )


@check(
    "E904",
    "Load below the amplifier's least",
    "Fix",
    why="Each halving of the load doubles the current in the output stage; bridging halves what each channel sees. "
    "Nominal is compared with nominal.",
    remedy="Wire the drivers in series, or give them a channel each.",
    source="the amplifier's own data; parallel and series of nominal impedances (calculated)",
    mark="calculated",
)
def load_too_low(study: Study, say: Say) -> Iterator[Finding]:
    """Channels whose drivers together are below the amplifier's least nominal load, in any band."""
    loads = band_loads(study.rig)
    for item, spec in amplifiers(study.rig):
        first = dict(item.bridged)
        for channel, ohm in enumerate(loads.get(item.id, ()), start=1):
            if ohm is None:
                continue
            bridged = channel in first
            least = spec.min_bridged_ohm if bridged and spec.min_bridged_ohm is not None else spec.min_load_ohm
            if ohm < least * 0.98:
                name = f"ch{channel} and ch{first[channel]} bridged" if bridged else f"ch{channel}"
                yield say(
                    (item.id, f"{item.id}.ch{channel}+"),
                    f"{name.capitalize()} of {item.id} see {num(ohm)} Ω nominal; {num(least)} Ω is the least."
                    if bridged
                    else f"{name} of {item.id} sees {num(ohm)} Ω nominal; {num(least)} Ω is the least.",
                    f"Bring the load on {name} of {item.id} to {num(least)} Ω or more.",
                )


@check(
    "E905",
    "Bridged pair wired to the wrong terminals",
    "Fix",
    why="A bridged pair drives its loudspeaker between plus of one channel and minus of the other. Between the two "
    "terminals of one channel the loudspeaker gets half the volts and a quarter of the watts, and on some amplifiers a "
    "terminal meant as reference is driven.",
    remedy="Move the loudspeaker to plus of the first and minus of the second channel, as the maker's sheet says.",
    source="common practice; the maker's sheet of the amplifier comes first",
    mark="common practice",
)
def bridged_wrong(study: Study, say: Say) -> Iterator[Finding]:
    """Bridged pairs with speaker wires on the inner terminals: minus of the first channel or plus of the second."""
    ways = ways_of(study.rig)
    for item, _ in amplifiers(study.rig):
        for first, second in item.bridged:
            right = (f"{item.id}.ch{first}+", f"{item.id}.ch{second}-")
            inner = [t for t in (f"{item.id}.ch{first}-", f"{item.id}.ch{second}+") if ways.wires_at(t)]
            if not inner:
                continue
            used = [t for t in (right[0], inner[0], *inner[1:], right[1]) if ways.wires_at(t)]
            names = listing(t.partition(".")[2] for t in used)
            yield say(
                (item.id, *used),
                f"ch{first} and ch{second} of {item.id} are bridged; its loudspeaker is on {names}.",
                f"Wire the loudspeaker between {right[0]} and {right[1]}, and leave the other two empty.",
            )
