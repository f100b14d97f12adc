"""Wiring choices: what is proposed, what is refused and why, and that the drawing is the network."""

from __future__ import annotations

import numpy as np
import pytest

from loomwright.errors import InputError
from loomwright.sound.arrangements import networks
from loomwright.sound.wiring_choices import arrange, join
from loomwright.sound.wiring_offers import Candidate, Offer, band_hz
from loomwright.sound.wiring_results import Arrangement, Joined

CHANNEL = Offer("amp.ch1", "amp.ch1+", "amp.ch1-", least_ohm=2.0, at4_w=75.0, at2_w=110.0)
SECOND = Offer("amp.ch2", "amp.ch2+", "amp.ch2-", least_ohm=2.0, at4_w=75.0, at2_w=110.0)


def driver(name: str, ohm: float = 4.0, watts: float = 80.0, db: float | None = 89.0, kind: str = "") -> Candidate:
    z = np.full(len(band_hz()), ohm, dtype=np.complex128)
    return Candidate(name, kind or f"{ohm:g} {watts:g}", ohm, watts, db, z)


def loads(found: tuple[Arrangement, ...]) -> dict[str, float]:
    return {a.words: a.channels[0].nominal_ohm or 0.0 for a in found}


def test_two_of_four_ohm_on_one_channel() -> None:
    """4 ‖ 4 is 2 ohm, 4 + 4 is 8 ohm; 110 W into 2 ohm beat 37.5 W into 8 ohm."""
    made = arrange([driver("a"), driver("b")], [CHANNEL])
    assert loads(made.arrangements) == {"amp.ch1: a ‖ b": 2.0, "amp.ch1: a + b": 8.0}
    best = made.best
    assert best is not None
    assert best.words == "amp.ch1: a ‖ b"
    assert [s.full_w for s in best.channels[0].shares] == pytest.approx([55.0, 55.0])
    assert [s.full_w for s in made.arrangements[1].channels[0].shares] == pytest.approx([18.75, 18.75])
    assert best.balance_db == pytest.approx(0.0)


def test_loads_of_the_handbook() -> None:
    """4 ‖ 8 = 2.667, 4 ‖ 4 ‖ 8 = 1.6, three of 4 in parallel 1.333 ohm."""
    found = loads(arrange([driver("a"), driver("b", 8.0)], [CHANNEL]).arrangements)
    assert found["amp.ch1: a ‖ b"] == pytest.approx(2.667, abs=5e-4)
    found = loads(arrange([driver("a"), driver("b"), driver("c", 8.0)], [CHANNEL]).arrangements)
    assert found["amp.ch1: a ‖ b ‖ c"] == pytest.approx(1.6)
    found = loads(arrange([driver(n) for n in "abc"], [CHANNEL]).arrangements)
    assert found["amp.ch1: a ‖ b ‖ c"] == pytest.approx(1.333, abs=5e-4)


def test_too_low_a_load_is_refused_with_its_ohms() -> None:
    made = arrange([driver(n) for n in "abc"], [CHANNEL])
    (low,) = [a for a in made.arrangements if "a ‖ b ‖ c" in a.words]
    assert low.refused == ("amp.ch1 sees 1.33 Ω nominal, under its least of 2 Ω",)
    assert made.best is not None
    assert not made.best.refused


def test_four_like_drivers_keep_four_ohm() -> None:
    """Two strings of two in parallel: 4 ohm, a quarter of 75 W each; nothing allowed is louder and as balanced."""
    made = arrange([driver(n) for n in "abcd"], [Offer("amp.ch1", "amp.ch1+", "amp.ch1-", 4.0, 75.0, 110.0)])
    assert made.best is not None
    assert made.best.channels[0].nominal_ohm == pytest.approx(4.0)
    assert [s.full_w for s in made.best.channels[0].shares] == pytest.approx([18.75] * 4)


def test_unlike_drivers_in_series_are_out_of_balance() -> None:
    """8 + 2 ohm in series: 4 to 1 in watts, 6.02 dB."""
    made = arrange([driver("a", 8.0), driver("b", 2.0)], [Offer("amp.ch1", "amp.ch1+", "amp.ch1-", 2.0, 75.0, 110.0)])
    (series,) = [a for a in made.arrangements if "+" in a.words]
    assert series.balance_db == pytest.approx(6.0206, abs=1e-3)
    assert any("louder" in reason for reason in series.refused)


def test_driver_that_cannot_take_it_is_the_reason() -> None:
    """110 W into 2 ohm, 55 W each, a third of it with loud programme: 18.3 W into a driver rated 15 W."""
    made = arrange([driver("a", watts=15.0), driver("b", watts=15.0)], [CHANNEL])
    (parallel,) = [a for a in made.arrangements if "‖" in a.words]
    assert "a gets 18.3 W with loud programme and takes 15 W" in parallel.refused


def test_two_channels_take_one_driver_each() -> None:
    made = arrange([driver("a"), driver("b")], [CHANNEL, SECOND])
    assert made.best is not None
    assert made.best.words == "amp.ch1: a; amp.ch2: b"


def test_real_dip_is_held_against_four_fifths_of_the_limit() -> None:
    """4 ohm nominal that dips to 3.1: two in parallel 1.55, under 80 % of 2 ohm; a dip to 3.3 (1.65) passes."""
    grid = band_hz()

    def dipping(name: str, least: float) -> Candidate:
        z = np.where(grid > 200.0, 4.0, least).astype(np.complex128)
        return Candidate(name, f"dip {least}", 4.0, 80.0, 89.0, z)

    low = arrange([dipping("a", 3.1), dipping("b", 3.1)], [CHANNEL])
    assert any("80 %" in r for a in low.arrangements if "‖" in a.words for r in a.refused)
    fine = arrange([dipping("a", 3.3), dipping("b", 3.3)], [CHANNEL])
    assert all(not a.refused for a in fine.arrangements)


def follow(joined: Joined, ohm: dict[str, float]) -> float:
    """Ohms between the amplifier's terminals, by nodal analysis of the leads alone."""
    parent: dict[str, str] = {}

    def find(x: str) -> str:
        while parent.setdefault(x, x) != x:
            x = parent[x]
        return x

    for lead in joined.leads:
        parent[find(lead.start)] = find(lead.end)
    nodes = sorted({find(f"{d}.{t}") for d in ohm for t in "+-"} | {find("amp.ch1+"), find("amp.ch1-")})
    g = np.zeros((len(nodes), len(nodes)))
    for name, r in ohm.items():
        a, b = nodes.index(find(f"{name}.+")), nodes.index(find(f"{name}.-"))
        g[a, a] += 1 / r
        g[b, b] += 1 / r
        g[a, b] -= 1 / r
        g[b, a] -= 1 / r
    ground = nodes.index(find("amp.ch1-"))
    keep = [n for n in range(len(nodes)) if n != ground]
    inject = np.zeros(len(keep))
    inject[keep.index(nodes.index(find("amp.ch1+")))] = 1.0
    return float(np.linalg.solve(g[np.ix_(keep, keep)], inject)[keep.index(nodes.index(find("amp.ch1+")))])


@pytest.mark.parametrize("n", [1, 2, 3, 4])
def test_leads_make_the_network_that_was_promised(n: int) -> None:
    ohms = [2.0, 3.0, 5.0, 7.0][:n]
    for net in networks((1,) * n):
        drivers = [driver("abcd"[k], ohms[k], kind=str(k)) for k in net.counts]
        joined = join(CHANNEL, net, drivers)
        assert follow(joined, {d.driver: d.nominal_ohm for d in drivers}) == pytest.approx(joined.nominal_ohm)
        assert len({(p.column, p.row) for p in joined.placed}) == n


def test_watts_add_up_to_the_channels_output() -> None:
    for a in arrange([driver("a"), driver("b", 8.0), driver("c", 6.0)], [CHANNEL]).arrangements:
        (channel,) = a.channels
        assert channel.nominal_ohm is not None
        total = sum(s.full_w for s in channel.shares)
        want = 110.0 if channel.nominal_ohm <= 2 else 75.0 * 4.0 / channel.nominal_ohm
        if channel.nominal_ohm <= 2 or channel.nominal_ohm >= 4:
            assert total == pytest.approx(want)


def test_too_many_drivers_are_refused_in_words() -> None:
    with pytest.raises(InputError, match="1 to 8 drivers"):
        arrange([driver(str(n)) for n in range(9)], [CHANNEL])
