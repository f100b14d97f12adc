"""Random circuits in the likeness of a rig: feeds, returns, meshes, one or two batteries, chargers, converters."""

from __future__ import annotations

import numpy as np

from loomwright.power.circuit import Circuit, Drive


def random_circuit(seed: int, cases: int = 1) -> tuple[Circuit, Drive]:
    """A circuit of 5 to 120 nodes and a drive that it can mostly stand. Same seed, same circuit."""
    rng = np.random.default_rng(seed)
    count = int(np.exp(rng.uniform(np.log(5), np.log(121))))
    half = max(2, count // 2)
    feed, back = list(range(1, half)), [0, *range(half, count)]
    a, b, ohm = [], [], []

    def join(p: int, q: int) -> None:
        a.append(p)
        b.append(q)
        ohm.append(float(np.exp(rng.uniform(np.log(1e-4), np.log(8e-3)))))

    for side in (feed, back):
        for k in range(1, len(side)):
            join(side[int(rng.integers(max(0, k - 6), k))], side[k])
        for _ in range(int(rng.integers(0, 1 + len(side) // 4))):
            p, q = rng.integers(0, len(side), 2)
            if p != q:
                join(side[p], side[q])
    batteries = 2 if count > 8 and rng.random() < 0.5 else 1
    emf_a = [feed[0]] + ([feed[int(rng.integers(1, len(feed)))]] if batteries == 2 else [])
    emf_b = [0] + ([back[int(rng.integers(0, len(back)))]] if batteries == 2 else [])
    emf_ohm = rng.uniform(4e-3, 25e-3, batteries)
    loads = int(rng.integers(1, 1 + min(12, len(feed))))
    la = [feed[int(k)] for k in rng.integers(0, len(feed), loads)]
    lb = [back[int(k)] for k in rng.integers(0, len(back), loads)]
    sa, sb, siemens, _volts, limit = [], [], [], [], []
    for k in range(batteries):  # a battery gives by its ohmic resistance and takes by a larger one
        settled = float(rng.uniform(0.1, 1.0))
        sa.append(emf_a[k])
        sb.append(emf_b[k])
        siemens.append(1 / float(emf_ohm[k]) - 1 / settled)
        emf_ohm[k] = settled
        limit.append(1e6)
    charger = rng.random() < 0.6
    if charger:
        sa.append(feed[int(rng.integers(0, len(feed)))])
        sb.append(back[int(rng.integers(0, len(back)))])
        siemens.append(float(rng.uniform(50, 400)))
        limit.append(float(rng.uniform(5, 80)))
    convert = batteries == 2 and rng.random() < 0.4
    if convert:
        sa.append(emf_a[1])
        sb.append(emf_b[1])
        siemens.append(100.0)
        limit.append(float(rng.uniform(5, 30)))
    emf = rng.uniform(12.0, 13.0, (cases, batteries))
    source_v = np.concatenate(
        [emf, np.full((cases, 1), 14.2)[:, : int(charger)], np.full((cases, 1), 14.0)[:, : int(convert)]], axis=1
    )
    total_w = rng.uniform(50, 900) / loads
    watts = total_w * rng.uniform(0.2, 1.8, (cases, loads)) * (rng.random(loads) < 0.8)
    sag = np.where(rng.random(loads) < 0.3, 14.4, 0.0)
    ints = lambda x: np.array(x, dtype=np.intp)  # noqa: E731
    circuit = Circuit(
        tuple(str(k) for k in range(count)),
        ints(a),
        ints(b),
        np.array(ohm),
        ints(emf_a),
        ints(emf_b),
        emf_ohm,
        ints(la),
        ints(lb),
        ints(sa),
        ints(sb),
        np.array(siemens),
        ints([emf_a[0]] if convert else []),
        ints([0] if convert else []),
        ints([len(sa) - 1] if convert else []),
        np.array([0.9] if convert else []),
    )
    work = Drive(
        emf,
        rng.uniform(0, 1.5, (cases, loads)),
        watts,
        np.where(rng.random((cases, loads)) < 0.1, 0.2, 0.0),
        sag,
        source_v,
        np.broadcast_to(np.array(limit), (cases, len(sa))).copy(),
    )
    return circuit, work
