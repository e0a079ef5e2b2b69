"""Our colours, once for light and once for dark, as CSS variables.

Colour is never the only sign: parts carry numbers, findings carry their level in words, and
time alone is hatched. The tests hold text to the contrast of WCAG 2.2 (4.5 to 1) and keep the
part colours apart for protanopia and deuteranopia as well.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

KINDS = 6
"""Number of part colours; the seventh part takes the first again, with another number."""

PULLS = 6
"""Steps of tension, from none to the most; they differ in lightness, for eyes of all kinds."""
_SHADES = (1.0, 0.93, 0.86)
"""A step on a face that looks up, and on the two kinds of side."""

LIGHT: Mapping[str, str] = {
    "paper": "#fbfaf7",
    "sheet": "#ffffff",
    "ink": "#17222c",
    "soft": "#51606c",
    "rule": "#cfd5d9",
    "bed": "#f3f1ea",
    "hatch": "#8a6f6a",
    "night": "#e4e6ee",
    "present": "#d3ecdd",
    "bar": "#2f6690",
    "bar-ink": "#ffffff",
    "stop": "#a3182a",
    "stop-wash": "#fdeaea",
    "warn": "#7a4b00",
    "warn-wash": "#fdf3de",
    "note": "#1d5480",
    "note-wash": "#e9f2f9",
    "kind-1": "#7fb0dc",
    "kind-2": "#f4d889",
    "kind-3": "#e3b4d2",
    "kind-4": "#6a9a8e",
    "kind-5": "#efecf8",
    "kind-6": "#d3834f",
    "pull-1": "#ebe8dd",
    "pull-2": "#eccb7c",
    "pull-3": "#de964a",
    "pull-4": "#bf5c45",
    "pull-5": "#833259",
    "pull-6": "#3f1653",
}
DARK: Mapping[str, str] = {
    "paper": "#12181d",
    "sheet": "#1a2229",
    "ink": "#e9eef1",
    "soft": "#a9b6bf",
    "rule": "#3a4650",
    "bed": "#222b32",
    "hatch": "#b59b94",
    "night": "#0d1116",
    "present": "#1d3f33",
    "bar": "#8fc1e8",
    "bar-ink": "#0e1a24",
    "stop": "#ff9aa2",
    "stop-wash": "#3b1a20",
    "warn": "#f3c067",
    "warn-wash": "#372a12",
    "note": "#93c7ef",
    "note-wash": "#172c3d",
    "kind-1": "#2a62a3",
    "kind-2": "#4d3e0a",
    "kind-3": "#6b1f52",
    "kind-4": "#2b6b5d",
    "kind-5": "#5d6778",
    "kind-6": "#96561f",
    "pull-1": "#37424c",
    "pull-2": "#5f4d87",
    "pull-3": "#a4568a",
    "pull-4": "#d97a5c",
    "pull-5": "#edb45f",
    "pull-6": "#fbf1b8",
}


def variables() -> str:
    """Return the CSS that sets the variables: light, dark where asked for, light on paper."""
    light, dark = _declare(LIGHT), _declare(DARK)
    return (
        f":root{{color-scheme:light dark;{light}}}\n"
        f"@media (prefers-color-scheme:dark){{:root{{{dark}}}}}\n"
        f"@media print{{:root{{color-scheme:light;{light}}}}}\n"
    )


def drawing_rules() -> str:
    """Return the CSS of plates and timelines; it needs `variables` before it."""
    kinds = "".join(f".kind-{n}{{fill:var(--kind-{n})}}" for n in range(1, KINDS + 1))
    pulls = "".join(
        f".pull-{n}-{shade}{{fill:var(--pull-{n}-{shade});stroke:var(--pull-{n}-{shade})}}"
        for n in range(1, PULLS + 1)
        for shade in range(len(_SHADES))
    )
    return f"{_DRAWING}{kinds}\n{pulls}\n"


def kind_class(number: int) -> str:
    """Return the CSS class of the part with this number (from 1).

    >>> kind_class(1), kind_class(7)
    ('kind-1', 'kind-1')
    """
    return f"kind-{(number - 1) % KINDS + 1}"


def _declare(colours: Mapping[str, str]) -> str:
    shaded = {
        f"{name}-{number}": _times(value, shade)
        for name, value in colours.items()
        if name.startswith("pull-")
        for number, shade in enumerate(_SHADES)
    }
    return "".join(f"--{name}:{value};" for name, value in {**colours, **shaded}.items())


def _times(colour: str, shade: float) -> str:
    """Darken a colour.

    >>> _times("#806040", 0.5)
    '#403020'
    """
    parts = (round(int(colour[i : i + 2], 16) * shade) for i in (1, 3, 5))
    return "#" + "".join(f"{part:02x}" for part in parts)


_DRAWING = """\
svg{font-family:system-ui,-apple-system,"Segoe UI",sans-serif}
svg text{fill:var(--ink)}
.bed{fill:var(--bed);stroke:var(--ink)}
.edge{fill:none;stroke:var(--soft)}
.part{stroke:var(--ink);stroke-linejoin:round}
.hatch{stroke:var(--hatch)}
.forbidden{stroke:var(--hatch)}
.scale{stroke:var(--ink);fill:none}
svg text.soft{fill:var(--soft)}
.night{fill:var(--night)}
.present{fill:var(--present)}
.hour{stroke:var(--rule)}
.day{stroke:var(--soft)}
.bar{fill:var(--bar)}
svg text.bar-text{fill:var(--bar-ink);stroke:var(--bar);paint-order:stroke}
.alone{stroke:var(--bar-ink)}
.deadline{stroke:var(--stop)}
svg text.deadline-text{fill:var(--stop)}
.pulled{stroke-width:1.5;stroke-linejoin:round}
.layer{fill:none;stroke:var(--ink);stroke-width:1.6;stroke-dasharray:5 3}
.layer{vector-effect:non-scaling-stroke}
.weak{fill:none;stroke:var(--ink);stroke-width:1.6}
"""
