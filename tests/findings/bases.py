"""Three sound rigs of unlike build, and a way to spoil them one fault at a time.

TRIKE: one small AGM battery, stator, two amplifiers in a deck and in a case that comes off, unbalanced source.
BUGGY: two batteries of unlike size parted by an isolator, alternator, one large amplifier.
LAUNCH: petrol inboard boat, so the boat law binds; tinned copper throughout.
"""

from __future__ import annotations

from functools import cache

from loomwright.findings.model import Finding
from loomwright.findings.run import check
from loomwright.rig.file import parse
from loomwright.study import Study
from tests.findings.own_parts import catalogue

Edit = tuple[str, str]
"""What stands in the text, and what takes its place; an empty first part adds the second at the end."""

TRIKE = """
format = 1
title = "Test trike"
ambient_c = 30

wire = [
  { id = "P1", from = "battery.plus", to = "main.in", size = "bolted" },
  { id = "P2", from = "main.out", to = "block.in", size = "4 AWG" },
  { id = "P3", from = "block.out1", to = "front_amp.supply+", size = "10 AWG" },
  { id = "P4", from = "block.out2", to = "plug.a1", size = "10 AWG", length_mm = 200 },
  { id = "P5", from = "plug.b1", to = "case_amp.supply+", size = "10 AWG", length_mm = 600 },
  { id = "P6", from = "block.out3", to = "source.supply+", size = "16 AWG" },
  { id = "R2", from = "gnd.stud1", to = "battery.minus", size = "4 AWG" },
  { id = "R3", from = "gnd.stud2", to = "front_amp.supply-", size = "10 AWG" },
  { id = "R4", from = "gnd.stud3", to = "plug.a2", size = "10 AWG", length_mm = 200 },
  { id = "R5", from = "plug.b2", to = "case_amp.supply-", size = "10 AWG", length_mm = 600 },
  { id = "R6", from = "gnd.stud4", to = "source.supply-", size = "16 AWG" },
  { id = "C1", from = "battery.plus", to = "charge_fuse.in", size = "6 AWG", length_mm = 120 },
  { id = "C2", from = "charge_fuse.out", to = "stator.out", size = "6 AWG", insulation_c = 125 },
  { id = "C3", from = "stator.ground", to = "battery.minus", size = "6 AWG", insulation_c = 125 },
  { id = "V1", from = "battery.plus", to = "vehicle_fuse.in", size = "12 AWG", length_mm = 120 },
  { id = "V2", from = "vehicle_fuse.out", to = "base_load.supply+", size = "12 AWG" },
  { id = "V3", from = "base_load.supply-", to = "frame.stud2", size = "12 AWG", length_mm = 250 },
  { id = "V4", from = "frame.stud1", to = "battery.minus", size = "6 AWG", length_mm = 300 },
  { id = "M1", from = "source.remote_out", to = "front_amp.remote", size = "18 AWG" },
  { id = "M2", from = "front_amp.remote", to = "signal.a1", size = "18 AWG", length_mm = 300 },
  { id = "M3", from = "signal.b1", to = "case_amp.remote", size = "18 AWG", length_mm = 600 },
  { id = "L1", from = "source.out1", to = "front_amp.in1", size = "0.35 mm2" },
  { id = "L2", from = "source.out2", to = "front_amp.in2", size = "0.35 mm2" },
  { id = "S1", from = "front_amp.ch1+", to = "front_left.+", size = "16 AWG" },
  { id = "S2", from = "front_amp.ch1-", to = "front_left.-", size = "16 AWG" },
  { id = "S3", from = "front_amp.ch2+", to = "front_right.+", size = "16 AWG" },
  { id = "S4", from = "front_amp.ch2-", to = "front_right.-", size = "16 AWG" },
  { id = "S5", from = "case_amp.ch1+", to = "case_left.+", size = "16 AWG", length_mm = 400 },
  { id = "S6", from = "case_amp.ch1-", to = "case_left.-", size = "16 AWG", length_mm = 400 },
  { id = "S7", from = "case_amp.ch2+", to = "case_right.+", size = "16 AWG", length_mm = 400 },
  { id = "S8", from = "case_amp.ch2-", to = "case_right.-", size = "16 AWG", length_mm = 400 },
]
run = [
  { between = ["seat", "deck"], length_mm = 900, hazards = ["moving", "edge"], cover = ["braided sleeve", "grommet"] },
  { between = ["seat", "bars"], length_mm = 1200, hazards = ["moving"], cover = ["braided sleeve"] },
  { between = ["seat", "engine"], length_mm = 700, hazards = ["hot"], cover = ["heat sleeve"] },
  { between = ["deck", "case"], length_mm = 700, hazards = ["edge"], cover = ["grommet"] },
]

[vehicle]
kind = "trike"
start_battery = "battery"

[place.seat]
[place.deck]
[place.bars]
wet = true
[place.engine]
temperature_c = 70
engine_space = true
[place.case]
comes_off = true

[item.battery]
part = "agm_30ah"
place = "seat"
charge_pct = 90
[item.stator]
part = "stator_45a"
place = "engine"
[item.charge_fuse]
part = "holder_sf30"
place = "seat"
fuses_a = [60]
[item.vehicle_fuse]
part = "holder_c"
place = "seat"
fuses_a = [15]
[item.base_load]
part = "base_load_trike_led"
place = "bars"
[item.frame]
part = "frame_steel_tube"
place = "seat"
[item.main]
part = "holder_post"
place = "seat"
fuses_a = [80]
[item.block]
part = "fused_block_4way_c"
place = "deck"
fuses_a = [25, 25, 5, 0]
[item.gnd]
part = "bus_ground_10"
place = "deck"
[item.plug]
part = "connector_power_2_50a"
place = "deck"
[item.signal]
part = "connector_4_sealed"
place = "deck"
[item.source]
part = "source_line_2out"
place = "bars"
[item.front_amp]
part = "amp_2x80_class_d"
place = "deck"
[item.case_amp]
part = "amp_2x80_class_d"
place = "case"
[item.front_left]
part = "driver_6_5in"
place = "bars"
[item.front_right]
part = "driver_6_5in"
place = "bars"
[item.case_left]
part = "driver_6_5in"
place = "case"
[item.case_right]
part = "driver_6_5in"
place = "case"
"""

BUGGY = """
format = 1
title = "Test buggy"
ambient_c = 35

wire = [
  { id = "P1", from = "start.plus", to = "start_fuse.in", size = "bolted" },
  { id = "P2", from = "start_fuse.out", to = "parter.main", size = "4 AWG", length_mm = 400 },
  { id = "P3", from = "parter.aux", to = "link_fuse.out", size = "4 AWG" },
  { id = "P4", from = "link_fuse.in", to = "house.plus", size = "bolted" },
  { id = "P5", from = "house.plus", to = "main.in", size = "bolted" },
  { id = "P6", from = "main.out", to = "block.in", size = "2 AWG", length_mm = 500, cover = ["convoluted tube"] },
  { id = "P7", from = "block.out1", to = "bass_amp.supply+", size = "6 AWG", length_mm = 500 },
  { id = "P8", from = "block.out2", to = "front_amp.supply+", size = "8 AWG", length_mm = 500 },
  { id = "P9", from = "source_fuse.out", to = "source.supply+", size = "16 AWG" },
  { id = "P10", from = "house.plus", to = "source_fuse.in", size = "12 AWG", length_mm = 150 },
  { id = "R6", from = "gnd.stud1", to = "house.minus", size = "2 AWG", length_mm = 500 },
  { id = "R7", from = "gnd.stud2", to = "bass_amp.supply-", size = "6 AWG", length_mm = 500 },
  { id = "R8", from = "gnd.stud3", to = "front_amp.supply-", size = "8 AWG", length_mm = 500 },
  { id = "R9", from = "gnd.stud4", to = "source.supply-", size = "16 AWG" },
  { id = "R10", from = "house.minus", to = "start.minus", size = "4 AWG" },
  { id = "C1", from = "start.plus", to = "charge_fuse.in", size = "bolted" },
  { id = "C2", from = "charge_fuse.out", to = "alternator.out", size = "4 AWG", insulation_c = 125 },
  { id = "C3", from = "alternator.ground", to = "start.minus", size = "4 AWG", insulation_c = 125 },
  { id = "V1", from = "start.plus", to = "vehicle_fuse.in", size = "10 AWG", length_mm = 150 },
  { id = "V2", from = "vehicle_fuse.out", to = "base_load.supply+", size = "10 AWG" },
  { id = "V3", from = "base_load.supply-", to = "start.minus", size = "10 AWG" },
  { id = "M1", from = "source.remote_out", to = "front_amp.remote", size = "18 AWG" },
  { id = "M2", from = "front_amp.remote", to = "bass_amp.remote", size = "18 AWG", length_mm = 400 },
  { id = "L1", from = "source.out1", to = "front_amp.in1", size = "0.35 mm2" },
  { id = "L2", from = "source.out2", to = "front_amp.in2", size = "0.35 mm2" },
  { id = "L3", from = "source.out3", to = "bass_amp.in1", size = "0.35 mm2" },
  { id = "S1", from = "front_amp.ch1+", to = "left.+", size = "14 AWG", length_mm = 1500 },
  { id = "S2", from = "front_amp.ch1-", to = "left.-", size = "14 AWG", length_mm = 1500 },
  { id = "S3", from = "bass_amp.ch1+", to = "bass.+", size = "12 AWG", length_mm = 600 },
  { id = "S4", from = "bass_amp.ch1-", to = "bass.-", size = "12 AWG", length_mm = 600 },
]
run = [
  { between = ["rear", "middle"], length_mm = 1200, hazards = ["edge"], cover = ["convoluted tube"] },
  { between = ["rear", "engine"], length_mm = 600, hazards = ["hot"], cover = ["heat sleeve"] },
  { between = ["rear", "dash"], length_mm = 2000, hazards = ["edge", "moving"], cover = ["convoluted tube"] },
  { between = ["middle", "dash"], length_mm = 900 },
]

[vehicle]
kind = "side-by-side"
crank_a = 180
start_battery = "start"

[limits]
session_engine = "cruise"

[place.rear]
[place.middle]
[place.dash]
[place.engine]
temperature_c = 75
engine_space = true

[item.start]
part = "flooded_45ah"
place = "rear"
charge_pct = 95
[item.house]
part = "agm_60ah"
place = "middle"
charge_pct = 90
[item.start_fuse]
part = "holder_post"
place = "rear"
fuses_a = [100]
[item.link_fuse]
part = "holder_post"
place = "middle"
fuses_a = [100]
[item.parter]
part = "isolator_relay_100a"
place = "rear"
[item.main]
part = "holder_post"
place = "middle"
fuses_a = [150]
[item.block]
part = "fused_block_4way_sf30"
place = "middle"
fuses_a = [60, 50, 0, 0]
[item.source_fuse]
part = "holder_c"
place = "middle"
fuses_a = [5]
[item.charge_fuse]
part = "holder_post"
place = "rear"
fuses_a = [100]
[item.vehicle_fuse]
part = "holder_sf30"
place = "rear"
fuses_a = [30]
[item.alternator]
part = "alternator_90a"
place = "engine"
[item.base_load]
part = "base_load_buggy"
place = "rear"
[item.gnd]
part = "bus_ground_6"
place = "middle"
[item.source]
part = "source_line_4out_balanced"
place = "dash"
[item.front_amp]
part = "amp_2x100_class_ab"
place = "middle"
bands = [{ channels = [1], high_pass_hz = 90 }]
[item.bass_amp]
part = "amp_1x500_class_d"
place = "middle"
bands = [{ channels = [1], high_pass_hz = 35, low_pass_hz = 90 }]
[item.left]
part = "driver_8in"
place = "dash"
[item.bass]
part = "driver_12in"
place = "middle"
"""

LAUNCH = """
format = 1
title = "Test launch"
ambient_c = 35

wire = [
  { id = "P1", from = "battery.plus", to = "main.in", size = "bolted" },
  { id = "P2", from = "main.out", to = "block.in", size = "4 AWG", metal = "tinned copper" },
  { id = "P3", from = "block.out1", to = "amp.supply+", size = "8 AWG", metal = "tinned copper", length_mm = 400 },
  { id = "P4", from = "block.out2", to = "source.supply+", size = "14 AWG", metal = "tinned copper" },
  { id = "P5", from = "lights_fuse.out", to = "lights.supply+", size = "14 AWG", metal = "tinned copper" },
  { id = "P6", from = "battery.plus", to = "lights_fuse.in", size = "14 AWG", metal = "tinned copper" },
  { id = "R2", from = "gnd.stud1", to = "battery.minus", size = "4 AWG", metal = "tinned copper" },
  { id = "R3", from = "gnd.stud2", to = "amp.supply-", size = "8 AWG", metal = "tinned copper", length_mm = 400 },
  { id = "R4", from = "gnd.stud3", to = "source.supply-", size = "14 AWG", metal = "tinned copper" },
  { id = "R5", from = "gnd.stud4", to = "lights.supply-", size = "14 AWG", metal = "tinned copper" },
  { id = "C1", from = "battery.plus", to = "charge_fuse.in", size = "bolted" },
  { id = "C2", from = "charge_fuse.out", to = "alternator.out", size = "6 AWG", metal = "tinned copper" },
  { id = "C3", from = "alternator.ground", to = "battery.minus", size = "6 AWG", metal = "tinned copper" },
  { id = "M1", from = "source.remote_out", to = "amp.remote", size = "18 AWG", metal = "tinned copper" },
  { id = "L1", from = "source.out1", to = "amp.in1", size = "0.35 mm2", metal = "tinned copper" },
  { id = "L2", from = "source.out2", to = "amp.in2", size = "0.35 mm2", metal = "tinned copper" },
  { id = "S1", from = "amp.ch1+", to = "port.+", size = "14 AWG", metal = "tinned copper" },
  { id = "S2", from = "amp.ch1-", to = "port.-", size = "14 AWG", metal = "tinned copper" },
  { id = "S3", from = "amp.ch2+", to = "starboard.+", size = "14 AWG", metal = "tinned copper" },
  { id = "S4", from = "amp.ch2-", to = "starboard.-", size = "14 AWG", metal = "tinned copper" },
]
run = [
  { between = ["locker", "cuddy"], length_mm = 1500, hazards = ["water"], cover = ["conduit"] },
  { between = ["locker", "helm"], length_mm = 2500, hazards = ["water"], cover = ["conduit"] },
  { between = ["cuddy", "helm"], length_mm = 1200, hazards = ["water"], cover = ["conduit"] },
  { between = ["locker", "engine"], length_mm = 900, hazards = ["hot"], cover = ["heat sleeve"] },
]

[vehicle]
kind = "boat"
drive = "petrol inboard"
start_battery = "battery"

[place.locker]
[place.cuddy]
[place.helm]
wet = true
[place.engine]
temperature_c = 50
engine_space = true

[item.battery]
part = "flooded_70ah"
place = "locker"
charge_pct = 95
[item.main]
part = "holder_post"
place = "locker"
fuses_a = [80]
[item.charge_fuse]
part = "holder_post"
place = "locker"
fuses_a = [70]
[item.alternator]
part = "alternator_marine_50a"
place = "engine"
[item.block]
part = "fused_block_4way_sf30"
place = "cuddy"
fuses_a = [30, 30, 0, 0]
[item.gnd]
part = "bus_ground_6"
place = "cuddy"
[item.source]
part = "source_marine_4spk_6out"
place = "helm"
[item.amp]
part = "amp_2x80_class_d"
place = "cuddy"
[item.lights_fuse]
part = "holder_c"
place = "locker"
fuses_a = [7.5]
[item.lights]
part = "navigation_lights"
place = "helm"
[item.port]
part = "driver_6_5in_marine"
place = "helm"
[item.starboard]
part = "driver_6_5in_marine"
place = "helm"
"""


def spoiled(base: str, *edits: Edit) -> str:
    """The text with each edit made once."""
    text = base
    for old, new in edits:
        if not old:
            text += new
            continue
        assert text.count(old) == 1, f"{old!r} stands {text.count(old)} times"
        text = text.replace(old, new)
    return text


@cache
def findings(text: str) -> tuple[Finding, ...]:
    """What every check says of a rig."""
    return check(study(text))


@cache
def study(text: str) -> Study:
    """The study of a rig."""
    return Study(parse(text, "test.toml", catalogue()))
