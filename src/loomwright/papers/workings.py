"""Power, protection, drill and sound as worked out: the parts that the others rest on."""

from __future__ import annotations

from loomwright.drawing import over_time, time_current
from loomwright.drawing.marks import Sheet
from loomwright.papers import power_tables, protection_tables, sound_chapter
from loomwright.papers.order import Content, Order

_CHAINS_MOST = 12  # charts of series chains in one pack


def power(order: Order) -> Content:
    """Volts, amperes, watts in every case; charging, sessions, the bass hit, hot wires."""
    study, pictures = order.study, dict[str, Sheet]()
    if study.power.sessions:
        pictures["sessions.svg"] = over_time.sessions(study, order.width_mm)
    hits = {h.engine: h for h in study.power.bass if h.volts_v}
    hit = hits.get(study.rig.limits.session_engine) or next(iter(hits.values()), None)
    if hit is not None:
        pictures["bass.svg"] = over_time.bass_hit(hit, order.width_mm)
    data = {
        "cases": power_tables.cases(study), "remarks": power_tables.remarks(study),
        "wires": power_tables.wires(study), "balance": power_tables.balance(study),
        "sessions": power_tables.sessions(study), "bass": power_tables.bass(study),
        "session_chart": "sessions.svg" if "sessions.svg" in pictures else "",
        "bass_chart": "bass.svg" if "bass.svg" in pictures else "",
    }  # fmt: skip
    return Content(data, pictures)


def protection(order: Order) -> Content:
    """Devices, guards, devices in series, what was chosen, time and current."""
    study = order.study
    chains = time_current.chains(study)
    pictures = {
        f"chain{k}.svg": time_current.draw(study, chain, order.width_mm)
        for k, chain in enumerate(chains[:_CHAINS_MOST])
    }
    data = {
        "devices": protection_tables.devices(study), "guards": protection_tables.guards(study),
        "pairs": protection_tables.pairs(study), "choices": protection_tables.choices(study),
        "chains": list(pictures), "chains_left": max(0, len(chains) - _CHAINS_MOST),
    }  # fmt: skip
    return Content(data, pictures)


def drill(order: Order) -> Content | None:
    """Every fault that was tried."""
    parts = protection_tables.drill(order.study)
    return Content({"parts": parts}) if parts else None


def sound(order: Order) -> Content | None:
    """Loads, levels, loudness, switching."""
    found = sound_chapter.chapter(order.study, order.width_mm)
    return None if found is None else Content(*found)
