"""The commissioning sheet as a part of the pack."""

from __future__ import annotations

from typing import Any

from loomwright.drawing.figures import fixed, unit
from loomwright.papers.commissioning import AT_REST, Measurement, measurements, pulls
from loomwright.papers.order import Content, Order

_DECIMALS = {"V": 2, "mV": 0, "A": 1, "mA": 0}


def part(order: Order) -> Content | None:
    """Every measurement with what is predicted and what passes, then what each fuse must kill."""
    found, pulled = measurements(order.study), pulls(order.study)
    if not found and not pulled:
        return None
    groups: dict[str, list[dict[str, Any]]] = {}
    for m in found:
        groups.setdefault(m.group, []).append(_row(m))
    stops = sum(f.severity == "Stop" for f in order.findings)
    return Content({
        "stop": f"Do not power up: {stops} Stop findings stand against it. Mend them first." if stops else "",
        "groups": [{"title": title, "how": _how(title), "rows": rows} for title, rows in groups.items()],
        "pulls": [
            {"device": p.device, "rating": p.rating, "dark": ", ".join(p.dark), "stays": ", ".join(p.stays)}
            for p in pulled
        ],
    })  # fmt: skip


def _how(group: str) -> str:
    """How a group of measurements is made."""
    if group == AT_REST:
        return "Engine off, key out, everything switched off for some hours."
    if group.startswith("Drops"):
        return "Dense music just short of clipping, held. First a whole segment; its joints say where it is lost."
    if group.endswith("quiet"):
        return "Everything on, next to nothing played."
    return "Dense music just short of clipping, held while you read."


def _row(m: Measurement) -> dict[str, Any]:
    places = _DECIMALS[m.unit]
    high = unit(fixed(m.high, places), m.unit)
    passes = f"{fixed(m.low, places)} to {high}" if m.low > 0.0 else f"at most {high}"
    return {
        "number": m.number, "what": m.what, "red": m.red, "black": m.black, "setting": m.setting, "note": m.note,
        "expected": unit(fixed(m.expected, places), m.unit), "passes": passes,
    }  # fmt: skip
