"""Random speaker circuits as plain elements, built without a rig: for ngspice and for our solver alike.

A driver here is its equivalent circuit written out (resistor, coil, and a parallel resistor, coil and capacitor for the
moving system; in a box, the coil of its air and the port's), from the small-signal relations in print:
Res = Re Qms/Qes, Cmes = Qes/(ws Re), Lces = Re/(ws Qes), Lceb = Lces Vb/Vas.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from loomwright.rig.model import Mounting
from loomwright.sound.boxes import SmallSignal


@dataclass(frozen=True)
class Element:
    """``kind`` is R, L, C or D (a driver)."""

    kind: str
    a: str
    b: str
    value: float = 0.0
    driver: SmallSignal | None = None
    mounting: Mounting = Mounting()  # noqa: RUF009


def a_driver(rng: np.random.Generator) -> tuple[SmallSignal, Mounting]:
    """A plausible driver in a plausible box."""
    kind = str(rng.choice(["open", "sealed", "vented"]))
    fs = float(np.exp(rng.uniform(np.log(25), np.log(1500))))
    driver = SmallSignal(
        re_ohm=float(rng.uniform(1.5, 7)), le_h=float(rng.uniform(0, 2e-3)), le_exponent=1.0, fs_hz=fs,
        qms=float(rng.uniform(1, 8)), qes=float(rng.uniform(0.3, 2)), vas_m3=float(rng.uniform(0.001, 0.08)),
        sd_m2=0.02,
    )  # fmt: skip
    box_l = float(rng.uniform(2, 60)) if kind != "open" else None
    return driver, Mounting(kind, box_l, fs * float(rng.uniform(0.6, 1.5)) if kind == "vented" else None)  # type: ignore[arg-type]


def network(rng: np.random.Generator) -> list[Element]:
    """A circuit between nodes ``plus`` and ``0``: a random series-parallel tree with a few cross links on top."""
    found: list[Element] = []
    counter = [0]

    def node() -> str:
        counter[0] += 1
        return f"n{counter[0]}"

    def leaf(a: str, b: str) -> None:
        draw = rng.random()
        if draw < 0.35:
            driver, mounting = a_driver(rng)
            found.append(Element("D", a, b, driver=driver, mounting=mounting))
        elif draw < 0.55:
            found.append(Element("C", a, b, float(np.exp(rng.uniform(np.log(1e-6), np.log(4e-4))))))
        elif draw < 0.75:
            middle = node()
            found.append(Element("L", a, middle, float(np.exp(rng.uniform(np.log(5e-5), np.log(6e-3))))))
            found.append(Element("R", middle, b, float(rng.uniform(0.02, 0.8))))
        else:
            found.append(Element("R", a, b, float(np.exp(rng.uniform(np.log(0.02), np.log(50))))))

    def tree(a: str, b: str, depth: int) -> None:
        if depth == 0:
            leaf(a, b)
        elif rng.random() < 0.5:
            middle = node()
            tree(a, middle, depth - 1)
            tree(middle, b, depth - 1)
        else:
            for _ in range(int(rng.integers(2, 4))):
                tree(a, b, depth - 1)

    start = node()
    found.append(Element("R", "plus", start, float(rng.uniform(0.02, 0.3))))
    tree(start, "0", int(rng.integers(2, 5)))
    names = sorted({n for e in found for n in (e.a, e.b)})
    for _ in range(int(rng.integers(0, 3))):
        a, b = (str(n) for n in rng.choice(names, 2, replace=False))
        leaf(a, b)
    if not any(e.kind == "D" for e in found):
        driver, mounting = a_driver(rng)
        found.append(Element("D", start, "0", driver=driver, mounting=mounting))
    return found


def spice_lines(elements: list[Element], leak_q: float) -> list[str]:
    """The circuit in ngspice's words, drivers written out."""
    lines = []
    for k, e in enumerate(elements):
        if e.kind != "D":
            lines.append(f"{e.kind}{k} {e.a} {e.b} {e.value!r}")
            continue
        d, m = e.driver, e.mounting
        assert d is not None
        ws = 2 * math.pi * d.fs_hz
        give_h = d.re_ohm / (ws * d.qes)
        lines += [
            f"R{k}e {e.a} d{k}a {d.re_ohm!r}",
            f"L{k}e d{k}a d{k}b {max(d.le_h, 1e-12)!r}",
            f"R{k}s d{k}b {e.b} {d.re_ohm * d.qms / d.qes!r}",
            f"C{k}s d{k}b {e.b} {d.qes / (ws * d.re_ohm)!r}",
            f"L{k}s d{k}b {e.b} {give_h!r}",
        ]
        if m.kind == "open":
            continue
        assert d.vas_m3 is not None
        assert m.box_l is not None
        air_h = give_h * m.box_l * 1e-3 / d.vas_m3
        if m.kind == "sealed":
            lines.append(f"L{k}b d{k}b {e.b} {air_h!r}")
        else:  # air in series with the port's mass and the leak, in parallel with each other in the box: dual here
            assert m.port_hz is not None
            wb = 2 * math.pi * m.port_hz
            lines += [
                f"L{k}b d{k}b d{k}c {air_h!r}",
                f"C{k}p d{k}c d{k}g {1 / (wb**2 * air_h)!r}",
                f"R{k}p d{k}g {e.b} {wb * air_h / leak_q!r}",
            ]
    return lines
