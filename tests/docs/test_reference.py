"""The reference pages say what the program does: a key, command, finding or default cannot change unseen."""

from __future__ import annotations

import pytest

from scripts import make_reference


@pytest.mark.parametrize("name", sorted(make_reference.PAGES))
def test_a_reference_page_is_up_to_date(name: str) -> None:
    assert name not in make_reference.stale(), f"docs/reference/{name} is stale. Type: make docs"


def test_a_changed_default_of_a_key_makes_the_page_stale(monkeypatch: pytest.MonkeyPatch) -> None:
    from loomwright.rig.keys import LimitKeys

    monkeypatch.setattr(LimitKeys.model_fields["drop_v"], "default", 0.75)
    assert "rig-file.md" in make_reference.stale()


def test_a_changed_option_of_a_command_makes_the_page_stale(monkeypatch: pytest.MonkeyPatch) -> None:
    from loomwright.cli.commands import init

    monkeypatch.setattr(init.command, "__defaults__", ("other", *(init.command.__defaults__ or ())[1:]))
    assert "commands.md" in make_reference.stale()


def test_a_changed_figure_makes_the_page_stale(monkeypatch: pytest.MonkeyPatch) -> None:
    import dataclasses

    from loomwright.facts import figures

    changed = tuple(
        dataclasses.replace(f, value=0.5) if f.key == "programme.loud.fraction" else f for f in figures.all_figures()
    )
    assert changed != figures.all_figures()
    monkeypatch.setattr(figures, "all_figures", lambda: changed)
    assert "figures.md" in make_reference.stale()


def test_every_key_of_the_rig_file_has_a_description() -> None:
    from loomwright.rig.fields import all_keys

    keys = all_keys()
    assert {"[vehicle]", "[limits]", "[place.name]", "[[run]]", "[item.name]", "[[wire]]"} < {k.table for k in keys}
    for key in keys:
        assert key.description.strip(), key


def test_every_command_and_option_says_what_it_does() -> None:
    import typer.main

    from loomwright.cli.app import application

    group = typer.main.get_command(application())
    for name, command in group.commands.items():  # type: ignore[attr-defined]
        assert command.help, name
        for parameter in command.params:
            assert parameter.help, f"{name} {parameter.name}"


def test_every_finding_is_documented() -> None:
    from loomwright.findings.registry import SUBJECTS, all_checks

    subjects = {s for s, _ in SUBJECTS}
    for check in all_checks():
        for words in (check.title, check.why, check.remedy, check.source):
            assert words.strip(), check.code
        assert check.subject in subjects
