"""Sources and the vehicle itself: charging leads, the second battery, what the vehicle draws, its frame."""

from __future__ import annotations

from collections.abc import Sequence

from loomwright.draft import services
from loomwright.draft.posts import VEHICLE, audio, landing, post, starting
from loomwright.draft.sheet import Sheet
from loomwright.draft.speakers import Use
from loomwright.facts.amplifiers import programme_fraction
from loomwright.power.amplifier import supply_w
from loomwright.rig.model import AmplifierSpec, BatterySpec, DcdcSpec, Item, LoadSpec

SECOND = "second battery"
MUSIC_V = 13.5
SPARE = 1.15
MORE_A = 1.0


def draft(sheet: Sheet, uses: Sequence[Use]) -> None:
    """Everything between the sources, and the vehicle's own loads, as far as the list has no wires for it."""
    start = starting(sheet)
    for charger in sheet.families("charger"):
        _charger(sheet, charger, start)
    second = audio(sheet)
    if second.id != start.id:
        _second(sheet, start, second, uses)
    frame = next(iter(sheet.families("frame")), None)
    services.draft(sheet, start)
    for load in sheet.families("accessory"):
        _vehicle_load(sheet, load, start, frame)
    if frame is not None and not any(sheet.wired(f"{frame.id}.{t.name}") and _grounded(sheet, frame) for t in
                                     frame.part.terminals):  # fmt: skip
        stud = sheet.next_stud(frame.id)
        if stud is not None:
            sheet.pull(
                "ground", stud, landing(sheet, start.id), "V", VEHICLE, group="bond",
                why="brings a fault to the frame home",
            )  # fmt: skip


def _grounded(sheet: Sheet, frame: Item) -> bool:
    """Whether the list already ties the frame to a battery's minus."""
    posts = {f"{b.id}.minus" for b in sheet.families("battery")}
    return any(
        {w.start.partition(".")[0], w.end.partition(".")[0]} & {frame.id} and {w.start, w.end} & posts
        for w in sheet.rig.wires
    )


def _charger(sheet: Sheet, charger: Item, battery: Item) -> None:
    group = f"charge:{charger.id}"
    if not sheet.wired(f"{charger.id}.out"):
        fuse = post(
            sheet, battery.id, "charge_fuse", VEHICLE, "guards the charging lead from the battery", "C"
        )
        sheet.pull("power", f"{fuse}.out", f"{charger.id}.out", "C", VEHICLE, f"feed {charger.id}", group=group)
        sheet.choose(
            fuse, "fuse on the battery post", f"what {charger.id} cannot give itself, the battery can: the lead is "
            "guarded at the battery end"
        )  # fmt: skip
    if not sheet.wired(f"{charger.id}.ground"):
        sheet.pull("ground", f"{charger.id}.ground", landing(sheet, battery.id), "C", VEHICLE,
                   f"feed {charger.id}", group=group)  # fmt: skip


def _vehicle_load(sheet: Sheet, load: Item, battery: Item, frame: Item | None) -> None:
    group = f"vehicle:{load.id}"
    if not sheet.wired(f"{load.id}.supply+"):
        fuse = post(sheet, battery.id, f"{load.id}_fuse", VEHICLE, f"for {load.id} alone", "V")
        sheet.pull("power", f"{fuse}.out", f"{load.id}.supply+", "V", VEHICLE, f"feed {load.id}", group=group)
        sheet.choose(
            fuse, "fuse of its own on the battery post", f"a fault in the audio system must not leave {load.id} dark"
        )
    if not sheet.wired(f"{load.id}.supply-"):
        off = sheet.rig.places[load.place].comes_off or load.comes_off
        firm = frame is not None and sheet.rig.vehicle.kind != "boat" and not off
        stud = sheet.next_stud(frame.id) if frame is not None and firm else None
        sheet.pull(
            "ground", f"{load.id}.supply-", stud or landing(sheet, battery.id), "V", VEHICLE, f"feed {load.id}",
            group=group,
        )


def music_a(sheet: Sheet, uses: Sequence[Use]) -> float:
    """What the audio system takes with music into the loudspeakers that it drives [A]; for the choice of a charger."""
    total = 0.0
    for item in sheet.rig.items.values():
        spec = item.part.spec
        if isinstance(spec, AmplifierSpec):
            full = sum(
                s.full_w for u in uses if u.amplifier == item.id for c in u.arrangement.channels for s in c.shares
            )
            total += spec.idle_a + supply_w(spec, full, programme_fraction("music")) / MUSIC_V
        elif isinstance(spec, LoadSpec) and item.part.family in ("source", "processor"):
            total += spec.draw_w / MUSIC_V
    return total


def _second(sheet: Sheet, start: Item, second: Item, uses: Sequence[Use]) -> None:
    """Charge the second battery through a DC-DC charger, which lets neither empty the other."""
    if sheet.wired(f"{second.id}.plus"):
        return
    apart = not sheet.wired(f"{second.id}.minus")
    listed = next(iter(sheet.families("dcdc", "isolator")), None)
    spec = second.part.spec
    assert isinstance(spec, BatterySpec)
    if listed is not None:
        middle, why = listed.id, "the list has it"
        dcdc = listed.part.family == "dcdc"
    else:
        part, why = _charger_part(sheet, spec, uses)
        middle, dcdc = sheet.place("dcdc", part, second.place, SECOND), True
        sheet.choose(
            middle, part, why, ("a charge relay: it ties the two batteries, and currents flow between unlike ones",)
        )
    here = sheet.place_of(middle)
    into, out = (f"{middle}.in", f"{middle}.out") if dcdc else (f"{middle}.main", f"{middle}.aux")
    first = post(sheet, start.id, "dcdc_in_fuse", SECOND, "at the start battery", "D")
    last = post(sheet, second.id, "dcdc_out_fuse", SECOND, "at the second battery", "D")
    sheet.pull("power", f"{first}.out", into, "D", SECOND, group="dcdc in")
    sheet.pull("power", out, f"{last}.out", "D", SECOND, group="dcdc out")
    if dcdc:
        near = start if here == start.place else second
        sheet.pull("ground", f"{middle}.ground", landing(sheet, near.id), "D", SECOND, group="dcdc in")
    if apart:
        sheet.pull(
            "ground", landing(sheet, second.id), landing(sheet, start.id), "D", SECOND, group="tie",
            why="one reference for both batteries",
        )  # fmt: skip


def _charger_part(sheet: Sheet, battery: BatterySpec, uses: Sequence[Use]) -> tuple[str, str]:
    """The smallest DC-DC charger that suits a battery and covers what is drawn with music."""
    need = SPARE * music_a(sheet, uses) + MORE_A
    found = []
    for part_id in sheet.given.catalogue.ids():
        if sheet.given.catalogue.tables[part_id][0].get("family") != "dcdc":
            continue
        spec = sheet.part(part_id).spec
        assert isinstance(spec, DcdcSpec)
        suits = battery.charge_min_v <= spec.output_v + 0.15 and spec.output_v <= battery.charge_max_v + 0.15
        gentle = spec.limit_a <= battery.max_charge_a
        found.append((not suits, spec.limit_a < need, not gentle, abs(spec.limit_a - need), part_id, spec))
    if not found:
        return "dcdc_20a", "the usual one"
    *_, part_id, spec = min(found, key=lambda f: f[:5])
    return part_id, (
        f"gives {spec.limit_a:g} A at {spec.output_v:g} V, {battery.chemistry} wants {battery.charge_min_v:g} to "
        f"{battery.charge_max_v:g} V; the audio system takes about {need:.0f} A with music"
    )
