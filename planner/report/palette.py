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
    return f"{_DRAWING}{kinds}\n"


def kind_class(number: int) -> str:
    """Return the CSS class of the part with this number (from 1).

    >>> kind_class(1), kind_class(7)
    ('kind-1', 'kind-1')
    """
    return f"kind-{(number - 1) % KINDS + 1}"


def _declare(colours: Mapping[str, str]) -> str:
    return "".join(f"--{name}:{value};" for name, value in colours.items())


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
"""
