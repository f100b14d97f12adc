"""Where the figures of a study come from: the rows of the data that this rig uses, by source and mark."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from loomwright.facts.figures import Figure, all_figures
from loomwright.rig.model import AmplifierSpec, BatterySpec, ChargerSpec, DriverSpec, PassiveSpec, Rig

MARKS = ("from memory", "common practice", "calculated", "published")
_ALWAYS = (
    "conductor.resistivity", "conductor.alpha20", "conductor.lay_factor", "ampacity.bundle", "ampacity.boat",
    "ampacity.engine_space", "ampacity.device", "adiabatic.limit", "adiabatic.overload", "programme", "fuse.hot_ratio",
    "workmanship.device_distance", "workmanship.drop", "charging.base_load",
)  # fmt: skip
_SOUND = (
    "spectrum", "spectrum_crest", "exposure", "sensitivity", "level_doubt", "gain", "line", "switching", "hiss",
    "loudspeaker.lead", "loudspeaker.air", "loudspeaker.rated", "loudspeaker.spread",
)  # fmt: skip
_BY_TYPE = (
    "gate", "type", "cold", "cold_fit", "melting", "melting_fit", "interrupting", "temperature", "ratings", "hot_ratio",
)  # fmt: skip


def used(rig: Rig, device_types: Iterable[str]) -> tuple[Figure, ...]:
    """The rows of the data that this rig's parts, wires and joints lead to."""
    starts = set(_ALWAYS)
    starts |= {f"fuse.{group}.{kind}" for kind in device_types for group in _BY_TYPE}
    for wire in rig.wires:
        if wire.size is not None and wire.size.system in ("AWG", "SAE", "mm2"):
            starts.add(f"conductor.{wire.size.system.lower()}.{wire.size.label.removesuffix(' ' + wire.size.system)}")
        starts |= {f"conductor.metal.{wire.metal}", f"adiabatic.metal.{wire.metal}"}
        starts |= {f"joint.{name}" for name in wire.joints}
    if any(isinstance(i.part.spec, DriverSpec) for i in rig.items.values()):
        starts |= set(_SOUND)
    for item in rig.items.values():
        spec = item.part.spec
        if isinstance(spec, BatterySpec):
            starts |= {
                f"battery.{group}.{spec.chemistry}" for group in ("chemistry", "resistance", "peukert", "typical")
            }
            starts.add(f"battery.rest.{spec.rest_table}")
        elif isinstance(spec, AmplifierSpec):
            starts |= {f"amplifier.efficiency.{spec.amplifier_class}", "amplifier.idle"}
        elif isinstance(spec, PassiveSpec):
            starts |= {"crossover", "loudspeaker.coil", "loudspeaker.zobel"}
        elif isinstance(spec, ChargerSpec):
            starts |= {f"charging.{spec.kind}", "charging.regulator"}
    found = [f for f in all_figures() if not starts.isdisjoint(_above(f.key))]
    return tuple(sorted(found, key=lambda f: f.key))


def _above(key: str) -> Iterator[str]:
    """A key, and the groups that it stands in."""
    while key:
        yield key
        key = key.rpartition(".")[0]


def by_source(figures: Iterable[Figure]) -> tuple[tuple[str, str, str], ...]:
    """Rows of mark, source and what is taken from it; what rests on memory first."""
    groups: dict[tuple[str, str], list[str]] = {}
    for figure in figures:
        head = ".".join(figure.key.split(".")[:3])
        groups.setdefault((figure.mark, figure.source), []).append(head)
    rows = []
    for mark, source in sorted(groups, key=lambda k: (MARKS.index(k[0]), k[1])):
        heads = sorted(set(groups[mark, source]))
        words = ", ".join(heads[:5]) + (f" and {len(heads) - 5} more" if len(heads) > 5 else "")
        rows.append((mark, source, words))
    return tuple(rows)
