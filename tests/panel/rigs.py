"""A rig with a panel to play with: the canal launch, whose fore locker holds five items."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

from loomwright import demo
from loomwright.panel.bodies import Body, all_bodies
from loomwright.panel.links import Link, links
from loomwright.rig.file import parse
from loomwright.rig.model import Rig
from loomwright.rig.plan import Panel, Point


@cache
def launch() -> Rig:
    return parse(demo.text("canal_launch"), "launch.toml")


def board(width: float, height: float, entry: Point | None = None, **more: object) -> Panel:
    """A square-cornered panel of another size."""
    corners = ((0.0, 0.0), (width, 0.0), (width, height), (0.0, height))
    made = replace(launch().panels["fore"], outer=corners, entry_mm=entry or (width / 2.0, height))
    return replace(made, **more)  # type: ignore[arg-type]


def some(panel: Panel, *names: str, turns: tuple[int, ...] | None = None) -> tuple[tuple[Body, ...], tuple[Link, ...]]:
    """Some items of the launch, and the links between them and to the cable entry."""
    rig = launch()
    bodies = tuple(b for b in all_bodies(rig)["fore"] if b.id in names)
    if turns is not None:
        bodies = tuple(replace(b, turns=turns) for b in bodies)
    return bodies, links(rig, panel, bodies)
