"""The pack: every paper of a rig in one PDF, and a folder of its parts."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path
from typing import Any

from loomwright import answer
from loomwright.drawing import pages, svg
from loomwright.drawing.marks import Sheet
from loomwright.errors import UnknownName
from loomwright.loom import sheets as tables
from loomwright.loom.shopping import consumables, wire_to_buy
from loomwright.papers import (
    commissioning,
    commissioning_part,
    cut,
    gain_card,
    harness_parts,
    labels,
    opening,
    paper,
    steps_part,
    workings,
)
from loomwright.papers.cautions import DEFER
from loomwright.papers.order import Content, Order, Part

PARTS: tuple[Part, ...] = (
    Part("cautions", "Cautions", "What can burn, deafen and kill here, before anything is touched.",
         opening.cautions_part),
    Part("summary", "Summary", "Verdict, key figures, what is in the vehicle.", opening.summary),
    Part("before_and_after", "Before and after", "An earlier stage beside this one.", opening.before_and_after),
    Part("findings", "Findings", "What must be put right, in order, with what to do.", opening.findings_part),
    Part("diagrams", "Diagrams", "Every drawing, each on a sheet of exact size.", opening.diagrams),
    Part("wire_list", "Wire list", "Every wire: cut length, ends, strip, colour, what guards it.", harness_parts.wires),
    Part("bundles", "Bundles and runs", "What lies in each run, how thick, what it passes.", harness_parts.bundles),
    Part("pinouts", "Pinouts", "Every connector from both sides.", harness_parts.pinouts),
    Part("cutting_plan", "Cutting plan", "Which wire from which spool, and what is left.", harness_parts.cutting),
    Part("shopping_list", "Shopping list", "Wire, ends, covers, fuses to buy.", harness_parts.shopping),
    Part("labels", "Labels", "Both ends of every wire, at true size.", harness_parts.labels),
    Part("ring_out", "Ring-out", "What must connect and what must not, with room for what is measured.",
         harness_parts.ring_out),
    Part("build_steps", "Build steps", "What to do, in order: tools, torques, readings, signatures.", steps_part.part),
    Part("commissioning", "Commissioning sheet", "Every measurement with what is predicted and what passes.",
         commissioning_part.part),
    Part("gain_card", "Gain card", "A page for each amplifier: volts to set, limiter, room for what is measured.",
         gain_card.part),
    Part("power", "Power", "Volts, amperes and watts in every case; charging, sessions.", workings.power),
    Part("protection", "Protection", "Devices, guards, time and current.", workings.protection),
    Part("fault_drill", "Fault drill", "Every fault that was tried, worst first.", workings.drill),
    Part("sound", "Sound", "Loads, levels, loudness, switching.", workings.sound),
    Part("sources", "Sources", "Where the figures come from.", opening.sources),
)  # fmt: skip
"""The parts, in the order of the pack."""


def _advice(order: Order) -> Content | None:
    from loomwright.papers import advice_part

    return advice_part.part(order)


APART: tuple[Part, ...] = (
    Part("advice", "What would help", "Moves that were tried, amplifiers that suit, the chances.", _advice),
)
"""Papers that are made by themselves, for they take too long for the pack."""
BENCH = (
    "wire_list", "pinouts", "cutting_plan", "shopping_list", "ring_out", "build_steps", "commissioning", "gain_card",
)
"""Parts that are handed out or filled in by themselves: each also a PDF of its own in the folder."""
FROM_STOCK = ("cutting_plan", "shopping_list")
"""Parts that depend on the wire in stock."""
TEMPLATES = (
    "opening.typ", "compare.typ", "loom.typ", "steps.typ", "commissioning.typ", "gain_card.typ", "workings.typ",
    "sound.typ", "advice.typ",
)  # fmt: skip
LABEL_MM = (50.0, 20.0)
_TITLE_MOST = 90  # characters of a title at the head of a page
_WORDS = {"mm": "millimetres", "in": "inches", "C": "degrees Celsius", "F": "degrees Fahrenheit"}


def part(name: str) -> Part:
    """A part by its name. Raises UnknownName."""
    for one in (*PARTS, *APART):
        if one.name == name:
            return one
    raise UnknownName(f'no part "{name}" in a pack. There are: {", ".join(p.name for p in (*PARTS, *APART))}.')


def gather(order: Order, parts: Iterable[Part] = PARTS) -> dict[str, Content]:
    """The contents of those parts that this rig has, by name, in the units wanted."""
    found: dict[str, Content] = {}
    for one in parts:
        content = one.gather(order)
        if content is not None:
            pictures = {name: order.units.sheet(drawn) for name, drawn in content.pictures.items()}
            found[one.name] = Content(order.units.told(content.data), pictures)
    return found


def files(order: Order, contents: Mapping[str, Content], *, whole: bool) -> dict[str, bytes]:
    """What the typesetter needs, as files in memory. ``whole`` puts cover and contents before the parts."""
    head = paper.heading(order.study, order.findings, order.units)
    title = head["title"] if len(head["title"]) <= _TITLE_MOST else head["title"][:_TITLE_MOST].rstrip() + "…"
    cover = None
    if whole:
        units = {"length_words": _WORDS[order.units.length], "temperature_words": _WORDS[order.units.temperature]}
        cover = {**{k: head[k] for k in ("vehicle", "counts", "verdict", "demo")}, **units, "defer": DEFER}
    about = {
        **paper.frame(order.paper, order.digest), "title": head["title"], "title_short": title, "stage": head["stage"],
        "file": head["file"], "whole": whole,
    }  # fmt: skip
    parts = [{"name": name, "data": content.data} for name, content in contents.items()]
    data = {"about": about, "cover": cover, "parts": parts}
    pictures: dict[str, Sheet] = {}
    for content in contents.values():
        pictures |= content.pictures
    return paper.files(data, "pack.typ", TEMPLATES, pictures)


def one_part(order: Order, name: str) -> bytes | None:
    """One part as a PDF; None where this rig has nothing for it.

    Raises
    ------
    UnknownName, EngineMissing
        There is no such part; the typesetter or the fonts are not installed.
    """
    contents = gather(order, [part(name)])
    return paper.pdf(files(order, contents, whole=False)) if contents else None


def build(order: Order, folder: Path, *, pictures: bool = False) -> tuple[Path, ...]:
    """Write ``pack.pdf`` and its parts into a folder; returns the files, the pack first.

    With ``pictures`` each drawing is there as a PNG too, beside its SVG and PDF.

    The same order gives the same bytes. The folder is made if it is missing.

    Raises
    ------
    EngineMissing
        The typesetter, the layout engine or the fonts are not installed.
    """
    with ThreadPoolExecutor(4) as hands:
        drawn = hands.submit(order.draw)
        first = gather(order, [p for p in PARTS if p.name != "diagrams"])
        made = _apart(order, hands)
        texts = _texts(order)
        drawn.result()
        drawings = gather(order, [part("diagrams")])
        contents = _in_order(drawings | first)
        whole = hands.submit(paper.pdf, files(order, contents, whole=True))
        for name, drawing in _drawings(drawings):
            if pictures:
                made[f"parts/drawings/{name}.png"] = hands.submit(pages.png, drawing)
            texts[f"parts/drawings/{name}.svg"] = svg.render(drawing, embed_font=True, background="raised").encode()
        texts = {"pack.pdf": whole.result(), **_cut_out(order, contents, whole.result()), **texts}
        out = texts | {name: future.result() for name, future in made.items()}
    written = []
    for name, content in out.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content)
        written.append(path)
    return tuple(written)


def _in_order(contents: Mapping[str, Content]) -> dict[str, Content]:
    return {p.name: contents[p.name] for p in PARTS if p.name in contents}


def _cut_out(order: Order, contents: Mapping[str, Content], whole: bytes) -> dict[str, bytes]:
    """The PDFs of the folder of parts that are pages of the pack: those for the bench, and each drawing.

    Where a typesetter puts its files together in a way that is not known here, each is set by itself.
    """
    bench = [name for name in BENCH if name in contents]
    drawn = order.diagrams if "diagrams" in contents else ()
    try:
        printed = cut.Printed(whole)
        begin = {name: printed.marks[name] for name in contents}
        ends = dict(zip(contents, [*list(begin.values())[1:], len(printed.pages)], strict=True))
        made = {
            f"parts/{n}.pdf": printed.cut(begin[n], ends[n] - begin[n], f"{part(n).title}, {order.study.rig.title}")
            for n in bench
        }
        for page, sheet in enumerate(drawn, begin.get("diagrams", 0)):
            made[f"parts/drawings/{sheet.id}.pdf"] = printed.cut(page, 1, sheet.drawing.title)
    except (KeyError, ValueError):
        made = {f"parts/{n}.pdf": paper.pdf(files(order, {n: contents[n]}, whole=False)) for n in bench}
        made |= {f"parts/drawings/{sheet.id}.pdf": pages.pdf(sheet.drawing) for sheet in drawn}
    return made


def _apart(order: Order, hands: ThreadPoolExecutor) -> dict[str, Future[bytes]]:
    """The PDFs of the folder of parts that are no pages of the pack, being made."""
    made = _templates(order, hands)
    if order.study.loom.wires:
        sheet = labels.sheet_of(LABEL_MM, order.paper)
        title = f"Labels, {order.study.rig.title}"
        made["parts/labels.pdf"] = hands.submit(labels.pdf, order.study.loom.wires, sheet, title)
    return made


def _templates(order: Order, hands: ThreadPoolExecutor) -> dict[str, Future[bytes]]:
    """The template of each panel, true to size on the paper of the pack: a file of its own, to print at 100 %."""
    boards = [b for b in order.study.boards if b.items]
    if not boards:
        return {}
    from loomwright.papers import template as pdf
    from loomwright.template.board import template

    title = order.study.given.title
    return {
        f"parts/templates/panel_{b.panel.id}.pdf": hands.submit(pdf.tiled, template(b, title), order.paper)
        for b in boards
    }  # fmt: skip


def _drawings(contents: Mapping[str, Content]) -> list[tuple[str, Sheet]]:
    if "diagrams" not in contents:
        return []
    drawn = contents["diagrams"]
    return [(sheet["id"], drawn.pictures[sheet["file"]]) for run in drawn.data["runs"] for sheet in run["sheets"]]


def _texts(order: Order) -> dict[str, bytes]:
    """Tables for a spreadsheet, and all results as JSON (in metric units)."""
    out: dict[str, bytes] = {}
    study, plan = order.study, order.plan
    buys = wire_to_buy(order.pieces if plan is None else plan.missing)
    small = consumables(study.rig, study.loom)
    for name, text in tables.tables(study.loom, plan, buys, small).items():
        out[f"parts/tables/{name}"] = order.units.spreadsheet(text).encode("utf-8-sig")
    out["parts/results.json"] = results(order, buys, small)
    return out


def results(order: Order, buys: Sequence[object], small: Sequence[object]) -> bytes:
    """Every result behind the pack as JSON, in the envelope of the commands; metric, units at the ends of keys."""
    study = order.study
    data: dict[str, Any] = {
        "rig": {"title": study.rig.title, "stage": study.rig.stage, "sha256": order.digest or None},
        "findings": order.findings, "choices": study.choices, "power": replace(study.power, sessions=()),
        "protection": study.protection, "loom": study.loom, "cutting_plan": order.plan, "wire_to_buy": buys,
        "small_parts": small, "build": order.steps, "commissioning": commissioning.measurements(study),
        "fuse_pulls": commissioning.pulls(study),
    }  # fmt: skip
    return json.dumps(answer.result("pack", data), ensure_ascii=True, allow_nan=False).encode() + b"\n"
