"""Parts of a user's own catalogue that some tests need."""

from __future__ import annotations

import tomllib

from loomwright.rig.catalogue import Catalogue, builtin

TEXT = """
[part.starter_motor]
family = "accessory"
title = "Starter motor at rest"
draw_w = 0.1
terminal.supply = { max_mm2 = 53.5, joint = "ring lug" }

[part.lamp_130w]
family = "accessory"
title = "Work lamp, 130 W"
draw_w = 148

[part.wide_post]
family = "battery"
title = "AGM, 30 Ah, long posts"
chemistry = "agm"
capacity_ah = 30
resistance_mohm = 8
cca_a = 380
rest_table = "agm_b"
charge_min_v = 14.2
charge_max_v = 14.8
max_charge_a = 9
acceptance_c = 0.03
peukert = 1.10
terminal.post = { max_mm2 = 50, max_wires = 8 }

[part.old_gel]
family = "battery"
title = "Gel, 30 Ah, low charging volts"
chemistry = "gel"
capacity_ah = 30
resistance_mohm = 8
rest_table = "gel"
charge_min_v = 13.8
charge_max_v = 14.1
max_charge_a = 9
acceptance_c = 0.03
peukert = 1.15

[part.high_agm]
family = "battery"
title = "AGM, 30 Ah, high charging volts"
chemistry = "agm"
capacity_ah = 30
resistance_mohm = 8
rest_table = "agm_c"
charge_min_v = 14.6
charge_max_v = 14.9
max_charge_a = 9
acceptance_c = 0.03
peukert = 1.1

[part.small_lfp]
family = "battery"
title = "LiFePO4, 20 Ah, protection 15 A"
chemistry = "lfp"
capacity_ah = 20
resistance_mohm = 15
rest_table = "lfp_4s"
charge_min_v = 13.8
charge_max_v = 14.6
max_charge_a = 20
acceptance_c = 0.5
peukert = 1.05
bms_limit_a = 15

[part.made_up]
family = "accessory"
title = "Made-up lamp"
draw_w = 5
demo = true

[part.deep_dip]
family = "driver"
title = "Driver, 2 ohm by its label"
nominal_ohm = 2
rated_w = 80
re_ohm = 1.3
le_mh = 0.3
fs_hz = 70
qms = 4
qes = 0.7
[part.frail]
family = "driver"
title = "Driver, 4 ohm, 30 W"
nominal_ohm = 4
rated_w = 30
[part.weak_capacitor]
family = "passive"
title = "Capacitor, 15 uF, 16 V"
element = "capacitor"
capacitance_uf = 15
rated_v = 16

[part.large_capacitor]
family = "passive"
title = "Capacitor, 330 uF, 63 V"
element = "capacitor"
capacitance_uf = 330
rated_v = 63

[part.thumper]
family = "source"
title = "Source that is slow and does not mute"
outputs = 2
draw_w = 5
runs = "remote"
remote_out_max_ma = 150
balanced_output = true
settle_ms = 3000
hold_ms = 20
mutes = false
remote_out_on_ms = 500
remote_out_off_ms = 0
[part.slow]
family = "source"
title = "Source that is slow and does not say whether it mutes"
outputs = 2
draw_w = 5
runs = "remote"
remote_out_max_ma = 150
balanced_output = true
settle_ms = 3000
hold_ms = 20
remote_out_on_ms = 500
remote_out_off_ms = 0
[part.faint]
family = "source"
title = "Source of 0.2 V"
outputs = 2
draw_w = 5
runs = "remote"
remote_out_max_ma = 150
balanced_output = true
output_max_v = 0.2
mutes = true
[part.soft]
family = "source"
title = "Source of 0.35 V"
outputs = 2
draw_w = 5
runs = "remote"
remote_out_max_ma = 150
balanced_output = true
output_max_v = 0.35
mutes = true
[part.hot]
family = "source"
title = "Source of 20 V"
outputs = 2
draw_w = 5
runs = "remote"
remote_out_max_ma = 150
balanced_output = true
output_max_v = 20
mutes = true
[part.senser]
family = "source"
title = "Source that looks for its loudspeakers"
outputs = 4
speaker_outputs = 4
speaker_output_w = 20
senses_load = true
draw_w = 25
runs = "remote"
remote_out_max_ma = 300
balanced_output = true
mutes = true
[part.boaster]
family = "source"
title = "Source that claims 50 W from 14.4 V"
outputs = 4
speaker_outputs = 4
speaker_output_w = 50
draw_w = 25
runs = "remote"
remote_out_max_ma = 300
balanced_output = true
mutes = true

[part.amp_hi]
family = "amplifier"
title = "Amplifier with floating speaker-level inputs"
amplifier_class = "D"
channels = 2
speaker_inputs = 2
output_4ohm_w = 80
rated_v = 14.4
min_load_ohm = 2
supply = "stiff"
idle_a = 0.5
efficiency_full = 0.84
efficiency_eighth = 0.70
min_v = 10
remote_ma = 6
balanced_input = true
signal_ground_ohm = 1000
own_fuses_a = [25]
terminal.supply = { max_mm2 = 10, max_wires = 1, joint = "screw clamp" }
[part.amp_hi_grounded]
family = "amplifier"
title = "Amplifier with grounded speaker-level inputs"
amplifier_class = "D"
channels = 2
speaker_inputs = 2
speaker_inputs_float = false
output_4ohm_w = 80
rated_v = 14.4
min_load_ohm = 2
supply = "stiff"
idle_a = 0.5
efficiency_full = 0.84
efficiency_eighth = 0.70
min_v = 10
remote_ma = 6
balanced_input = true
signal_ground_ohm = 1000
own_fuses_a = [25]
terminal.supply = { max_mm2 = 10, max_wires = 1, joint = "screw clamp" }
[part.amp_boast]
family = "amplifier"
title = "Amplifier that claims 2 x 500 W behind 25 A"
amplifier_class = "D"
channels = 2
output_4ohm_w = 500
rated_v = 14.4
min_load_ohm = 2
supply = "stiff"
idle_a = 0.5
efficiency_full = 0.84
efficiency_eighth = 0.70
min_v = 10
remote_ma = 6
balanced_input = true
signal_ground_ohm = 1000
own_fuses_a = [25]
terminal.supply = { max_mm2 = 10, max_wires = 1, joint = "screw clamp" }
"""


def catalogue() -> Catalogue:
    """The built-in catalogue with these parts over it."""
    parts = tomllib.loads(TEXT)["part"]
    return Catalogue({k: (v, "own.toml") for k, v in parts.items()}).over(builtin())
