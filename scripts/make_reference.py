"""Writes the reference pages from the program itself: commands, keys of the rig file, parts, findings, figures.

``python scripts/make_reference.py`` writes them; with ``--check`` it only says which are stale.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from loomwright.rig.fields import Row as Key

FOLDER = Path(__file__).resolve().parent.parent / "docs" / "reference"
NOTE = "<!-- Written by scripts/make_reference.py. Change the program, then type: make docs -->\n"


def grid(head: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """A table in Markdown; cell text is data, never markup."""
    lines = ["| " + " | ".join(head) + " |", "|" + "---|" * len(head)]
    lines += ["| " + " | ".join(_cell(c) for c in row) + " |" for row in rows]
    return "\n".join(lines) + "\n"


def _cell(text: str) -> str:
    for mark, safe in (("|", "\\|"), ("<", "&lt;"), (">", "&gt;"), ("\n", " ")):
        text = text.replace(mark, safe)
    return text


def commands_page() -> str:
    """Every command with its arguments and options."""
    import typer.main

    from loomwright.cli.app import application

    group = typer.main.get_command(application())
    parts = ["# Commands\n", f"{group.help}\n", f"{group.epilog} 70 is a fault in Loomwright itself.\n"]
    for name, command in group.commands.items():  # type: ignore[attr-defined]
        parts.append(f"## {name}\n")
        usage = " ".join([p.metavar for p in command.params if p.param_type_name == "argument"])
        parts.append(f"```text\nloomwright {name} [OPTIONS] {usage}".rstrip() + "\n```\n")
        parts.append((command.help or "").strip() + "\n")
        rows = []
        for p in command.params:
            if p.name == "help":
                continue
            label = p.metavar if p.param_type_name == "argument" else ", ".join(p.opts)
            default = "" if p.default in (None, False) or p.required else str(p.default)
            rows.append((f"`{label}`", _choices(p), default, p.help or ""))
        parts.append(grid(("argument or option", "takes", "default", "meaning"), rows))
    return "\n".join(parts)


def _choices(parameter: object) -> str:
    descriptor = parameter.type_descriptor  # type: ignore[attr-defined]
    if descriptor.choices:
        return ", ".join(str(c) for c in descriptor.choices)
    if descriptor.annotation is bool:
        return "nothing"
    name = str(descriptor.annotation.__name__)
    return {"Path": "path", "str": "text"}.get(name, name)


def findings_page() -> str:
    """Every check, by subject."""
    from loomwright.findings.registry import SUBJECTS, all_checks

    parts = [
        "# Findings\n",
        "What each finding means; `loomwright explain CODE` prints the same. The severity is the usual one.\n",
        "Where a finding may be milder or harder, its page says when.\n",
    ]
    checks = all_checks()
    rows = [(f"[{c.code}](#{c.code.lower()})", c.severity, c.title) for c in checks]
    parts.append(grid(("code", "severity", "finding"), rows))
    for subject, heading in SUBJECTS:
        mine = [c for c in checks if c.subject == subject]
        if mine:
            parts.append(f"## {heading}\n")
        for c in mine:
            parts.append(f"### {c.code}\n")
            parts.append(f"**{c.severity}: {_cell(c.title)}**\n\n{_cell(c.why)}\n\n*To do:* {_cell(c.remedy)}\n")
            if c.unless:
                parts.append(f"*Severity:* {c.severity}; {_cell(c.unless)}.\n")
            parts.append(f"*Source:* {_cell(c.source)} ({c.mark})\n")
    return "\n".join(parts)


def figures_page() -> str:
    """Every figure with value, unit, mark and source."""
    from loomwright.facts.figures import all_figures

    groups: dict[str, list[tuple[str, ...]]] = {}
    for f in all_figures():
        value = f"{f.value:g}" if isinstance(f.value, float) else str(f.value)
        about = f.source + (f"; {f.note}" if f.note else "")
        groups.setdefault(f.key.partition(".")[0], []).append((f"`{f.key}`", value, f.unit, f.mark, about))
    parts = [
        "# Figures\n",
        "Every figure that Loomwright uses, with its mark and source.\n",
        "`loomwright explain KEY` prints one, or all that lie below a part of a key.\n",
        "A row *from memory* is provisional, and so is every verdict that rests on it.\n",
    ]
    for name, rows in groups.items():
        parts += [f"## {name}\n", grid(("key", "value", "unit", "mark", "source and note"), rows)]
    return "\n".join(parts)


def rig_file_page() -> str:
    """Every key of the rig file, table by table."""
    from loomwright.draft.short import RowKeys
    from loomwright.draft.wishes import WishKeys
    from loomwright.rig.fields import all_keys, rows_of

    parts = [
        "# Rig file\n",
        "TOML, format 1. Every key with what it may hold, its unit, and what counts where it is left out.\n",
        "An editor can check the same: `loomwright schema > rig.schema.json`.\n",
    ]
    wishes = _by_table([*rows_of("[[equipment]]", RowKeys), *rows_of("[wishes]", WishKeys)])
    more = "An [equipment list](../how-to/draft.md) is written alike. It may hold rows, and say what it wishes:\n"
    return "\n".join(parts) + "\n" + _by_table(all_keys()) + f"\n{more}\n" + wishes


def parts_page() -> str:
    """Every built-in part by family, and the keys of a catalogue."""
    from loomwright.rig.catalogue import builtin
    from loomwright.rig.fields import catalogue_keys

    catalogue = builtin()
    families: dict[str, list[tuple[str, ...]]] = {}
    for part in map(catalogue.part, catalogue.ids()):
        terminals = ", ".join(f"`{t.name}`" for t in part.terminals)
        families.setdefault(part.family, []).append((f"`{part.id}`", part.title, terminals))
    parts = [
        "# Parts\n",
        f"The built-in catalogue: {len(catalogue.ids())} generic parts.\n",
        "Your own go into a file beside the rig, see [Use your own parts](../how-to/own-parts.md).\n",
    ]
    for family, rows in families.items():
        parts += [f"## {family}\n", grid(("part", "what it is", "terminals"), rows)]
    parts += ["## Keys of a catalogue\n", _by_table(catalogue_keys(), level="###")]
    return "\n".join(parts)


def _by_table(keys: Iterable[Key], level: str = "##") -> str:
    tables: dict[str, list[tuple[str, ...]]] = {}
    for k in keys:
        row = (f"`{k.key}`", k.type, k.unit, k.default or "required", k.description)
        tables.setdefault(k.table, []).append(row)
    head = ("key", "holds", "unit", "where left out", "meaning")
    return "\n".join(f"{level} {_heading(name)}\n\n{grid(head, rows)}" for name, rows in tables.items())


def _heading(table: str) -> str:
    return f"`{table}`" if table.startswith("[") and "," not in table else table.replace("[", "\\[")


PAGES: dict[str, Callable[[], str]] = {
    "commands.md": commands_page,
    "rig-file.md": rig_file_page,
    "parts.md": parts_page,
    "findings.md": findings_page,
    "figures.md": figures_page,
}


def stale() -> list[str]:
    """Names of the pages that no longer say what the program does."""
    return [name for name, make in PAGES.items() if _kept(name) != NOTE + make()]


def _kept(name: str) -> str:
    path = FOLDER / name
    return path.read_text(encoding="utf-8") if path.exists() else ""


def main(args: list[str]) -> int:
    """Write the pages, or check them."""
    old = stale()
    if "--check" in args:
        for name in old:
            print(f"docs/reference/{name} is stale. Type: make docs", file=sys.stderr)
        return int(bool(old))
    FOLDER.mkdir(parents=True, exist_ok=True)
    for name in old:
        (FOLDER / name).write_text(NOTE + PAGES[name](), encoding="utf-8", newline="\n")
        print(f"Wrote docs/reference/{name}")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
