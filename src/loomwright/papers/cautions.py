"""The cautions a paper carries, chosen by what is in the vehicle."""

from __future__ import annotations

from dataclasses import dataclass

from loomwright.rig.model import BatterySpec, Rig


@dataclass(frozen=True, slots=True)
class Caution:
    """A heading to obey and why."""

    head: str
    text: str


DEFER = (
    "This is a calculation, not an approval. The makers' instructions, local codes and licensed practice come "
    "first. Measure before you rely on it, and have the work checked by someone entitled to."
)


def cautions(rig: Rig) -> tuple[Caution, ...]:
    """Cautions for work on this vehicle, in the order of doing."""
    chemistries = {i.part.spec.chemistry for i in rig.items.values() if isinstance(i.part.spec, BatterySpec)}
    found = [
        Caution(
            "Isolate the battery first.",
            "Engine off, key out. Minus lead off first, on last; with two batteries, both. No rings, no bare tools "
            "over the posts. Let capacitors discharge.",
        ),
        Caution(
            "Fuse near the source.",
            "No feed gets power before its fuse sits at the source end. Put in the rating written here, never the next "
            "size up.",
        ),
        Caution(
            "Hot and moving parts.",
            "Let the engine and the exhaust cool. Keep wires, sleeves and fingers clear of belts, chains, forks and "
            "fans.",
        ),
        Caution(
            "Look behind before you drill.",
            "Fuel tanks, hoses, brake lines and harnesses lie behind panels. Stop the drill's depth; clear away "
            "vapour and chips.",
        ),
    ]
    if chemistries - {"lfp"}:
        found.append(
            Caution(
                "Acid and hydrogen.", "Lead batteries give off gas that explodes. Air the place, wear eye protection."
            )
        )
    if "lfp" in chemistries:
        found.append(
            Caution(
                "Lithium.",
                "Charge only within the maker's volts, amperes and temperatures. Never bridge the built-in protection. "
                "A swollen, hot or hissing pack: away from it, outdoors, call for help.",
            )
        )
    if rig.vehicle.kind == "boat":
        found.append(
            Caution(
                "Petrol vapour in a boat.",
                "Air the bilge before power. Near a petrol engine and its tank only parts protected against ignition.",
            )
        )
    found += [
        Caution(
            "Hearing.",
            "This equipment can harm hearing within minutes. Gains down before power; wear protection while testing at "
            "full output.",
        ),
        Caution(
            "Road, water and noise law.",
            "Nothing may block view, light, seat, steering or braking. Limits on noise differ from place to place: "
            "know those that bind here.",
        ),
    ]
    return tuple(found)
