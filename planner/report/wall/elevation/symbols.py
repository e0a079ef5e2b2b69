"""Signs for parts, screws and accessories, alike in the drawing and in its legend."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.report.palette import PULLS, kind_class
from planner.report.wall.sheet.marks import Box, Disc, Path, centred, cross, fitted, width_of

if TYPE_CHECKING:
    from planner.report.wall.sheet.marks import Mark
    from planner.report.wall.subject import Subject


_FIRST_TONE, _DARK_FROM = 2, 4
"""The tone of the first stage, for tone 1 is that of plain panels; and the tone from which text
on it must be light."""


def tone(subject: Subject, part: str) -> str:
    """Return the style of a part: its stage's tone if there are several stages, else its own."""
    stages = stages_of(subject)
    if len(stages) > 1:
        rank = stages.index(subject.stages.get(part, 1))
        return f"stage-{min(rank + _FIRST_TONE, PULLS)}"
    return kind_class(subject.numbers.get(part, 1))


def stages_of(subject: Subject) -> list[int]:
    """Return the stages of the parts on this wall, in order."""
    return sorted({subject.stages.get(part, 1) for part in subject.counts})


def panel_tone(subject: Subject, part: str, kinds: int) -> str:
    """Return the style of a panel: plain where there is only one kind, to let others stand out."""
    if not part or kinds <= 1:
        return "panel"
    return f"plain-{tone(subject, part)}".replace("plain-kind", "plain")


def bar(
    x: float, y: float, long: float, thick: float, style: str, *, upright: bool, ticks: int = 0
) -> list[Mark]:
    """Return a bar on an edge; `ticks` across it tell kinds apart without colour."""
    a, b = (thick / 2, long / 2) if upright else (long / 2, thick / 2)
    lines = []
    for tick in range(ticks):
        along = long * ((tick + 1) / (ticks + 1) - 0.5)
        one, two = ((-a, along), (a, along)) if upright else ((along, -b), (along, b))
        lines.append(((x + one[0], y + one[1]), (x + two[0], y + two[1])))
    marks: list[Mark] = [Box(x - a, y - b, 2 * a, 2 * b, style)]
    return [*marks, Path(tuple(lines), "thin")] if lines else marks


def knob(x: float, y: float, radius: float, style: str, rings: int = 0) -> list[Mark]:
    """Return a disc at a junction; `rings` in it tell kinds apart without colour."""
    inner = (radius * (1 - (ring + 1) / (rings + 1.5)) for ring in range(rings))
    return [Disc(x, y, radius, style), *(Disc(x, y, small, "thin") for small in inner)]


def screw(x: float, y: float, size: float, *, stud: bool) -> list[Mark]:
    """Return the sign of a fixing: a cross, about a filled dot where it meets a stud."""
    dot: list[Mark] = [Disc(x, y, 0.5 * size, "solid")] if stud else []
    return [*dot, cross(x, y, size, "screw", slanted=True)]


def left_out(x: float, y: float, size: float) -> list[Mark]:
    """Return the sign of a junction left without its screw: an empty circle, struck through."""
    return [
        Disc(x, y, size, "left-out"),
        Path((((x - size, y - size), (x + size, y + size)),), "left-out"),
    ]


def plaque(
    middle: tuple[float, float],
    size: tuple[float, float],
    names: list[str],
    letter: float,
    style: str = "thing",
) -> list[Mark]:
    """Return a plate with the first of the names that fits, the last one small if need be."""
    (x, y), (width, height) = middle, size
    box = Box(x - width / 2, y - height / 2, width, height, style)
    text_size, room = min(0.8 * letter, 0.7 * height), width - 0.3 * letter
    text = next((name for name in names if width_of(name, text_size) <= room), "")
    if not text:
        narrower = width_of(names[-1], text_size) / max(room, 1e-6)
        text_size = max(text_size / narrower, 0.5 * letter)
        text = fitted(names[-1], text_size, width)
    return [box, centred(x, y, text, text_size, _over(style))] if text else [box]


def hung_tone(subject: Subject, part: str) -> str:
    """Return the style of an accessory's plate: white unless stages have tones."""
    return tone(subject, part) if len(stages_of(subject)) > 1 else "thing"


def _over(style: str) -> str:
    """Return the style of text on top of a style: light on the darkest stages."""
    dark = style.startswith("stage-") and int(style.removeprefix("stage-")) >= _DARK_FROM
    return "ground" if dark else "ink"
