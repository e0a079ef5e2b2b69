"""The colours: text can be read on them, parts can be told apart by eyes of all kinds."""

import numpy as np
import pytest

from planner.report.palette import DARK, KINDS, LIGHT

# Simulation of dichromacy at full severity on linear RGB: G. M. Machado, M. M. Oliveira,
# L. A. F. Fernandes, IEEE TVCG 15(6) (2009) 1291-1298. Coefficients from memory.
SIGHT = {
    "usual": np.eye(3),
    "protanopia": np.array(
        [
            [0.152286, 1.052583, -0.204868],
            [0.114503, 0.786281, 0.099216],
            [-0.003882, -0.048116, 1.051998],
        ]
    ),
    "deuteranopia": np.array(
        [
            [0.367322, 0.860646, -0.227968],
            [0.280085, 0.672501, 0.047413],
            [-0.011820, 0.042940, 0.968881],
        ]
    ),
}


def linear(colour):
    """Return linear RGB (IEC 61966-2-1) of a colour written #rrggbb."""
    value = np.array([int(colour[i : i + 2], 16) for i in (1, 3, 5)]) / 255
    return np.where(value <= 0.04045, value / 12.92, ((value + 0.055) / 1.055) ** 2.4)


def luminance(colour):
    """Relative luminance after WCAG 2.2."""
    return float(linear(colour) @ [0.2126, 0.7152, 0.0722])


def contrast(one, other):
    """Contrast ratio after WCAG 2.2: (lighter + 0.05) / (darker + 0.05)."""
    low, high = sorted([luminance(one), luminance(other)])
    return (high + 0.05) / (low + 0.05)


def lab(rgb):
    """CIE L*a*b* (D65) of linear RGB."""
    matrix = np.array(
        [[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]]
    )
    x, y, z = (matrix @ np.clip(rgb, 0, 1)) / [0.9505, 1.0, 1.089]
    f = [t ** (1 / 3) if t > (6 / 29) ** 3 else t / (3 * (6 / 29) ** 2) + 4 / 29 for t in (x, y, z)]
    return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])


def test_contrast_of_black_on_white_is_21():
    """The formula itself: WCAG gives 21 to 1 as the most there is."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21)


@pytest.mark.parametrize("scheme", [LIGHT, DARK], ids=["light", "dark"])
def test_text_can_be_read_everywhere(scheme):
    """WCAG 2.2, 1.4.3: 4.5 to 1 for text on whatever lies behind it."""
    kinds = [f"kind-{n}" for n in range(1, KINDS + 1)]
    pairs = [("ink", b) for b in ("paper", "sheet", "bed", "night", "present", *kinds)]
    pairs += [("soft", b) for b in ("paper", "sheet", "stop-wash", "warn-wash", "note-wash")]
    pairs += [(level, f"{level}-wash") for level in ("stop", "warn", "note")]
    pairs += [("bar-ink", "bar"), ("note", "paper"), ("stop", "paper")]
    for text, behind in pairs:
        assert contrast(scheme[text], scheme[behind]) >= 4.5, (text, behind)


@pytest.mark.parametrize("sight", SIGHT)
@pytest.mark.parametrize("scheme", [LIGHT, DARK], ids=["light", "dark"])
def test_parts_are_told_apart(scheme, sight):
    """Any two part colours differ by 10 in L*a*b*, some four times what an eye just sees.

    2.3 is the just noticeable difference of M. Mahy, L. Van Eycken, A. Oosterlinck, Color
    Research & Application 19 (1994) 105-121 (from memory).
    """
    colours = [lab(SIGHT[sight] @ linear(scheme[f"kind-{n}"])) for n in range(1, KINDS + 1)]
    for i, one in enumerate(colours):
        for j, other in enumerate(colours[:i]):
            assert np.linalg.norm(one - other) >= 10, (i + 1, j + 1)


def test_both_schemes_set_the_same_variables():
    """A colour that one scheme forgets would be the other's."""
    assert list(LIGHT) == list(DARK)
