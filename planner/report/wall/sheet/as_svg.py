"""A sheet as SVG; one unit of the sheet is one of the picture, y turned downwards."""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING

from planner.report.svg import element, fmt, picture, words_in
from planner.report.wall.sheet.marks import Box, Disc, Path, Text
from planner.report.wall.sheet.styles import STYLES

if TYPE_CHECKING:
    from collections.abc import Iterable

    from planner.report.wall.sheet.marks import Mark, Point, Sheet


def sheet_svg(sheet: Sheet, *, own_style: bool, px_width: float) -> str:
    """Return a sheet as an SVG picture `px_width` wide.

    `own_style` makes it a file that stands alone; without, the page must hold the colours of
    `planner.report.palette.variables`.
    """
    groups = groupby(sheet.marks, key=lambda mark: (isinstance(mark, Text), mark.style))
    return picture(
        *(_group(style, list(marks), sheet) for (_, style), marks in groups),
        name=sheet.name,
        width=sheet.width,
        height=sheet.height,
        px_width=px_width,
        own_style=own_style,
    )


def _group(style: str, marks: list[Mark], sheet: Sheet) -> str:
    inside = "".join(_drawn(mark, sheet.height) for mark in marks)
    if isinstance(marks[0], Text):
        return inside
    return f'<g style="{_css(style, sheet.letter)}">{inside}</g>'


def _css(name: str, letter: float) -> str:
    style = STYLES[name]
    fill = f"var(--{style.fill})" if style.fill else "none"
    if style.stroke is None:
        return f"fill:{fill}"
    dash = f";stroke-dasharray:{' '.join(fmt(d * letter) for d in style.dash)}" * bool(style.dash)
    width = fmt(style.width * letter)
    return f"fill:{fill};stroke:var(--{style.stroke});stroke-width:{width}{dash}"


def _drawn(mark: Mark, height: float) -> str:
    if isinstance(mark, Path):
        return element("path", d=_path(mark, height))
    if isinstance(mark, Box):
        top = height - mark.y - mark.height
        return element("rect", x=mark.x, y=top, width=mark.width, height=mark.height)
    if isinstance(mark, Disc):
        return element("circle", cx=mark.x, cy=height - mark.y, r=mark.radius)
    return _text(mark, height)


def _path(path: Path, height: float) -> str:
    end = "Z" if path.closed else ""
    return "".join(f"M{_points(line, height)}{end}" for line in path.lines)


def _points(line: Iterable[Point], height: float) -> str:
    return "L".join(f"{fmt(x)} {fmt(height - y)}" for x, y in line)


def _text(mark: Text, height: float) -> str:
    x, y = fmt(mark.x), fmt(height - mark.y)
    place = {"transform": f"translate({x} {y}) rotate(-90)"} if mark.turned else {"x": x, "y": y}
    anchor = {} if mark.anchor == "start" else {"text_anchor": mark.anchor}
    colour = {} if mark.style == "ink" else {"style": f"fill:var(--{STYLES[mark.style].fill})"}
    return element("text", words_in(mark.text), **place, **anchor, **colour, font_size=mark.size)
