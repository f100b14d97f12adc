"""One spoiled rig for each check on panels: the canal launch, its board laid out wrongly in one way after another."""

from __future__ import annotations

from loomwright import demo
from tests.findings.bases import TRIKE, Edit
from tests.findings.edits import Case

BOARD = demo.text("canal_launch")


def at(item: str, old: str, new: str) -> Edit:
    """An edit on what stands under an item's heading."""
    head = BOARD.index(f"[item.{item}]")
    end = BOARD.index("\n\n" if "\n\n" in BOARD[head:] else "\n[", head)
    following = BOARD.find("\n[", head + 2)
    section = BOARD[head : min(e for e in (end, following) if e > 0)]
    assert old in section, (item, section)
    return (section, section.replace(old, new))


def moved(item: str, across: int, down: int) -> Edit:
    """An edit that puts an item elsewhere."""
    head = BOARD.index(f"[item.{item}]")
    spot = BOARD[BOARD.index("at_mm = ", head) :].split("\n")[0]
    return at(item, spot, f"at_mm = [{across}, {down}]")


SPACE = "space_mm = 110"
PLUG = """[item.plug]
part = "connector_power_2_50a"
place = "fore_locker"
panel = "fore"
at_mm = [405, 425]
turn_deg = 180

[item.source]"""
PANELS: tuple[Case, ...] = (
    Case("E961", BOARD, (moved("processor", 420, 300),), "Fix", ("fore", "processor", "main_amp"), ("overlap",)),
    Case("E961", BOARD, (moved("fore_gnd", 290, 470),), "Fix", ("fore", "fore_gnd"), ("cable entry",)),
    Case("E962", BOARD, (moved("main_amp", 497, 302),), "Fix", ("fore", "main_amp"), ("7 mm are needed",)),
    Case("E963", BOARD, (moved("main_amp", 418, 215),), "Fix", ("fore", "processor", "main_amp"), ("apart",)),
    Case(
        "E964",
        BOARD,
        (
            moved("main_amp", 500, 302),
            moved("processor", 330, 302),
        ),
        "Fix",
        ("fore",),
        ("apart",),
    ),
    Case(
        "E965",
        BOARD,
        (
            (
                "[item.source]",
                PLUG,
            ),
        ),
        "Fix",
        ("fore",),
        ("apart",),
    ),
    Case(
        "E966",
        BOARD,
        (moved("fore_gnd", 440, 230),),
        "Fix",
        ("fore", "main_amp", "fore_gnd"),
        ("adjusters", "100 mm"),
    ),
    Case("E967", BOARD, ((SPACE, "space_mm = 70"),), "Fix", ("fore", "fore_block"), ("75 mm", "70 mm")),
    Case("E968", BOARD, ((SPACE, "space_mm = 50"),), "Fix", ("fore", "bass_amp"), ("45 mm", "40 mm")),
    Case(
        "E969",
        BOARD,
        ((SPACE, f"{SPACE}\nspacer_mm = 45"), at("bass_amp", "turns", "layer = 2\nturns")),
        "Fix",
        ("fore", "bass_amp"),
        ("too warm",),
    ),
    Case(
        "E970",
        BOARD,
        ((SPACE, "space_mm = 120\nspacer_mm = 50"), ("at_mm = [312, 92]", "layer = 2\nat_mm = [75, 400]")),
        "Know",
        ("fore", "fore_block", "processor"),
        ("4 screws",),
    ),
    Case(
        "E971",
        BOARD,
        (("at_mm = [312, 92]\n", ""),),
        "Know",
        ("fore", "processor"),
        ("1 item", "processor"),
    ),
    Case("E972", BOARD, (moved("fore_block", 270, 150),), "Know", ("fore",), ("without a lane",)),
    Case("E973", BOARD, (moved("processor", 20, 100),), "Know", ("fore",), ("crossing",)),
    Case("E974", BOARD, (("entry_mm = [340, 500]", "entry_mm = [680, 400]"),), "Know", ("fore",), ("50 mm",)),
    Case("E980", demo.text("carnival_trike_planned"), (), "Know", ("deck", "P3"), ("150 mm",), mended_base=TRIKE),
    Case("E975", BOARD, (("slack_mm = 200", "slack_mm = 50"),), "Fix", ("fore", "fore_locker"), ("200 mm", "50 mm")),
    Case("E976", BOARD, (moved("bass_amp", 240, 302),), "Know", ("fore", "main_amp", "bass_amp"), ("28 mm", "apart")),
    Case("E977", BOARD, (("length_mm = 650", "length_mm = 200"),), "Fix", ("fore", "P4"), ("200 mm",)),
    Case(
        "E978",
        BOARD,
        (at("processor", "turns = [0]", "turn_deg = 180\nturns = [0]"),),
        "Know",
        ("fore", "processor"),
        ("180 degrees", "Welcome are 0"),
    ),
    Case(
        "E979",
        BOARD,
        (at("processor", 'place = "fore_locker"', 'place = "helm"'),),
        "Fix",
        ("processor", "fore"),
        ("helm", "fore_locker"),
    ),
    Case(
        "E981",
        BOARD,
        (moved("bass_amp", 430, 110), moved("processor", 80, 92)),
        "Know",
        ("fore", "main_amp", "bass_amp"),
        ("under", "82 mm"),
    ),
)
