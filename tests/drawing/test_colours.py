import pytest

from loomwright.drawing.colours import PALETTES, Palette
from loomwright.drawing.marks import WIDTHS_MM, Role, weight_for_mm2

TEXT: tuple[Role, ...] = ("ink", "pencil", "copper", "stop", "know")


def luminance(colour: str) -> float:
    """Relative luminance of WCAG 2.2."""
    channels = [int(colour[k : k + 2], 16) / 255 for k in (1, 3, 5)]
    r, g, b = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * r + 0.7152 * g + 0.0722 * b


def contrast(one: str, other: str) -> float:
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


@pytest.mark.parametrize("palette", ["paper", "night", "black"])
def test_words_stand_out_from_what_they_are_on(palette: Palette) -> None:
    colours = PALETTES[palette]
    for ground in ("paper", "raised"):
        for role in TEXT:
            assert contrast(colours[role], colours[ground]) >= 4.5, (role, ground)


@pytest.mark.parametrize("palette", ["paper", "night"])
def test_every_role_has_a_colour(palette: Palette) -> None:
    assert PALETTES[palette].keys() == PALETTES["black"].keys()


def test_more_metal_is_a_wider_line_of_the_series() -> None:
    widths = [weight_for_mm2(a) for a in (0.5, 1.3, 3.3, 8.4, 21.2, 53.5)]
    assert widths == sorted(widths)
    assert len(set(widths)) == 6
    assert set(widths) <= set(WIDTHS_MM)
