"""Run every bench module, print one table, write ``build/bench.json``.

``python -m bench`` runs all; ``python -m bench start drill`` runs the modules named.
Leaves with 1 if a target is missed.
"""

from __future__ import annotations

import dataclasses
import importlib
import json
import pkgutil
import sys
from pathlib import Path

import bench
from bench.rows import Row

OUT = Path("build/bench.json")


def modules() -> list[str]:
    """Names of the bench modules, in alphabetical order."""
    found = (m.name for m in pkgutil.iter_modules(bench.__path__))
    return sorted(n for n in found if n not in ("rows", "__main__") and not n.startswith("_"))


def table(rows: list[Row]) -> str:
    """The table as text."""
    cells = [("what", "value", "unit", "target", "met")]
    cells += [(r.name, f"{r.value:.4g}", r.unit, r.target, "yes" if r.met else "MISSED") for r in rows]
    widths = [max(len(c[k]) for c in cells) for k in range(5)]
    lines = [
        f"{a:<{widths[0]}}  {b:>{widths[1]}}  {c:<{widths[2]}}  {d:<{widths[3]}}  {e}".rstrip()
        for a, b, c, d, e in cells
    ]
    lines.insert(1, "-" * max(map(len, lines)))
    return "\n".join(lines)


def main(chosen: list[str]) -> int:
    """Measure, print, write."""
    names = modules()
    unknown = sorted(set(chosen) - set(names))
    if unknown:
        print(f"No bench module called {', '.join(unknown)}. There are: {', '.join(names)}", file=sys.stderr)
        return 2
    rows: list[Row] = []
    for name in chosen or names:
        print(f"measuring: {name}", file=sys.stderr, flush=True)
        rows += importlib.import_module(f"bench.{name}").rows()
    print(table(rows))
    OUT.parent.mkdir(parents=True, exist_ok=True)
    OUT.write_text(json.dumps([dataclasses.asdict(r) for r in rows], indent=2) + "\n", encoding="utf-8")
    print(f"Written to {OUT}")
    return 0 if all(r.met for r in rows) else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
