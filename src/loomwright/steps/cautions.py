"""The cautions that go with the steps: each step carries those of its own work, in this vehicle."""

from __future__ import annotations

from collections.abc import Iterable

from loomwright.rig.model import BatterySpec, Item, Rig
from loomwright.steps.results import Caution

ALL: dict[str, tuple[str, str]] = {
    "short": (
        "A battery cannot be switched off.",
        (
            "Its posts stay live. No rings, no watch, one insulated tool; the other post covered. A spanner across the "
            "posts welds itself fast."
        ),
    ),
    "lithium": (
        "Lithium.",
        (
            "Never bridge or bypass the built-in protection. A swollen, hot or hissing pack: away from it, outdoors, "
            "call for help. Charge only within the maker's volts, amperes and temperatures."
        ),
    ),
    "acid": (
        "Acid and hydrogen.",
        "Lead batteries give off gas that explodes. Air the place, wear eye protection, no flame, no spark.",
    ),
    "petrol": (
        "Petrol vapour in a boat.",
        (
            "Air the bilge before anything is switched. Near a petrol engine and its tank only parts protected against "
            "ignition."
        ),
    ),
    "drill": (
        "Look behind before you drill.",
        (
            "Tanks, fuel and brake lines, hoses and harnesses lie behind panels. Stop the drill's depth, wear eye "
            "protection, clear away vapour and chips."
        ),
    ),
    "fuel": (
        "Fuel.",
        "Keep wires, heat guns and soldering irons away from fuel lines, tanks and fuel vapour.",
    ),
    "hot": ("Hot parts.", "Let engine and exhaust cool before you reach in; keep wires a hand's breadth away."),
    "moving": (
        "Moving parts.",
        "Turn the steering and work the suspension through their whole way with the wires in place. Fingers clear.",
    ),
    "engine": (
        "Running engine.",
        "Outdoors, brake on, out of gear, hair and sleeves clear of belts, chains and fans. Exhaust gas kills.",
    ),
    "tools": ("Hands and eyes.", "Blades, crimp tools and hot air: eye protection, and cut away from the hand."),
    "first power": (
        "First power.",
        "A fire extinguisher within reach, someone beside you, and a way to part the battery with one hand.",
    ),
    "hearing": (
        "Hearing.",
        "This equipment can harm hearing within minutes. Gains down first; wear protection at full output.",
    ),
    "noise": (
        "Neighbours, road and noise law.",
        "Tones carry far. Know the limits that bind here, and stay off the road.",
    ),
    "weight": ("Weight.", "A battery is heavy: lift with a straight back, and strap it down before anything else."),
}


def cautions(rig: Rig, *names: str) -> tuple[Caution, ...]:
    """Cautions by name. ``battery`` stands for those that the batteries of this rig ask for."""
    wanted: list[str] = []
    for name in names:
        wanted += _battery(rig) if name == "battery" else [name]
    if rig.vehicle.kind == "boat" and rig.vehicle.drive.startswith("petrol") and {"first power", "drill"} & set(names):
        wanted.append("petrol")
    return tuple(Caution(n, *ALL[n]) for n in dict.fromkeys(wanted))


def hazards(rig: Rig, runs: Iterable[int]) -> tuple[str, ...]:
    """Names of the cautions that the hazards of some runs (from 1) ask for."""
    met = {h for k in runs for h in rig.runs[k - 1].hazards}
    engine = any(rig.places[p].engine_space for k in runs for p in rig.runs[k - 1].between)
    names = [n for n in ("hot", "moving") if n in met]
    return (*names, "fuel") if engine or "hot" in met else tuple(names)


def of_battery(battery: Item) -> tuple[str, ...]:
    """Names of the cautions that go with one battery."""
    return tuple(_kinds([battery]))


def _battery(rig: Rig) -> list[str]:
    return _kinds(rig.items.values())


def _kinds(items: Iterable[Item]) -> list[str]:
    kinds = {i.part.spec.chemistry for i in items if isinstance(i.part.spec, BatterySpec)}
    found = ["short"] if kinds else []
    if "lfp" in kinds:
        found.append("lithium")
    if kinds - {"lfp"}:
        found.append("acid")
    return found
