"""Roles and their colours: paper, ink, copper; signals of ISO 3864; insulation colours of IEC 60757.

Signal colours are those of ISO 3864-4 as commonly matched in sRGB.
"""

from __future__ import annotations

from typing import Literal

from loomwright.drawing.marks import Role

Palette = Literal["paper", "night", "black"]

_WIRES: dict[Role, str] = {
    "BK": "#1C2127", "BN": "#7A4A21", "RD": "#C0271E", "OG": "#E8791A", "YE": "#F2C51B", "GN": "#2E8B3D",
    "BU": "#2265AD", "VT": "#7B4BA0", "GY": "#8A9097", "WH": "#FFFFFF", "PK": "#E79AB0", "TQ": "#2FA8A6",
    "GD": "#B08D2E", "SR": "#B9BDC2",
}  # fmt: skip
_PAPER: dict[Role, str] = {
    "paper": "#FBFAF6", "raised": "#FFFFFF", "rule": "#D9D4C7", "ink": "#1C2127", "pencil": "#59606A",
    "copper": "#9A4A16", "stop": "#9B2423", "fix": "#F9A800", "know": "#005387", **_WIRES,
}  # fmt: skip
_NIGHT: dict[Role, str] = {
    **_PAPER, "paper": "#15181C", "raised": "#1E2329", "rule": "#3A4149", "ink": "#ECE7DC", "pencil": "#A7ADB5",
    "copper": "#E08A4E", "stop": "#EA6A62", "fix": "#F9A800", "know": "#5FA8DC", "BK": "#ECE7DC",
}  # fmt: skip
_LIGHT_IN_BLACK: tuple[Role, ...] = ("paper", "raised", "WH", "fix", "YE")
_BLACK: dict[Role, str] = {role: "#FFFFFF" if role in _LIGHT_IN_BLACK else "#000000" for role in _PAPER}
PALETTES: dict[Palette, dict[Role, str]] = {"paper": _PAPER, "night": _NIGHT, "black": _BLACK}


def colour(role: Role, palette: Palette) -> str:
    """Colour of a role as ``#RRGGBB``."""
    return PALETTES[palette][role]


def variable(role: Role) -> str:
    """Colour of a role for a web page: a custom property with the paper colour behind it."""
    return f"var(--{role.lower()}, {_PAPER[role]})"
