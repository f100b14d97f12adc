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
"""


def catalogue() -> Catalogue:
    """The built-in catalogue with these parts over it."""
    parts = tomllib.loads(TEXT)["part"]
    return Catalogue({k: (v, "own.toml") for k, v in parts.items()}).over(builtin())
