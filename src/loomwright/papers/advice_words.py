"""What the advice says, in words that page, paper and terminal share."""

from __future__ import annotations

from typing import TYPE_CHECKING

from loomwright.drawing.figures import THIN_SPACE, fixed, three

if TYPE_CHECKING:
    from loomwright.advice.chances import Chances
    from loomwright.advice.equipment import Fit, Wanted
    from loomwright.advice.results import Aim, Help, SlopeLine, Tried

AIMS: dict[Aim, str] = {
    "volts": "For the volts", "charge": "For charge and playing time", "bass": "For the bass hit",
}  # fmt: skip
UNPRICED = "The catalogue knows no prices: wires are ranked by what they gain for their copper."
NOTHING_GAINS = "Nothing that was tried gains anything that could be measured."
NO_AMPLIFIER = "This rig has no amplifier: nothing to advise on."
_UNITS = {"1": "%", "mOhm": "m\u03a9", "mm2": "mm\u00b2"}
_MINUS = "\u2212"


def stands(result: Help) -> str:
    """Where the rig stands, in a line."""
    now = result.now
    parts = [f"Engine {now.engine}"]
    if now.solved:
        parts.append(f"loud: least at {now.weakest}, {three(now.volts_v[now.weakest])} V")
    else:
        parts.append("loud: the amplifiers do not hold")
    if now.surplus_a is not None:
        left = "left over" if now.surplus_a >= 0 else "short"
        parts.append(f"{now.programme}: {three(abs(now.surplus_a))} A {left}")
    return "; ".join(parts) + "."


def takes(tried: Tried) -> str:
    """What a move takes: copper, money, room; empty where it takes none of these."""
    move, cost = tried.move, []
    if move.kind == "wire" and move.copper_g > 0:
        each = f", {three(tried.each)} V for each 100 g" if tried.each is not None and tried.per == "100 g" else ""
        cost.append(f"{three(move.copper_g)} g of copper{each}")
    if move.price:
        cost.append(f"price {three(move.price)}")
    if move.note:
        cost.append(move.note)
    return "; ".join(cost)


def weakest(result: Help) -> str:
    """The amplifier that is worst off."""
    return result.now.weakest or next(iter(result.now.volts_v), "")


def step(line: SlopeLine) -> str:
    """The usual change of a lever, with its sign."""
    value = 100.0 * line.step if line.unit == "1" else line.step
    return f"{sign(value)}{three(abs(value))} {_UNITS.get(line.unit, line.unit)}"


def change(line: SlopeLine) -> str:
    """What that does at the weakest amplifier."""
    return f"{sign(line.change_v)}{abs(line.change_v):.3f}"


def sign(value: float) -> str:
    """The sign of a change."""
    return _MINUS if value < 0 else "+"


def wanted(load: Wanted) -> str:
    """One load that must be fed."""
    return (
        f"{load.load}: {', '.join(load.drivers)}; {three(load.nominal_ohm)} \u03a9, at least {three(load.least_ohm)} "
        f"\u03a9; takes {three(load.takes_w)} W"
    )


def gives(fit: Fit) -> str:
    """What a part gives and takes in an amplifier's place."""
    watts = ", ".join(f"{w:.0f} W{' bridged' if b else ''}" for w, b in zip(fit.watts_w, fit.bridged, strict=True))
    left = "" if fit.surplus_a is None else f"; {three(fit.surplus_a)} A left over in the session"
    size = "" if fit.size_mm is None else f"; {fit.size_mm[0]:.0f} x {fit.size_mm[1]:.0f} mm"
    return f"{watts}; {three(fit.session_a)} A in the session, {three(fit.loud_a)} A loud{left}{size}"


def chance(share: float, draws: int) -> str:
    """A chance as far as so many draws can tell it."""
    if share >= 1.0:
        return f"> {100.0 - 300.0 / draws:.3f} %"
    if share <= 0.0:
        return f"< {300.0 / draws:.3f} %"
    return f"{100.0 * share:.1f} %" if 0.001 < share < 0.999 else f"{100.0 * share:.2f} %"


def volts(value: float) -> str:
    """Volts of a draw, to a hundredth."""
    return fixed(value, 2)


def session(hours: float, engine: str, programme: str) -> str:
    """The owner's session."""
    return f"{three(hours)}{THIN_SPACE}h, engine {engine}, {programme}"


def sure(result: Chances) -> str:
    """How far the chances can be relied on."""
    crank = "." if result.crank_error_v is None else (
        f", {1000 * result.crank_error_v:.0f} mV under the starter in {result.checked_sessions} whole sessions."
    )  # fmt: skip
    return f"Against the full solver: {1000 * result.error_v:.1f} mV at most in {result.checked} draws{crank}"
