"""A file read after others like it says what it says when it is the first: the same rig, the same complaints."""

from __future__ import annotations

import random
import re

import pytest

from loomwright import demo
from loomwright.errors import InputError, Problem
from loomwright.rig.catalogue import Catalogue, builtin
from loomwright.rig.file import parse
from loomwright.rig.model import Rig

SLIPS = (
    (r"length_mm = \d+", lambda rng: f"length_mm = {rng.randint(1, 900)}{rng.choice(['', '.0'])}"),
    (r"length_mm = \d+", lambda rng: rng.choice(["length_mm = true", "length_mm = 0"])),
    (r'size = "[^"]+"', lambda rng: rng.choice(['size = "4 AWG"', 'size = "auto"', 'size = "bolted"'])),
    (r'size = "[^"]+"', lambda rng: 'size = "5 AWG"'),
    (r'from = "[^"]+"', lambda rng: rng.choice(['from = "battery.plus"', 'from = "nobody.in"', "from = 3"])),
    (r'to = "[^"]+"', lambda rng: 'to = "battery.minus"'),
    (r'id = "[^"]+"', lambda rng: rng.choice(['id = "P2"', 'id = "Z9"', 'id = ""'])),
    (r'place = "[^"]+"', lambda rng: 'place = "nowhere"'),
    (r"temperature_c = \d+", lambda rng: f"temperature_c = {rng.randint(20, 70)}"),
    (r"ambient_c = \d+", lambda rng: f"ambient_c = {rng.randint(20, 45)}"),
    (r"charge_pct = \d+", lambda rng: f"charge_pct = {rng.choice([50, 500])}"),
    (r"\[\[wire\]\]\n(?:.+\n)+", lambda rng: ""),
)  # fmt: skip


def read(text: str, catalogue: Catalogue) -> Rig | tuple[Problem, ...]:
    try:
        return parse(text, "rig.toml", catalogue)
    except InputError as error:
        return tuple(error.problems)


@pytest.mark.parametrize("name", demo.names())
def test_a_file_read_after_others_is_what_it_is_alone(name: str) -> None:
    rng = random.Random(name)
    whole = text = demo.text(name)
    sound = 0
    for _ in range(60):
        pattern, written = rng.choice(SLIPS)
        found = list(re.finditer(pattern, text))
        if found:
            at = rng.choice(found)
            text = text[: at.start()] + written(rng) + text[at.end() :]
        alone = read(text, Catalogue(builtin().tables))
        assert read(text, builtin()) == alone
        if isinstance(alone, Rig):
            sound += 1
        elif rng.random() < 0.7:
            text = whole
    assert sound >= 5
