"""How long a step takes: pieces of work by count, from the rows of bench times."""

from __future__ import annotations

from loomwright.facts import building
from loomwright.facts.tables import MARKS
from loomwright.steps.results import Duration


def duration(**counts: float) -> Duration:
    """The time of so many of each piece of work; as sure as the least sure of their rows.

    >>> duration(fuse=4)
    Duration(least_min=2.0, most_min=8.0, mark='from memory', source='bench times in the trade: a practised hand to a careful first time')
    """  # noqa: E501
    rows = [(building.time_row(work), n) for work, n in counts.items() if n > 0]
    least = sum(n * row.numbers("time_min")[0] for row, n in rows)
    most = sum(n * row.numbers("time_min")[1] for row, n in rows)
    mark = max((row.mark for row, _ in rows), key=MARKS.index, default="from memory")
    return Duration(round(least, 1), round(most, 1), mark, "; ".join(dict.fromkeys(row.source for row, _ in rows)))
