"""A remedy that is offered helps: made, it takes its finding away or makes it milder, and brings no Stop."""

from __future__ import annotations

from collections.abc import Sequence

import pytest

from loomwright import demo
from loomwright.findings.model import Finding
from loomwright.findings.registry import all_checks, check_of
from loomwright.findings.run import check
from loomwright.remedies.model import Remedy, makers
from loomwright.remedies.run import Remedies, brought, mended
from loomwright.rig.catalogue import parse as parse_catalogue
from loomwright.rig.changes import ItemKey, apply, told
from loomwright.rig.file import parse
from loomwright.study import Study
from tests.findings.bases import BUGGY, LAUNCH, TRIKE, findings, spoiled, study
from tests.findings.edits import Case, add, item, wire, without
from tests.findings.own_parts import catalogue
from tests.findings.test_pairs import CASES

Remedies(study(TRIKE))  # reads the modules, so that the list of makers is whole
MENDED = [c for c in CASES if c.code in makers()]
FOUND = demo.text("carnival_trike_as_found")
NO_EDIT = {("E203", 0), ("E503", 1), ("E504", 1), ("E605", 0), ("E605", 1), ("E906", 1), ("E916", 1),
           ("E927", 0), ("E927", 1)}
"""Cases, counted by code, in which the remedy takes a look or a decision, so that none is offered."""


def helps(text: str, finding: Finding, before: Sequence[Finding], remedy: Remedy) -> None:
    edited = apply(text, remedy.changes)
    after = check(Study(parse(edited, "test.toml", catalogue())))
    assert mended(finding, before, after), remedy
    assert brought(before, after) == (), remedy


@pytest.mark.parametrize("case", MENDED, ids=[f"{c.code}-{c.severity}-{k}" for k, c in enumerate(MENDED)])
def test_a_remedy_mends_a_spoiled_rig(case: Case) -> None:
    text = spoiled(case.base, *case.edits)
    made = study(text)
    nth = [c for c in MENDED if c.code == case.code].index(case)
    hits = [f for f in check_of(case.code)(made) if f.severity == case.severity and set(case.where) <= set(f.where)]
    offered = [(f, r) for f in hits for r in Remedies(made, catalogue()).of(f)]
    assert bool(offered) is ((case.code, nth) not in NO_EDIT)
    for finding, remedy in offered:
        helps(text, finding, findings(text), remedy)
    for finding in findings(text):
        for remedy in Remedies(made, catalogue()).of(finding):
            assert parse(apply(text, remedy.changes), "test.toml", catalogue()).wires
            assert all(told(text, remedy.changes))


@pytest.fixture(scope="module")
def as_found() -> tuple[Study, tuple[Finding, ...]]:
    made = Study(parse(FOUND, "found.toml"))
    return made, check(made)


@pytest.mark.parametrize(
    "code", ["E102", "E401", "E402", "E503", "E512", "E513", "E602", "E605", "E607", "E902"]
)
def test_a_remedy_mends_the_trike_as_found(code: str, as_found: tuple[Study, tuple[Finding, ...]]) -> None:
    made, before = as_found
    offered = [(f, r) for f in before if f.code == code for r in Remedies(made).of(f)]
    assert offered
    helps(FOUND, *offered[0][:1], before, offered[0][1])


def test_a_fault_that_takes_a_decision_has_none(as_found: tuple[Study, tuple[Finding, ...]]) -> None:
    """A fuse near the battery, a fuse for each amplifier, an isolator: where they go is the technician's to say."""
    made, before = as_found
    for finding in before:
        if finding.code in ("E101", "E103", "E201", "E511", "E701", "E703", "E901"):
            assert Remedies(made).of(finding) == ()
    breaker = next(f for f in before if f.code == "E202")
    assert Remedies(made).of(breaker) == ()  # what the wires stand is less than the load, and thicker ones do not go in


def test_what_is_mended_one_by_one_stays_mended(as_found: tuple[Study, tuple[Finding, ...]]) -> None:
    """Remedies that touch different keys go together, and the comments of the file stay."""
    made, before = as_found
    codes = ("E402", "E503", "E512", "E602", "E902")
    changes = [c for f in before if f.code in codes for r in Remedies(made).of(f)[:1] for c in r.changes]
    text = apply(FOUND, changes)
    after = check(Study(parse(text, "found.toml")))
    left = [f for f in after if f.code in codes and f.severity != "Know"]
    assert [f.where[0] for f in left] == ["splice"]  # no crimped splice of the catalogue carries this feed
    assert [line for line in FOUND.splitlines() if line.startswith("#")] == [
        line for line in text.splitlines() if line.startswith("#")
    ]


def test_a_smaller_fuse_is_offered_only_where_the_load_stands_it() -> None:
    """14 AWG at 105 C carries 35 A by 33 CFR 183.425: the rating of a 40 A fuse, or the wire, must change."""
    larger = ("fuses_a = [25, 25, 5, 0]", "fuses_a = [40, 25, 5, 0]")
    text = spoiled(TRIKE, larger, wire(TRIKE, "P3", '"10 AWG"', '"14 AWG"'))
    (found,) = check_of("E202")(study(text))
    smaller, thicker = Remedies(study(text)).of(found)
    assert told(text, smaller.changes) == ("block: fuse in way 1 40 A \u2192 35 A",)
    assert told(text, thicker.changes) == ("P3: size 14 AWG \u2192 12 AWG",)
    loaded = spoiled(BUGGY, ("fuses_a = [60, 50, 0, 0]", "fuses_a = [80, 50, 0, 0]"),
                     wire(BUGGY, "P7", '"6 AWG"', '"18 AWG"'))  # fmt: skip
    (found,) = check_of("E202")(study(loaded))
    titles = [r.title for r in Remedies(study(loaded)).of(found)]
    assert titles == ["Run P7 in 6 AWG"]  # 8 AWG is listed at 80 A where it is 30 C, and it is 35 C here


def test_what_was_measured_on_the_old_wire_goes_with_it() -> None:
    new = '"4 AWG", metal = "cca10", as_sold = "4 AWG copper", length_mm = 1500, measured_mohm = 2.1'
    text = spoiled(TRIKE, wire(TRIKE, "P2", '"4 AWG"', new))
    finding = next(f for f in check_of("E503")(study(text)) if f.where == ("P2",))
    (remedy,) = Remedies(study(text)).of(finding)
    assert told(text, remedy.changes) == (
        "P2: metal cca10 \u2192 copper",
        "P2: measured resistance 2.1 m\u03a9 \u2192 none",
    )


def test_the_sheath_is_offered_only_on_a_lead_that_may_be_so_long() -> None:
    """1016 mm in a sheath is 33 CFR 183.455, 1829 mm from the post boat practice (ABYC E-11)."""
    for base, most in ((LAUNCH, 1016), (TRIKE, 1829)):
        for length_mm, offered in ((most, 1), (most + 1, 0)):
            text = spoiled(base, wire(base, "P1", 'size = "bolted"', f'size = "4 AWG", length_mm = {length_mm}'))
            (found,) = check_of("E102")(study(text))
            assert len(Remedies(study(text)).of(found)) == offered


def test_a_part_of_the_shops_own_catalogue_may_stand_in() -> None:
    own = """
format = 1
[part.shop_plug]
family = "connector"
title = "Plug of the shop"
contacts = 2
contact_a = 40
contact_mohm = 0.5
min_mm2 = 2.5
max_mm2 = 10
sealed = true
"""
    wet = ("[place.deck]\n", "[place.deck]\nwet = true\n")
    text = spoiled(TRIKE, ('part = "connector_power_2_50a"', 'part = "connector_2_open"'), wet)
    finding = next(f for f in check_of("E607")(study(text)) if f.where[0] == "plug")
    (remedy,) = Remedies(study(text), parse_catalogue(own, "own").over(catalogue())).of(finding)
    assert [c.value for c in remedy.changes if isinstance(c, ItemKey)] == ["shop_plug"]


def test_a_missing_wire_is_drawn_like_the_one_beside_it() -> None:
    text = spoiled(TRIKE, *without(TRIKE, "S6"))
    (found,) = check_of("E906")(study(text))
    (remedy,) = Remedies(study(text)).of(found)
    after = parse(apply(text, remedy.changes), "x", catalogue())
    new = next(w for w in after.wires if w.id not in {x.id for x in study(text).rig.wires})
    beside = after.wire("S5")
    assert {new.start, new.end} == {"case_amp.ch1-", "case_left.-"}
    assert (new.size, new.length_mm) == (beside.size, beside.length_mm)


def test_a_crowded_plug_is_not_replaced_by_one_that_is_too_small() -> None:
    """A part that stands in has every contact that is used and takes every wire."""
    wet = (
        ('part = "connector_4_sealed"', 'part = "connector_2_open"'),
        ("[place.deck]\n", "[place.deck]\nwet = true\n"),
        *without(TRIKE, "M2", "M3"),
        add(TRIKE, "M1", 'id = "M8", from = "front_amp.remote", to = "signal.a1", size = "10 AWG", length_mm = 300',
            'id = "M9", from = "signal.b1", to = "case_amp.remote", size = "12 AWG", length_mm = 600'),
        item("unused", "driver_4in", "bars"),
    )  # fmt: skip
    text = spoiled(TRIKE, *wet)
    found = next(f for f in check_of("E607")(study(text)) if f.where[0] == "signal")
    (remedy,) = Remedies(study(text)).of(found)
    edited = apply(text, remedy.changes)
    assert not [f for f in check_of("E605")(study(edited)) if f.where[0] == "signal" and "grips" not in f.evidence]


def test_every_maker_is_for_a_check_that_exists() -> None:
    assert set(makers()) <= {c.code for c in all_checks()}
