"""How marks look: colours by their names in the palette, widths as shares of a letter.

Line widths follow ISO 128-2: two kinds, thick and thin, 2 to 1.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from planner.report.palette import KINDS, PULLS

if TYPE_CHECKING:
    from collections.abc import Mapping

THIN, THICK = 0.06, 0.12
"""Of the size of letters: 0.18 mm and 0.36 mm with letters of 3 mm."""


@dataclass(frozen=True, slots=True)
class Style:
    """Names of colours, None for none; `dash` are lengths of line and gap."""

    stroke: str | None = None
    fill: str | None = None
    width: float = THIN
    dash: tuple[float, ...] = ()


_CHAIN = (1.2, 0.3, 0.15, 0.3)

STYLES: Mapping[str, Style] = {
    "ink": Style(fill="ink"),
    "soft": Style(fill="soft"),
    "warned": Style(fill="warn"),
    "mist": Style(fill="rule"),
    "wall": Style(stroke="ink", width=THICK),
    "ground": Style(fill="sheet"),
    "backing": Style(fill="sheet"),
    "panel": Style(fill="bed"),
    "shared": Style(stroke="soft"),
    "free": Style(stroke="ink", width=THICK),
    "thin": Style(stroke="ink"),
    "thick": Style(stroke="ink", width=THICK),
    "faint": Style(stroke="rule"),
    "solid": Style(fill="ink"),
    "screw": Style(stroke="ink", width=0.1),
    "left-out": Style(stroke="warn", width=0.08),
    "cut-out": Style(stroke="ink", fill="sheet", width=THICK),
    "hatch": Style(stroke="hatch"),
    "band": Style(stroke="hatch", dash=(0.5, 0.35)),
    "stud": Style(stroke="warn", dash=(2.0, 0.6)),
    "level": Style(stroke="note", dash=_CHAIN),
    "measure": Style(stroke="soft"),
    "arrow": Style(fill="soft"),
    "cut": Style(stroke="soft", dash=(0.8, 0.5)),
    "printed": Style(stroke="soft", fill="note-wash"),
    "bridge": Style(stroke="soft", fill="warn-wash"),
    "blank": Style(stroke="rule"),
    "thing": Style(stroke="ink", fill="sheet"),
    **{f"kind-{n}": Style(stroke="ink", fill=f"kind-{n}") for n in range(1, KINDS + 1)},
    **{f"plain-{n}": Style(fill=f"kind-{n}") for n in range(1, KINDS + 1)},
    **{f"stage-{n}": Style(stroke="ink", fill=f"pull-{n}") for n in range(1, PULLS + 1)},
    **{f"plain-stage-{n}": Style(fill=f"pull-{n}") for n in range(1, PULLS + 1)},
}
"""By name. `kind-…` are parts, `stage-…` stages of the assembly, in steps of lightness."""
