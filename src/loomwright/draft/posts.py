"""The batteries and what is bolted to their posts: fuse cubes on plus, returns on minus."""

from __future__ import annotations

from loomwright.draft.sheet import Sheet
from loomwright.rig.model import Item

VEHICLE = "battery, charging, vehicle"


def starting(sheet: Sheet) -> Item:
    """The battery that cranks: the one that the list names, else the first."""
    batteries = sheet.families("battery")
    named = sheet.rig.vehicle.start_battery
    return next((b for b in batteries if b.id == named), batteries[0])


def audio(sheet: Sheet) -> Item:
    """The battery that feeds the audio system: the one that does not crank, where there are two."""
    start = starting(sheet)
    return next((b for b in sheet.families("battery") if b.id != start.id), start)


def post(sheet: Sheet, battery: str, stem: str, chapter: str, why: str, letter: str) -> str:
    """A fuse cube on a battery's post. Further ones are bolted to the first, for a post takes four rings."""
    place = sheet.rig.items[battery].place
    made = sheet.place(stem, "holder_post", place, chapter, why, fuses_a=["auto"])
    onto = sheet.posts.get(battery, f"{battery}.plus")
    if onto == f"{battery}.plus" and not sheet.room(onto):
        onto = next(
            (f"{i.id}.in" for i in sheet.families("fuse_holder")
             if i.place == place and sheet.wired(f"{i.id}.in") and sheet.room(f"{i.id}.in")), onto
        )  # fmt: skip
    sheet.bolt(onto, f"{made}.in", letter, chapter, "on the post; no wire")
    if not sheet.room(f"{battery}.plus") or sheet.ends.get(f"{battery}.plus", 0) >= 3:
        sheet.posts[battery] = f"{made}.in"
    return made


def landing(sheet: Sheet, battery: str) -> str:
    """A terminal on which one more return to a battery lands: its minus post, or a bus bolted to it."""
    ref, bus = f"{battery}.minus", sheet.landings.get(battery)
    if bus is None:
        if sheet.ends.get(ref, 0) < sheet.part_of(battery).terminal("minus").max_wires - 1:
            return ref
        bus = sheet.place(
            "minus_bus", "bus_ground_6_heavy", sheet.rig.items[battery].place, VEHICLE,
            "bolted to the minus post, which takes four rings",
        )  # fmt: skip
        sheet.bolt(ref, f"{bus}.stud1", "V", VEHICLE, "bolted; no wire")
        sheet.landings[battery] = bus
    stud = sheet.next_stud(bus)
    assert stud is not None
    return stud
