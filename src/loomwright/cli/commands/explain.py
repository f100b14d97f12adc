"""``explain``: the page of a finding, or the row of a figure."""

from __future__ import annotations

from typing import Annotated

import typer
from rich.padding import Padding
from rich.text import Text

from loomwright.cli import answer, lookup
from loomwright.cli.commands._options import AsJson
from loomwright.cli.terminal import clean, console, put

NAME = "explain"

Topic = Annotated[
    str,
    typer.Argument(
        metavar="CODE|FIGURE", help="A finding's code, such as E101, or a figure's key.", show_default=False
    ),
]


def command(topic: Topic, as_json: AsJson = False) -> int:
    """What a finding means, or where a figure comes from.

    A finding has a code, such as E101; a figure a key with dots, such as conductor.awg.8.area_mm2.
    """
    page = lookup.page(topic)
    if as_json:
        answer.give(NAME, page.data)
        return 0
    on = console()
    on.print(Text(clean(page.title), style="bold"))
    for label, words in page.lines:
        on.print()
        if label:
            on.print(Text(clean(label), style="dim"))
        put(on, Padding(Text(clean(words)), (0, 0, 0, 2)))
    return 0
