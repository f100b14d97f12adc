"""How a case is written: edits on a base, and what a finding must say of it."""

from __future__ import annotations

from dataclasses import dataclass

from loomwright.findings.model import Severity
from tests.findings.bases import BUGGY, TRIKE, Edit


@dataclass(frozen=True)
class Case:
    """A check, the rig that must raise it, and words that its evidence and remedy must hold.

    The corrected twin is the base itself, unless ``mended`` names the edits that put it right.
    """

    code: str
    base: str
    edits: tuple[Edit, ...]
    severity: Severity
    where: tuple[str, ...] = ()
    says: tuple[str, ...] = ()
    mended: tuple[Edit, ...] = ()
    mended_base: str = ""

    @property
    def twin(self) -> str:
        return self.mended_base or self.base


def line(text: str, wire: str) -> str:
    """The line of a wire in a base."""
    return next(row for row in text.splitlines(keepends=True) if f'{{ id = "{wire}",' in row)


def without(text: str, *wires: str) -> tuple[Edit, ...]:
    """Edits that take wires out."""
    return tuple((line(text, w), "") for w in wires)


def item(name: str, part: str, place: str, extra: str = "") -> Edit:
    """An edit that adds an item."""
    return ("", f'\n[item.{name}]\npart = "{part}"\nplace = "{place}"\n{extra}\n')


def wire(text: str, wire_id: str, old: str, new: str) -> Edit:
    """An edit on one wire's line."""
    row = line(text, wire_id)
    assert old in row, row
    return (row, row.replace(old, new))


def add(text: str, after: str, *rows: str) -> Edit:
    """An edit that adds wires behind one."""
    row = line(text, after)
    return (row, row + "".join(f"  {{ {r} }},\n" for r in rows))


PLAIN = (
    ('part = "fused_block_4way_c"\nplace = "deck"\nfuses_a = [25, 25, 5, 0]', 'part = "plain_block_4"\nplace = "deck"'),
)
WEAK_MAIN = (
    ('part = "holder_post"\nplace = "seat"\nfuses_a = [80]', 'part = "holder_c"\nplace = "seat"\nfuses_a = [30]'),
)
WEAKER_MAIN = ((WEAK_MAIN[0][0], WEAK_MAIN[0][1].replace("30", "20")),)
FRONT_AB = ('[item.front_amp]\npart = "amp_2x80_class_d"', '[item.front_amp]\npart = "amp_2x100_class_ab"')
TIED = (
    wire(BUGGY, "P2", 'to = "parter.main"', 'to = "link_fuse.out"'),
    *without(BUGGY, "P3"),
    ('[item.parter]\npart = "isolator_relay_100a"\nplace = "rear"\n', ""),
)


def _dcdc(part: str) -> tuple[Edit, ...]:
    """The house battery behind a DC-DC charger in place of its isolator."""
    return (
        wire(BUGGY, "P2", '"parter.main"', '"parter.in"'),
        wire(BUGGY, "P3", '"parter.aux"', '"parter.out"'),
        add(BUGGY, "R10", 'id = "R11", from = "parter.ground", to = "start.minus", size = "4 AWG", length_mm = 400'),
        ('part = "isolator_relay_100a"', f'part = "{part}"'),
    )


SMALL_DCDC = _dcdc("dcdc_10a")
LOUD_DCDC = (*_dcdc("dcdc_20a"), ('session_engine = "cruise"', 'session_engine = "cruise"\nsession_programme = "loud"'))
LARGE_DCDC = (*_dcdc("dcdc_40a"), LOUD_DCDC[-1])
COIL = (
    add(
        TRIKE,
        "M1",
        'id = "M8", from = "source.remote_out", to = "relay.86", size = "18 AWG"',
        'id = "M9", from = "relay.85", to = "gnd.stud9", size = "18 AWG"',
    ),
)
MORE_DRIVERS = (
    add(
        TRIKE,
        "S2",
        'id = "S11", from = "front_left.+", to = "extra1.+", size = "16 AWG"',
        'id = "S12", from = "front_left.-", to = "extra1.-", size = "16 AWG"',
        'id = "S13", from = "extra1.+", to = "extra2.+", size = "16 AWG"',
        'id = "S14", from = "extra1.-", to = "extra2.-", size = "16 AWG"',
    ),
    item("extra1", "driver_6_5in", "bars"),
    item("extra2", "driver_6_5in", "bars"),
)
