"""The wheel that goes to a shop laptop holds everything that the program reads."""

from __future__ import annotations

import subprocess
import sys
import zipfile
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent
SOURCE = ROOT / "src"


def test_the_wheel_holds_code_data_fonts_layout_engine_and_licence(tmp_path: Path) -> None:
    command = [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(tmp_path)]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    (wheel,) = tmp_path.glob("loomwright-*.whl")
    with zipfile.ZipFile(wheel) as archive:
        names = set(archive.namelist())
    wanted = {
        str(p.relative_to(SOURCE))
        for p in (SOURCE / "loomwright").rglob("*")
        if p.suffix in (".py", ".toml", ".typ", ".ttf", ".js", ".typed") and "__pycache__" not in p.parts
    }
    assert wanted <= names
    assert any(n.endswith(".ttf") for n in names)
    assert any("elk" in n and n.endswith(".js") for n in names)
    assert any(n.endswith("licenses/LICENSE") for n in names)
    assert wheel.stat().st_size < 5_000_000
