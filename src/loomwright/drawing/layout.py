"""Places boxes and right-angled wires: elkjs, layered from left to right, run inside quickjs.

:func:`layout` is the only door: a graph of sizes goes in, the same graph with places comes out. Ports keep their
places on their boxes; labels on wires get room of their own. The places follow from nothing but the text that the
engine is given, so answers are kept by that text, here and on the disk: an edit that moves no size costs no layout.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from types import MappingProxyType
from typing import Any, Literal

from loomwright.drawing import engine, kept
from loomwright.drawing.marks import Point

Side = Literal["WEST", "EAST"]
Manner = Literal["close", "straight", "wide"]


@dataclass(frozen=True, slots=True)
class Port:
    """A place on the left or right edge of a box where one wire lands; ``y_mm`` from the box's top."""

    id: str
    side: Side
    y_mm: float


@dataclass(frozen=True, slots=True)
class Box:
    """Something with a size and ports."""

    id: str
    width_mm: float
    height_mm: float
    ports: tuple[Port, ...]
    column: Literal["", "FIRST", "LAST"] = ""  # held to the leftmost or the rightmost column


@dataclass(frozen=True, slots=True)
class Link:
    """A wire from one port to another, with a label of a size that sits on it."""

    id: str
    source: str
    target: str
    label_mm: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True)
class Graph:
    """What is to be placed. The order of boxes is a wish: earlier boxes lie higher."""

    boxes: tuple[Box, ...]
    links: tuple[Link, ...]


@dataclass(frozen=True, slots=True)
class Placed:
    """Where everything lies [mm]: upper left corners of boxes and labels, corner points of wires."""

    width_mm: float
    height_mm: float
    boxes: Mapping[str, Point]
    links: Mapping[str, tuple[Point, ...]]
    labels: Mapping[str, Point]


_UNIT = 100.0  # the engine rounds heights to whole units: let one be 0.01 mm
_SPACES_MM = {
    "elk.spacing.nodeNode": 4.0,
    "elk.spacing.edgeNode": 3.0,
    "elk.spacing.edgeEdge": 3.0,
    "elk.spacing.edgeLabel": 0.0,
    "elk.spacing.labelNode": 2.0,
    "elk.layered.spacing.nodeNodeBetweenLayers": 3.0,
    "elk.layered.spacing.edgeNodeBetweenLayers": 2.0,
    "elk.layered.spacing.edgeEdgeBetweenLayers": 2.5,
}
_OPTIONS = {
    "elk.algorithm": "layered",
    "elk.direction": "RIGHT",
    "elk.edgeRouting": "ORTHOGONAL",
    "elk.padding": "[top=0,left=0,bottom=0,right=0]",
    "elk.layered.nodePlacement.strategy": "NETWORK_SIMPLEX",
    "elk.layered.considerModelOrder.strategy": "PREFER_NODES",
    "elk.layered.crossingMinimization.greedySwitch.type": "TWO_SIDED",
    "elk.layered.thoroughness": "3",
    "elk.separateConnectedComponents": "false",
    **{name: str(round(value * _UNIT)) for name, value in _SPACES_MM.items()},
}
_STRAIGHT = {"elk.layered.nodePlacement.strategy": "BRANDES_KOEPF", "elk.layered.thoroughness": "1"}
_MANNERS: Mapping[Manner, Mapping[str, str]] = {
    "close": {},
    "straight": _STRAIGHT,
    "wide": {**_STRAIGHT, "elk.spacing.nodeNode": str(round(7.0 * _UNIT))},
}
KEPT = 128  # layouts of a graph that was placed before


def warm() -> None:
    """Start the engine now, unless layouts were kept that may well do without it."""
    if not kept.any_kept():
        engine.warm()


def layout(graph: Graph, manner: Manner = "close") -> Placed:
    """Place a graph: close together, with wires as straight as can be, or also further apart.

    The same graph gives the same places.

    Raises
    ------
    EngineMissing
        The layout engine is not installed.
    """
    children = []
    for box in graph.boxes:
        options = {"elk.portConstraints": "FIXED_POS"}
        if box.column:
            options["elk.layered.layering.layerConstraint"] = box.column
        children.append({
            "id": box.id, "width": _units(box.width_mm), "height": _units(box.height_mm), "layoutOptions": options,
            "ports": [
                {
                    "id": p.id, "width": 0, "height": 0, "y": _units(p.y_mm),
                    "x": 0 if p.side == "WEST" else _units(box.width_mm),
                    "layoutOptions": {"elk.port.side": p.side},
                }
                for p in box.ports
            ],
        })  # fmt: skip
    edges = []
    for link in graph.links:
        edge: dict[str, Any] = {"id": link.id, "sources": [link.source], "targets": [link.target]}
        if link.label_mm:
            edge["labels"] = [
                {
                    "text": "x",
                    "width": _units(link.label_mm[0]),
                    "height": _units(link.label_mm[1]),
                    "layoutOptions": {"elk.edgeLabels.inline": "true"},
                }
            ]
        edges.append(edge)
    options = {**_OPTIONS, **_MANNERS[manner]}
    return _placed(json.dumps({"id": "sheet", "layoutOptions": options, "children": children, "edges": edges}))


@lru_cache(maxsize=KEPT)
def _placed(text: str) -> Placed:
    """The places for exactly what goes into the engine."""
    answer = kept.recalled(text)
    if answer is None:
        answer = engine.placed(text)
        kept.keep(text, answer)
    made = json.loads(answer)
    links = {}
    labels = {}
    for edge in made.get("edges", []):
        points: list[Point] = []
        for section in edge["sections"]:
            for p in (section["startPoint"], *section.get("bendPoints", []), section["endPoint"]):
                corner = (p["x"] / _UNIT, p["y"] / _UNIT)
                if not points or points[-1] != corner:
                    points.append(corner)
        links[edge["id"]] = tuple(points)
        for label in edge.get("labels", []):
            labels[edge["id"]] = (label["x"] / _UNIT, label["y"] / _UNIT)
    boxes = {c["id"]: (c["x"] / _UNIT, c["y"] / _UNIT) for c in made["children"]}
    return Placed(
        made["width"] / _UNIT, made["height"] / _UNIT,
        MappingProxyType(boxes), MappingProxyType(links), MappingProxyType(labels),
    )  # fmt: skip


def _units(mm: float) -> int:
    return round(mm * _UNIT)
