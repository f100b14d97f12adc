"""The hand-written pages hold: links lead somewhere, commands and rigs in them work, the site builds."""

from __future__ import annotations

import re
import shlex
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent.parent
PAGES = sorted([*ROOT.glob("*.md"), *(ROOT / "docs").rglob("*.md")])
OUTSIDE = sorted(p.name for p in (ROOT / "tests" / "outside").glob("test_*.py"))


def blocks(page: Path, *languages: str) -> list[str]:
    found = re.findall(r"^```(\w*)\n(.*?)^```", page.read_text("utf-8"), re.M | re.S)
    return [body for language, body in found if language in languages]


@pytest.mark.parametrize("page", PAGES, ids=lambda p: str(p.relative_to(ROOT)))
def test_links_and_pictures_lead_to_files(page: Path) -> None:
    for target in re.findall(r"\]\(([^)\s]+)\)", page.read_text("utf-8")):
        if not re.match(r"[a-z]+:|#", target):
            assert (page.parent / target.partition("#")[0]).exists(), target


def test_command_lines_in_the_pages_name_commands_and_options_that_exist() -> None:
    import typer.main

    from loomwright.cli.app import application

    commands = typer.main.get_command(application()).commands  # type: ignore[attr-defined]
    seen = set()
    for page in PAGES:
        for block in blocks(page, "sh"):
            for line in block.splitlines():
                words = shlex.split(line, comments=True)
                if words[:1] != ["loomwright"] or words[1].startswith("-"):
                    continue
                assert words[1] in commands, line
                seen.add(words[1])
                options = {o for p in commands[words[1]].params for o in p.opts}
                assert {w for w in words[2:] if w.startswith("-")} <= options, line
    assert {"check", "power", "faults", "compare", "init", "pack", "explain"} <= seen


def test_make_targets_in_the_pages_exist() -> None:
    targets = set(re.findall(r"^([a-z]+):", (ROOT / "Makefile").read_text("utf-8"), re.M))
    for page in PAGES:
        for block in blocks(page, "sh"):
            for name in re.findall(r"^make ([a-z]+)", block, re.M):
                assert name in targets, f"{page.name}: make {name}"


def test_toml_in_the_pages_can_be_read() -> None:
    for page in PAGES:
        for block in blocks(page, "toml"):
            tomllib.loads(block)


def test_the_site_builds_without_a_warning(tmp_path: Path) -> None:
    command = [sys.executable, "-m", "mkdocs", "build", "--strict", "--quiet", "--site-dir", str(tmp_path / "site")]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    assert (tmp_path / "site" / "reference" / "findings.html").is_file()


def test_the_site_fetches_nothing_from_elsewhere(tmp_path: Path) -> None:
    for part in (ROOT / "docs" / "theme").iterdir():
        assert "://" not in part.read_text("utf-8")


@pytest.mark.parametrize("module", OUTSIDE)
def test_every_outside_check_is_on_the_validation_page(module: str) -> None:
    assert f"`{module}`" in (ROOT / "docs" / "validation.md").read_text("utf-8")


def test_the_validation_page_names_no_check_that_is_gone() -> None:
    named = re.findall(r"`(test_\w+\.py)`", (ROOT / "docs" / "validation.md").read_text("utf-8"))
    assert named
    assert set(named) <= set(OUTSIDE)


def test_every_room_is_in_the_tree_of_the_contributors_guide() -> None:
    guide = (ROOT / "CONTRIBUTING.md").read_text("utf-8")
    rooms = {p.name for p in (ROOT / "src" / "loomwright").iterdir() if (p / "__init__.py").exists()}
    for room in rooms:
        assert f"src/loomwright/{room}/" in guide, room


def test_the_requirement_lists_hold_no_addresses_and_only_hashed_packages() -> None:
    for path in ROOT.glob("requirements*.txt"):
        text = path.read_text("utf-8")
        assert "://" not in text, path.name
        packages = re.findall(r"^[a-z0-9][^\n]*$", text, re.M)
        assert packages
        assert all(p.endswith("\\") for p in packages), path.name


def test_the_changelog_can_be_made_from_the_fragments() -> None:
    command = [sys.executable, "-m", "towncrier", "build", "--draft", "--version", "9.9.9", "--date", "2000-01-01"]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    for fragment in (ROOT / "news").glob("*.md"):
        assert re.fullmatch(r"\+[a-z0-9-]+\.(breaking|added|changed|fixed|figures)\.md", fragment.name)
        assert " ".join(fragment.read_text("utf-8").split())[:60] in " ".join(done.stdout.split())
