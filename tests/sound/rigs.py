"""Small rigs with speakers on them: one supply, one amplifier, and whatever a test hangs on its channels."""

from __future__ import annotations

from loomwright.rig.catalogue import builtin
from loomwright.rig.catalogue import parse as parse_catalogue
from loomwright.rig.file import parse
from loomwright.rig.model import Rig
from loomwright.sound.loads import study_loads
from loomwright.sound.results import ChannelLoad

HEAD = """
format = 1
title = "Speakers"
ambient_c = 20
[place.case]
[item.battery]
part = "agm_60ah"
place = "case"
[item.fuse]
part = "holder_e"
place = "case"
fuses_a = [60]
[item.amp]
part = "{amp}"
place = "case"
{bridged}
[[wire]]
id = "P1"
from = "battery.plus"
to = "fuse.in"
size = "bolted"
[[wire]]
id = "P2"
from = "fuse.out"
to = "amp.supply+"
size = "6 AWG"
[[wire]]
id = "R2"
from = "amp.supply-"
to = "battery.minus"
size = "6 AWG"
"""

OWN = """
format = 1
[part.four]
family = "driver"
title = "Four ohm, nothing else known"
nominal_ohm = 4
rated_w = 50
[part.eight]
family = "driver"
title = "Eight ohm, nothing else known"
nominal_ohm = 8
rated_w = 50
[part.known]
family = "driver"
title = "Four ohm, all known"
nominal_ohm = 4
rated_w = 80
re_ohm = 3.4
le_mh = 0
fs_hz = 60
qms = 4
qes = 0.7
qts = 0.5957
vas_l = 15
sd_cm2 = 130
xmax_mm = 4
[part.inductive]
family = "driver"
title = "Four ohm, inductive"
nominal_ohm = 4
rated_w = 80
re_ohm = 3.2
le_mh = 0.5
fs_hz = 60
qms = 4
qes = 0.7
[part.horn]
family = "driver"
title = "Horn with a strong resonance"
nominal_ohm = 8
rated_w = 60
re_ohm = 6
le_mh = 0.1
fs_hz = 1000
qms = 6
qes = 1.5
[part.tap]
family = "passive"
title = "Pad, 6 dB, 8 ohm"
element = "pad"
resistance_ohm = 8
attenuation_db = 6
[part.odd_zobel]
family = "passive"
title = "Zobel network of unknown capacitance"
element = "zobel"
resistance_ohm = 4
{more}
"""


def capacitor(name: str, uf: float, more: str = "") -> str:
    return f'[part.{name}]\nfamily = "passive"\ntitle = "C"\nelement = "capacitor"\ncapacitance_uf = {uf}\n{more}\n'


def rig(
    items: dict[str, str],
    wires: list[tuple[str, str]],
    *,
    amp: str = "amp_4x50_class_d",
    bridged: str = "",
    size: str = "6 mm2",
    parts: str = "",
    more: str = "length_mm = 1",
) -> Rig:
    """A rig with these items (id -> part, with further keys after a line end) and speaker wires S1, S2, .. ."""
    text = HEAD.format(amp=amp, bridged=f"bridged = {bridged}" if bridged else "")
    for name, part in items.items():
        part_id, _, keys = part.partition("\n")
        text += f'[item.{name}]\npart = "{part_id}"\nplace = "case"\n{keys}\n'
    for n, (start, end) in enumerate(wires, 1):
        text += f'[[wire]]\nid = "S{n}"\nfrom = "{start}"\nto = "{end}"\nsize = "{size}"\n{more}\n'
    own = parse_catalogue(OWN.format(more=parts), "own.toml").over(builtin())
    return parse(text, "speakers.toml", own)


def load(made: Rig, channel: int = 1) -> ChannelLoad:
    return study_loads(made).channel("amp", channel)


def one_driver(part: str, channel: int = 1, **keys: object) -> Rig:
    """A driver straight on a channel."""
    return rig({"d": part}, [(f"amp.ch{channel}+", "d.+"), (f"amp.ch{channel}-", "d.-")], **keys)  # type: ignore[arg-type]


def through(capacitor_uf: float, part: str, more: str = "") -> Rig:
    """A driver behind one capacitor."""
    return rig(
        {"d": part, "c": "cap"}, [("amp.ch1+", "c.a"), ("c.b", "d.+"), ("amp.ch1-", "d.-")],
        parts=capacitor("cap", capacitor_uf, more),
    )  # fmt: skip
