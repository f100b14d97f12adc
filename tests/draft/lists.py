"""Equipment lists at random: what someone might well want to fit, and some of what cannot be had."""

from __future__ import annotations

import random

ENDS = ("fairing", "rear", "left_case", "right_case", "top_case", "dash", "shelf", "bed")
BATTERIES = ("agm_30ah", "agm_60ah", "agm_100ah", "flooded_45ah", "flooded_70ah")
CHARGERS = ("stator_45a", "stator_60a", "alternator_55a", "alternator_90a")
BASES = ("base_load_trike_led", "base_load_motorcycle", "base_load_buggy")
AMPLIFIERS = (
    "amp_1x150_class_d", "amp_1x250_class_d", "amp_1x500_class_d", "amp_2x80_class_d", "amp_2x50_class_ab",
    "amp_2x100_class_ab", "amp_2x150_class_d", "amp_4x50_class_d", "amp_4x75_class_d", "amp_4x75_class_ab",
    "amp_5x60_class_d",
)  # fmt: skip
DRIVERS = ("driver_4in", "driver_6_5in", "driver_6_5in_marine", "driver_8in", "tweeter_25mm", "horn_8ohm")
BASS = ("driver_10in", "driver_12in", "driver_10in_2ohm")
HAZARDS = ("moving", "hot", "edge", "water")


def random_list(seed: int) -> str:
    """A list with 1 to 6 amplifiers, 1 or 2 batteries and 2 to 16 loudspeakers; the same for the same seed."""
    r = random.Random(seed)
    ends = r.sample(ENDS, r.randint(2, 5))
    lines = [
        "format = 1", f'title = "List {seed}"', f"ambient_c = {r.choice((25, 30, 35))}", "",
        "[vehicle]", f'kind = "{r.choice(("trike", "side-by-side", "motorcycle", "car"))}"', "idle_rpm = 1100",
        f"crank_a = {r.choice((100, 140, 180))}", 'start_battery = "battery"', "",
        "[limits]", f"drop_v = {r.choice((0.36, 0.5, 0.6))}", f"session_h = {r.choice((0.5, 1, 2))}", "",
    ]  # fmt: skip
    wishes = []
    if r.random() < 0.3:
        wishes.append(f"min_amp_v = {r.choice((11.4, 11.8, 12.0, 12.3))}")
    if r.random() < 0.2:
        wishes.append('stock = ["16 AWG", "12 AWG", "8 AWG", "4 AWG"]')
    if wishes:
        lines += ["[wishes]", *wishes, ""]
    lines += ["[place.box]", "temperature_c = 40", "[place.engine]", "temperature_c = 70", "engine_space = true"]
    for place in ends:
        lines += [f"[place.{place}]", f"temperature_c = {r.choice((30, 40, 45))}"]
        lines += ["comes_off = true"] * (place.endswith("case")) + ["wet = true"] * (r.random() < 0.2)
    joined = ["box"]
    lines += ["", "[[run]]", 'between = ["box", "engine"]', f"length_mm = {r.randint(4, 12) * 100}"]
    lines += ['hazards = ["hot"]']
    for place in ends:
        near = r.choice([p for p in joined if not p.endswith("case")])
        lines += ["[[run]]", f'between = ["{near}", "{place}"]', f"length_mm = {r.randint(3, 20) * 100}"]
        lines += [f"hazards = {sorted(r.sample(HAZARDS, r.randint(0, 2)))!r}".replace("'", '"')]
        joined.append(place)

    def item(name: str, part: str, place: str, *more: str) -> None:
        lines.extend(["", f"[item.{name}]", f'part = "{part}"', f'place = "{place}"', *more])

    two = r.random() < 0.35
    item("battery", r.choice(BATTERIES[:3]), "box", "charge_pct = 90")
    if two:
        item("second", r.choice(("agm_60ah", "agm_100ah", "lfp_50ah")), r.choice(("box", ends[0])), "charge_pct = 90")
    item("charger", r.choice(CHARGERS), "engine")
    item("base", r.choice(BASES), ends[0])
    if r.random() < 0.8:
        item("frame", "frame_steel_tube", "box")
    item("source", r.choice(("source_line_4out_balanced", "source_line_2out", "receiver_wireless")), ends[0])
    if r.random() < 0.75:
        item("processor", r.choice(("processor_6in_8out", "processor_2in_4out", "processor_4in_6out_unbalanced")),
             r.choice(ends))  # fmt: skip
    amps = [r.choice(AMPLIFIERS) for _ in range(r.choice((1, 1, 2, 2, 3, 3, 4, 5, 6)))]
    for n, part in enumerate(amps, 1):
        item(f"amp{n}", part, r.choice(ends))
    count = r.randint(2, 16) if r.random() < 0.2 else r.randint(2, max(2, min(16, 2 * len(amps) + 2)))
    bass = sum(a.startswith("amp_1x") for a in amps)
    for n in range(1, min(bass, count - 1) + 1):
        box = r.choice(((), ('mounting = "sealed"', "box_l = 30")))
        item(f"bass{n}", r.choice(BASS), r.choice(ends), *box)
    left = count - min(bass, count - 1)
    n = 1
    while left > 0:
        kind, place = r.choice(DRIVERS), r.choice(ends)
        pair = min(2, left)
        for side in ("left", "right")[:pair]:
            item(f"pair{n}_{side}", kind, place)
        left -= pair
        n += 1
    return "\n".join(lines) + "\n"
