"""First power: battery, a small fuse in each main, branch by branch with the volts to expect, then the rated fuses."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from loomwright.facts import batteries, building, fuses
from loomwright.power.results import CaseResult
from loomwright.protection.graph import graph_of
from loomwright.protection.results import Device
from loomwright.rig.model import BatterySpec, Item
from loomwright.rig.shape import shape_of
from loomwright.steps.cautions import cautions
from loomwright.steps.fitting import torques
from loomwright.steps.job import Job, blank, listed, look_at
from loomwright.steps.protecting import SIGN
from loomwright.steps.results import After, Measure, Step
from loomwright.steps.times import duration

SMALL = ("C", "F", "glass_5x20")
"""Types of fuse that are made small enough for a first power-up."""
BOLTED = ("SF30", "SF51", "post_mount")
"""Types of fuse that lie under nuts: not to be changed while they are live."""
WAKE = "power:wake"


def powering(job: Job) -> Iterator[Step]:
    """From the first lead on the battery to the engine running."""
    first = Powering(job)
    yield from first.steps()


class Powering:
    """The order in which a rig comes alive: devices by what is live before them."""

    def __init__(self, job: Job) -> None:
        self.job = job
        self.graph = graph_of(shape_of(job.rig))
        self.devices = {d.id: d for d in job.study.protection.devices.values() if d.way > 0}
        case = job.study.power.cases.get(("off", "quiet"))
        self.case: CaseResult | None = case if case is not None and case.solved else None

    def steps(self) -> Iterator[Step]:
        """All steps, each after the one that must be well before it."""
        rig = self.job.rig
        after: tuple[After, ...] = (After(SIGN, "No power before it is signed for."),)
        first = rig.vehicle.start_battery
        sources = sorted(rig.family("battery"), key=lambda i: i.id == first)
        for battery in sources:
            step = replace(self._plus(battery), after=after)
            after = (After(step.id, "Plus first, minus last."),)
            yield step
        opened = list(self.devices)
        fed = self._fed(opened)
        for n, battery in enumerate(sources):
            step = replace(self._minus(battery, fed if n == len(sources) - 1 else []), after=after)
            after = (After(step.id, "The battery stands behind it."),)
            yield step
        ends: list[After] = []
        bolted: dict[str, After] = {}
        while mains := [d for d in opened if self._ready(d, opened)]:
            main = mains[0]
            small = replace(self._main(main, opened), after=after)
            opened.remove(main)
            yield small
            last = After(small.id, "Nothing wrong at the main.")
            while below := [d for d in opened if self._ready(d, opened) and d not in mains]:
                step = replace(self._branch(below[0], opened), after=(last,))
                opened.remove(below[0])
                yield step
                last = After(step.id, "One branch after the other: what goes wrong is then known by its place.")
            if self.devices[main].type in BOLTED:
                bolted[main] = last
                after = (last,)
                continue
            full = replace(self._full(main), after=(last,))
            yield full
            ends.append(After(full.id, "All mains carry their own fuse."))
        if bolted:
            full = replace(self._bolted(list(bolted)), after=tuple(bolted.values()))
            yield full
            ends.append(After(full.id, "All mains carry their own fuse."))
        for device in opened:
            step = replace(self._branch(device, opened), after=tuple(ends) or after)
            ends = [After(step.id, "All mains carry their own fuse.")]
            yield step
        wake = replace(self._wake(), after=tuple(ends) or after)
        yield wake
        if rig.family("charger"):
            yield replace(self._engine(), after=(After(wake.id, "Everything is well without the engine."),))

    def _ready(self, device: str, opened: list[str]) -> bool:
        """Whether a device, still open, has live metal on one side and none on the other."""
        live = self.graph.live_zones(opened)
        a, b = (self.graph.zone_of[n] for n in self.graph.device_nodes[device])
        return (a in live) != (b in live)

    def _fed(self, opened: list[str]) -> list[str]:
        """Loads whose supply is live while these devices are open."""
        live = self.graph.live_zones(opened)
        return [i for i in self.graph.loads if self.graph.zone_of[self.graph.supply_node(i)] in live]

    def _newly(self, device: str, opened: list[str]) -> list[str]:
        before = self._fed(opened)
        return [i for i in self._fed([d for d in opened if d != device]) if i not in before]

    def _switches(self, device: str, opened: list[str]) -> list[str]:
        """Hand switches that this device brings to life: what lies behind one is dead until it is on."""
        before, after = (self.graph.live_zones(o) for o in (opened, [d for d in opened if d != device]))
        zone = {i.id: self.graph.zone_of.get(self.graph.node(f"{i.id}.in")) for i in self.job.rig.family("switch")}
        found = [name for name, z in zone.items() if z is not None and z in after and z not in before]
        return [f"Then {listed(found)} on: what lies behind is dead until then."] if found else []

    def _wires(self, device: Device) -> tuple[str, ...]:
        """Feeds at a device, those behind it first."""
        near = [w for ref in (device.downstream, device.upstream) for w in self.job.rig.wires_at(ref)]
        return tuple(dict.fromkeys(w.id for w in near if w.kind == "power"))

    def _plus(self, battery: Item) -> Step:
        ref = f"{battery.id}.plus"
        wires = self.job.rig.wires_at(ref)
        text = [
            f"Minus lead of {battery.id} still off and capped.",
            f"Onto the plus post, largest lug lowest: {listed(w.id for w in wires)}." if wires else "It takes no lead.",
            "Cover the post. From here the metal up to each empty way counts as live.",
        ]
        step = blank(f"plus:{battery.id}", "power up", f"Plus lead of {battery.id}", text)
        return replace(
            step, items=(battery.id,), wires=tuple(w.id for w in wires), joints=tuple(f"{w.id}@{ref}" for w in wires),
            tools=("insulated torque wrench",), torques=tuple(torques(self.job, [ref])), energises=True,
            cautions=cautions(self.job.rig, "battery", "first power"), time=duration(connect=1),
            look=look_at(self.job, [w.id for w in wires], (battery.id,)),
        )  # fmt: skip

    def _minus(self, battery: Item, fed: list[str]) -> Step:
        ref = f"{battery.id}.minus"
        wires = self.job.rig.wires_at(ref)
        lamp = building.lamp_w()
        text = [
            f"All fuses out, breakers off. A lamp of {lamp:.0f} W between the minus post and its lead, lead not on yet."
        ]
        if fed:
            text.append(
                f"No fuse stands before {listed(fed)}: only that may make it glow, and its lead is live from now on."
            )
        else:
            text.append("Dark: nothing draws. It glows: stop, and find what does.")
        text.append(f"Then the minus lead onto {battery.id}, tight, without a spark.")
        step = blank(f"minus:{battery.id}", "power up", f"Minus lead of {battery.id}", text)
        return replace(
            step, items=(battery.id, *fed), wires=tuple(w.id for w in wires),
            joints=tuple(f"{w.id}@{ref}" for w in wires), tools=("insulated torque wrench", "voltmeter"),
            torques=tuple(torques(self.job, [ref])), energises=True,
            cautions=cautions(self.job.rig, "battery", "first power"), time=duration(connect=1),
            measures=(self._at_rest(battery), *(self._volts(i) for i in fed)),
            look=look_at(self.job, [w.id for w in wires], (battery.id,)),
        )  # fmt: skip

    def _main(self, device_id: str, opened: list[str]) -> Step:
        device = self.devices[device_id]
        amps = min(self._small_a(), device.rating_a)
        fits = amps == device.rating_a or (device.type in SMALL and amps <= fuses.ratings_a(device.type)[-1])
        kind = "fuse" if fits else "blade fuse"
        lamp = f"or a lamp of {building.lamp_w():.0f} W in series, or a supply limited to {amps:g} A"
        if amps == device.rating_a:
            text = [f"All switched off. {device_id} has {amps:g} A for good, small enough to begin with; {lamp}."]
        elif fits:
            text = [f"All switched off. Put {amps:g} A into {device_id} in place of its {device.rating_a:g} A; {lamp}."]
        else:
            text = [
                (
                    f"All switched off. {device_id} takes no fuse this small: join its two terminals by a blade fuse "
                    f"of {amps:g} A in an in-line holder; {lamp}."
                )
            ]
        text += self._switches(device_id, opened)
        text.append(
            "It blows, or the lamp goes on glowing: fuse out, battery parted, look for the short. "
            "Not a second try first."
        )
        fed = self._newly(device_id, opened)
        step = blank(f"small:{device_id}", "power up", f"Small fuse in {device_id}", text)
        wires = self._wires(device)
        measures = [self._volts(i) for i in fed] or [self._behind(device)]
        return replace(
            step, items=(device.item, *fed), wires=wires, tools=("voltmeter", "in-line fuse holder or test lamp"),
            consumables=(f"2 x {kind} {amps:g} A",), energises=True, measures=tuple(measures),
            cautions=cautions(self.job.rig, "first power"), time=duration(power=1),
            look=look_at(self.job, wires, (device.item, *fed)),
        )  # fmt: skip

    def _branch(self, device_id: str, opened: list[str]) -> Step:
        device = self.devices[device_id]
        fed = self._newly(device_id, opened)
        breaker = self.job.rig.items[device.item].part.family == "breaker"
        text = [f"Switch {device_id} on." if breaker else f"Put {device.rating_a:g} A into {device_id}."]
        text += self._switches(device_id, opened)
        text.append(f"It feeds {listed(fed)}." if fed else "It feeds no load by itself: measure behind it.")
        text.append("A snap at the fuse as capacitors fill is usual; a glow, warmth or smell is not.")
        step = blank(f"power:{device_id}", "power up", f"Power {device_id}" + (f": {listed(fed)}" if fed else ""), text)
        wires = self._wires(device)
        measures = [self._volts(i) for i in fed] or [self._behind(device)]
        return replace(
            step, items=(device.item, *fed), wires=wires, tools=("voltmeter",),
            consumables=() if breaker else (f"1 x fuse {device.rating_a:g} A",), energises=True,
            measures=tuple(measures), cautions=cautions(self.job.rig, "first power"), time=duration(power=1),
            look=look_at(self.job, wires, (device.item, *fed)),
        )  # fmt: skip

    def _full(self, device_id: str) -> Step:
        device = self.devices[device_id]
        text = [
            f"Small fuse or lamp out. {device.rating_a:g} A into {device_id}, tight, cover on.",
            "Not the next size up, not for a try.",
        ]
        if self.job.rig.items[device.item].part.family == "breaker":
            text[0] = f"Bridge off. Switch {device_id} on; it is {device.rating_a:g} A."
        step = self._rated([device_id], text)
        return replace(
            step, tools=("torque wrench or driver",), cautions=cautions(self.job.rig, "first power"),
            time=duration(fuse=1),
        )  # fmt: skip

    def _bolted(self, names: Sequence[str]) -> Step:
        """The rated fuses that take a nut, all in one go: the minus lead comes off once."""
        minus = listed(i.id for i in self.job.rig.family("battery"))
        into = listed(f"{self.devices[n].rating_a:g} A into {n}" for n in names)
        each, covers, fuses_out = ("its", "cover", "fuse") if len(names) == 1 else ("their", "covers", "fuses")
        text = [
            f"Small {fuses_out} or lamp out, then the minus lead off {minus}: no nut is turned on a live stud.",
            f"{into}, to {each} torque, {covers} on.",
            "Not the next size up, not for a try.",
            (
                f"Minus lead on again by way of the lamp of {building.lamp_w():.0f} W: it dims as capacitors fill. "
                "It goes on glowing: stop, and find what draws. Dim or dark: lamp out, lead on, without a spark."
            ),
        ]
        step = self._rated(names, text)
        return replace(
            step, tools=("insulated torque wrench", "test lamp"),
            cautions=cautions(self.job.rig, "battery", "first power"), time=duration(fuse=len(names), connect=1),
        )  # fmt: skip

    def _rated(self, names: Sequence[str], text: Sequence[str]) -> Step:
        found = [self.devices[n] for n in names]
        title = f"Rated {'fuse' if len(names) == 1 else 'fuses'} in {listed(names)}"
        step = blank(f"full:{'+'.join(names)}", "power up", title, list(text))
        wires = tuple(dict.fromkeys(w for d in found for w in self._wires(d)))
        items = tuple(dict.fromkeys(d.item for d in found))
        refs = [r for d in found for r in (d.upstream, d.downstream)]
        return replace(
            step, items=items, wires=wires, energises=True,
            torques=tuple(t for t in torques(self.job, refs) if t.torque_nm is not None),
            consumables=tuple(f"1 x fuse {d.rating_a:g} A" for d in found), look=look_at(self.job, wires, items),
        )  # fmt: skip

    def _wake(self) -> Step:
        text = [
            "Gains at their least, volume down. Switch the source unit on and watch what wakes.",
            "Feel along the feeds, look at each lamp, smell. Nothing may warm in five minutes.",
            "Switch off: no thump, everything sleeps.",
        ]
        share = building.tolerance("quiet", "share")
        measures = []
        for b in self.job.rig.family("battery"):
            amps = -self.case.items[b.id].amps_a if self.case is not None and b.id in self.case.items else None
            if amps is not None and amps > 0.0:
                measures.append(Measure(
                    f"amps:{b.id}", f"current out of {b.id}, everything awake and quiet", "A", round(amps, 2),
                    round(amps * (1.0 - share), 2), round(amps * (1.0 + share), 2),
                    "Engine off; clamp meter round all minus leads together.",
                    "idle currents of the parts as their sheets say, half as much either way",
                ))  # fmt: skip
        wakers = tuple(i.id for i in self.job.rig.family("source", "processor", "amplifier"))
        remote = tuple(w.id for w in self.job.rig.wires if w.kind == "remote")
        step = blank(WAKE, "power up", "Switch on for the first time", text)
        return replace(
            step, items=wakers, wires=remote, tools=("clamp meter for direct current", "voltmeter"), energises=True,
            cautions=cautions(self.job.rig, "first power", "hearing"), measures=tuple(measures), time=duration(wake=1),
            look=look_at(self.job, remote, wakers),
        )  # fmt: skip

    def _engine(self) -> Step:
        rig = self.job.rig
        case = self.job.study.power.cases.get(("idle", "quiet"))
        wide = building.tolerance("charging", "volts_v")
        measures = []
        for b in rig.family("battery"):
            volts = case.items[b.id].volts_v if case is not None and case.solved and b.id in case.items else None
            if volts is not None:
                measures.append(Measure(
                    f"volts:{b.id}:idle", f"volts at the posts of {b.id}", "V", round(volts, 2), round(volts - wide, 2),
                    round(volts + wide, 2), "Engine at idle and warm, system on and quiet.",
                    "charging source, its regulator and the leads of the rig",
                ))  # fmt: skip
        chargers = tuple(i.id for i in rig.family("charger"))
        text = [
            "System on, volume down. Start the engine, let it idle, measure at the battery.",
            "Listen for whine that follows the engine: it comes from a return or a screen, the ring-out says which.",
            "A hand on the charging leads after ten minutes: warm at most.",
        ]
        step = blank("power:engine", "power up", "Run the engine", text)
        return replace(
            step, items=chargers, tools=("voltmeter",), energises=True, measures=tuple(measures),
            cautions=cautions(rig, "engine", "hot"), time=duration(engine=1), look=look_at(self.job, items=chargers),
        )  # fmt: skip

    def _small_a(self) -> float:
        """The small fuse: the usual one, or what everything awake and quiet needs."""
        quiet = 0.0
        if self.case is not None:
            quiet = -sum(
                self.case.items[b.id].amps_a for b in self.job.rig.family("battery") if b.id in self.case.items
            )
        need = max(building.small_fuse_a(), quiet * building.small_fuse_headroom())
        return fuses.standard_at_least_a(need) or need

    def _band(self, drop_v: float) -> tuple[float | None, float | None]:
        """Volts that pass: any battery from half to full, freshly charged or not."""
        specs = [i.part.spec for i in self.job.rig.family("battery")]
        band = building.volts_that_pass_v((s.rest_table for s in specs if isinstance(s, BatterySpec)), drop_v)
        return (None, None) if band is None else (round(band[0], 2), round(band[1], 2))

    def _at_rest(self, battery: Item) -> Measure:
        low, high = self._band(0.0)
        spec = battery.part.spec
        assert isinstance(spec, BatterySpec)
        volts = batteries.rest_v(spec.rest_table, battery.charge_pct)
        return Measure(
            f"volts:{battery.id}:rest", f"volts at the posts of {battery.id}", "V", round(volts, 2), low, high,
            "Engine off, nothing drawn.", f"volts at rest, {battery.charge_pct:g} % charged; from half to full passes",
        )  # fmt: skip

    def _volts(self, item: str) -> Measure:
        state = self.case.items.get(item) if self.case is not None else None
        drop = max(state.drop_v, 0.0) if state is not None else 0.0
        low, high = self._band(drop)
        plus, minus = ("in", "ground") if self.job.rig.items[item].part.family == "dcdc" else ("supply+", "supply-")
        volts = round(state.volts_v, 2) if state is not None else None
        return Measure(
            f"volts:{item}", f"volts at {item}, {plus} to {minus}", "V", volts, low, high,
            "Engine off. Where a relay feeds it, with that switched on.",
            "the plan at rest; from a half charged to a full battery passes",
        )  # fmt: skip

    def _behind(self, device: Device) -> Measure:
        low, high = self._band(0.0)
        names = self.job.rig.family("battery")
        volts = self.case.items[names[0].id].volts_v if self.case is not None and names else None
        return Measure(
            f"volts:{device.id}", f"volts from {device.downstream} to the battery's minus", "V",
            round(volts, 2) if volts is not None else None, low, high, "Engine off, nothing else on.",
            "the battery's own volts: nothing is drawn yet",
        )  # fmt: skip
