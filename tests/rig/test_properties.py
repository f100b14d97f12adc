"""Whatever is done to a file: a rig or a list of problems, never anything else; and a rig is judged to its end."""

from __future__ import annotations

import copy
import math
from typing import Any

import tomlkit
from hypothesis import given, settings
from hypothesis import strategies as st

from loomwright import demo
from loomwright.errors import InputError, LoomwrightError
from loomwright.facts import joints
from loomwright.findings.run import check
from loomwright.rig.catalogue import builtin
from loomwright.rig.file import parse
from loomwright.rig.model import Rig
from loomwright.study import Study

from .rigs import SMALL

TRIKE = demo.text("carnival_trike_planned")
TREE = tomlkit.parse(SMALL).unwrap()
PRINTABLE = st.text(
    st.characters(codec="utf-8", exclude_categories=["C", "Z"], exclude_characters="."), min_size=1, max_size=40
)
ODD = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(-(10**20), 10**20),
    st.floats(),
    st.text(max_size=20),
    st.lists(st.one_of(st.integers(), st.text(max_size=5)), max_size=3),
    st.dictionaries(st.text(min_size=1, max_size=5), st.integers(), max_size=2),
)


def answer(text: str) -> Rig | None:
    """The rig, or None where the file is refused in the proper way."""
    try:
        return parse(text, "x.toml")
    except InputError as error:
        problems = error.problems
    assert problems
    for p in problems:
        assert p.file == "x.toml"
        assert all((p.place, p.expected, p.received, p.remedy))
        assert str(p).isprintable()
    return None


def paths(node: Any, at: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    inner = node.items() if isinstance(node, dict) else enumerate(node) if isinstance(node, list) else ()
    below = [p for k, v in inner for p in paths(v, (*at, k))]
    return [at, *below] if at else below


PATHS = paths(TREE)


def put(tree: Any, path: tuple[Any, ...], value: Any) -> None:
    for step in path[:-1]:
        tree = tree[step]
    if value is None:
        del tree[path[-1]]
    else:
        tree[path[-1]] = value


@settings(max_examples=250)
@given(st.lists(st.tuples(st.sampled_from(PATHS), ODD), min_size=1, max_size=4))
def test_a_good_file_with_values_changed(edits: list[tuple[tuple[Any, ...], Any]]) -> None:
    tree = copy.deepcopy(TREE)
    for path, value in edits:
        try:
            put(tree, path, value)
        except (KeyError, IndexError, TypeError):
            continue
    try:
        text = tomlkit.dumps(tree)
    except (ValueError, TypeError):
        return
    answer(text)


@settings(max_examples=150)
@given(st.data())
def test_a_good_file_with_characters_changed(data: st.DataObject) -> None:
    text = TRIKE
    for _ in range(data.draw(st.integers(1, 5))):
        k = data.draw(st.integers(0, len(text) - 1))
        length = data.draw(st.integers(0, 30))
        text = text[:k] + data.draw(st.text(max_size=6)) + text[k + length :]
    answer(text)


@given(st.text(max_size=200))
def test_any_text(text: str) -> None:
    assert answer(text) is None


@given(PRINTABLE, PRINTABLE, PRINTABLE)
def test_any_printable_id_is_carried_as_it_is(wire: str, item: str, place: str) -> None:
    tree = tomlkit.parse(SMALL).unwrap()
    tree["wire"][3]["id"] = wire
    tree["item"][item] = tree["item"].pop("amp")
    tree["place"][place] = tree["place"].pop("attic")
    for w in tree["wire"]:
        for end in ("from", "to"):
            if w[end].startswith("amp."):
                w[end] = item + w[end][3:]
    rig = answer(tomlkit.dumps(tree))
    ids = {w["id"] for w in tree["wire"]}
    clash = len(ids) < len(tree["wire"]) or ids & set(tree["item"]) or len(tree["item"]) < 8 or len(tree["place"]) < 3
    if not clash:
        assert rig is not None
        assert rig.wire(wire).end == f"{item}.supply+"
        assert place in rig.places


@given(st.permutations(TREE["wire"]))
def test_the_order_of_the_wires_is_no_matter(wires: list[Any]) -> None:
    rig = answer(tomlkit.dumps({**TREE, "wire": wires}))
    assert rig is not None
    plain = parse(SMALL, "x.toml")
    assert {w.id: w for w in rig.wires} == {w.id: w for w in plain.wires}
    assert rig.items == plain.items


SIZES = ["bolted", "24 AWG", "18 AWG", "12 AWG", "4 AWG", "4/0 AWG", "0.35 mm2", "50 mm2", "20 SAE"]
METALS = ["copper", "tinned copper", "aluminium", "cca10"]
FACTORS = [0, 0.01, 0.1, 0.5, 2, 10, 100]
JOINTS = sorted(joints.names())
PARTS = {name: builtin().part(name) for name in builtin().ids()}
REFS = sorted({ref for w in TREE["wire"] for ref in (w["from"], w["to"])})


def others(path: tuple[Any, ...]) -> list[Any]:
    """What else may stand at a place: None to take it out, numbers stretched, names of the same kind."""
    here = TREE
    for step in path:
        here = here[step]
    match path[-1]:
        case "size":
            return SIZES
        case "part":
            return [name for name, part in PARTS.items() if part.family == PARTS[here].family]
        case "from" | "to":
            return REFS
    if isinstance(here, int | float):
        return [None, *(math.floor(here * f) if isinstance(here, int) else here * f for f in FACTORS)]
    return [None]


EDITS = [(p, v) for p in PATHS for v in others(p)]
EDITS += [(("wire", k, "metal"), m) for k in range(len(TREE["wire"])) for m in METALS]
EDITS += [(("wire", k, end), j) for k in range(len(TREE["wire"])) for end in ("from_joint", "to_joint") for j in JOINTS]
EDITS += [(("item", "battery", "charge_pct"), v) for v in (0, 100)]


@st.composite
def accepted(draw: st.DrawFn) -> str:
    """A file that is still a rig after up to 12 edits. An edit that makes the file unfit is taken back."""
    tree, text = TREE, SMALL
    for path, value in draw(st.lists(st.sampled_from(EDITS), min_size=1, max_size=12)):
        edited = copy.deepcopy(tree)
        try:
            put(edited, path, value)
            changed = tomlkit.dumps(edited)
        except (KeyError, IndexError, TypeError):
            continue
        if answer(changed) is not None:
            tree, text = edited, changed
    return text


@settings(max_examples=15)
@given(accepted())
def test_a_rig_however_odd_is_judged_to_its_end(text: str) -> None:
    try:
        found = check(Study(parse(text, "x.toml")))
    except LoomwrightError:
        return
    assert all(f.evidence and f.remedy for f in found)
