"""The figures must not slow a command down."""

from __future__ import annotations

import subprocess
import sys


def test_all_figures_load_without_heavy_imports():
    code = (
        "import sys\n"
        "from loomwright.facts import (adiabatic, ampacity, amplifiers, batteries, charging, circuits, conductors,\n"
        "    figures, fuses, joints, workmanship)\n"
        "assert figures.all_figures()\n"
        "heavy = {'numpy', 'scipy', 'pydantic', 'rich', 'typer', 'tomlkit', 'typst', 'quickjs'} & set(sys.modules)\n"
        "print(sorted(heavy))\n"
    )
    path = [p for p in sys.path if p]
    program = [sys.executable, "-c", f"import sys; sys.path[:0] = {path!r}\n{code}"]
    done = subprocess.run(program, capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
