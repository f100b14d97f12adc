"""What every paper begins with: its size, its heading, and text that no page chokes on."""

from __future__ import annotations

import json
import re
from collections import Counter
from collections.abc import Mapping, Sequence
from importlib import resources
from typing import Any, Literal

from loomwright import __version__
from loomwright.drawing import fonts, pages, svg
from loomwright.drawing.figures import unit
from loomwright.drawing.marks import Sheet
from loomwright.findings.model import SEVERITIES, Finding
from loomwright.papers.signs import sign
from loomwright.papers.units import METRIC, Units
from loomwright.study import Study

PaperSize = Literal["a4", "letter"]
PAPERS: dict[PaperSize, tuple[float, float]] = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
MARGINS_MM = 36.0
"""Left and right margin together."""
_LONG_WORD = re.compile(r"\S{22,}")
_JOINT = re.compile(r"([_./:@\]-]|\w{8})")
_NOTES_MOST = 480  # characters of the rig's notes on the first page
_MEANS = {"Stop": "do not power up", "Fix": "before hand-over", "Know": "worth knowing"}


def plain(data: Any) -> Any:
    """The same data with every text on one line and without characters that no page can show.

    A word too long for a column may break after its joints; shorter ones stay whole, so that they can be searched for.
    """
    if isinstance(data, str):
        return _LONG_WORD.sub(lambda m: _JOINT.sub("\\1\u200b", m[0]), fonts.printable(data))
    if isinstance(data, dict):
        return {key: plain(value) for key, value in data.items()}
    return [plain(value) for value in data] if isinstance(data, list | tuple) else data


def heading(study: Study, findings: Sequence[Finding], units: Units = METRIC) -> dict[str, Any]:
    """Title, stage and verdict: what every paper about a study begins with."""
    rig = study.rig
    counts = Counter(f.severity for f in findings)
    if counts["Stop"]:
        verdict = "Do not power up."
    elif counts["Fix"]:
        verdict = "May be powered up for work on it. Not ready to hand over."
    else:
        verdict = "No Stop and no Fix: nothing here stands against powering up."
    ambient = units.words(unit(f"{rig.ambient_c:g}", "°C"))
    return {
        "title": rig.title,
        "file": rig.file.replace("\\", "/").rpartition("/")[2],
        "stage": rig.stage,
        "vehicle": f"{rig.vehicle.kind}, {rig.vehicle.drive}, {ambient} ambient",
        "notes": rig.notes,
        "notes_short": rig.notes if len(rig.notes) <= _NOTES_MOST else rig.notes[:_NOTES_MOST].rsplit(" ", 1)[0] + " …",
        "demo": any(i.part.demo for i in rig.items.values()),
        "counts": [{"severity": s, "count": counts[s], "means": _MEANS[s]} for s in SEVERITIES],
        "verdict": verdict,
    }


def frame(paper: PaperSize, digest: str = "") -> dict[str, Any]:
    """Size of the page and what its foot says: the program's version and, where known, the rig file's own sum."""
    width, height = PAPERS[paper]
    return {"width_mm": width, "height_mm": height, "version": __version__, "digest": digest[:12]}


def files(
    data: Mapping[str, Any], main: str, also: Sequence[str] = (), pictures: Mapping[str, Sheet] | None = None
) -> dict[str, bytes]:
    """What the typesetter needs, as files in memory: ``main`` and the templates it takes in, data, pictures, signs."""
    drawn = {f"{s.lower()}.svg": sign(s) for s in SEVERITIES} | dict(pictures or {})
    out = {name: svg.render(picture).encode() for name, picture in sorted(drawn.items())}
    folder = resources.files("loomwright.papers")
    for template in ("parts.typ", *also):
        out[template] = (folder / template).read_bytes()
    out["main.typ"] = (folder / main).read_bytes()
    out["data.json"] = json.dumps(plain(data), ensure_ascii=False, sort_keys=True).encode()
    return out


def pdf(made: dict[str, bytes]) -> bytes:
    """Such files set as a PDF.

    Raises
    ------
    EngineMissing
        The typesetter or the fonts are not installed.
    """
    return pages.typeset(made, "pdf")


def finding(f: Finding) -> dict[str, Any]:
    """One finding as data."""
    return {
        "severity": f.severity, "code": f.code, "title": f.title, "where": list(f.where),
        "where_short": ", ".join(f.where[:6]) + (f" and {len(f.where) - 6} more" if len(f.where) > 6 else ""),
        "evidence": f.evidence, "remedy": f.remedy, "source": f.source, "mark": f.mark,
        "provisional": f.provisional, "say_mark": f.mark != "published" and f.mark not in f.source,
    }  # fmt: skip
