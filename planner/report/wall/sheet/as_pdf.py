"""Sheets as PDF, one page each at its true size: 1 mm of the sheet is 72 / 25.4 points.

Fonts are those every reader has; letters outside Windows-1252 lose their accents or become
a question mark. Same sheets, same bytes: the file bears no date.
"""

from __future__ import annotations

import unicodedata
from io import BytesIO
from typing import TYPE_CHECKING, Any

from planner.report.palette import LIGHT
from planner.report.wall.sheet.marks import Box, Disc, Path, Text
from planner.report.wall.sheet.styles import STYLES
from planner.report.words import plain

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.report.wall.sheet.marks import Mark, Sheet

POINTS_PER_MM = 72 / 25.4
"""ISO 32000: user space is in points of 1/72 inch."""
_FONT = "Helvetica"


def sheets_pdf(sheets: Sequence[Sheet], title: str) -> bytes:
    """Return sheets in mm as a PDF with the title; it asks readers not to scale when printing."""
    from reportlab.pdfgen.canvas import Canvas  # noqa: PLC0415 - only when a PDF is written

    stream = BytesIO()
    canvas: Any = Canvas(stream, invariant=1, pageCompression=1)
    canvas.setTitle(plain(title))
    canvas.setCreator("Platewright")
    canvas.setViewerPreference("PrintScaling", "None")
    for sheet in sheets:
        _page(canvas, sheet)
    canvas.save()
    return stream.getvalue()


def drawable(text: str) -> str:
    """Return the text in letters that the fonts of every reader have.

    >>> drawable("Olá, Łódź → €"), drawable("Прага")
    ('Olá, Lódz ? €', '?????')
    """
    return "".join(_letter(char) for char in plain(text))


def _letter(char: str) -> str:
    for candidate in (char, _WITHOUT_STROKE.get(char, ""), unicodedata.normalize("NFKD", char)[:1]):
        try:
            candidate.encode("cp1252")
        except UnicodeEncodeError:
            continue
        if candidate:
            return candidate
    return "?"


_WITHOUT_STROKE = {"Ł": "L", "ł": "l", "Đ": "D", "đ": "d", "\ufffd": "?"}


def _page(canvas: Any, sheet: Sheet) -> None:
    canvas.setPageSize((sheet.width * POINTS_PER_MM, sheet.height * POINTS_PER_MM))
    current = ""
    for mark in sheet.marks:
        if mark.style != current:
            _set(canvas, mark.style, sheet.letter)
            current = mark.style
        _draw(canvas, mark)
    canvas.showPage()


def _set(canvas: Any, name: str, letter: float) -> None:
    style = STYLES[name]
    if style.fill:
        canvas.setFillColorRGB(*_rgb(style.fill))
    if style.stroke:
        canvas.setStrokeColorRGB(*_rgb(style.stroke))
        canvas.setLineWidth(style.width * letter * POINTS_PER_MM)
        canvas.setDash([d * letter * POINTS_PER_MM for d in style.dash])


def _rgb(colour: str) -> tuple[float, float, float]:
    value = LIGHT[colour]
    red, green, blue = (int(value[i : i + 2], 16) / 255 for i in (1, 3, 5))
    return red, green, blue


def _draw(canvas: Any, mark: Mark) -> None:
    if isinstance(mark, Text):
        _write(canvas, mark)
        return
    style, k = STYLES[mark.style], POINTS_PER_MM
    how = {"stroke": int(style.stroke is not None), "fill": int(style.fill is not None)}
    if isinstance(mark, Box):
        canvas.rect(mark.x * k, mark.y * k, mark.width * k, mark.height * k, **how)
    elif isinstance(mark, Disc):
        canvas.circle(mark.x * k, mark.y * k, mark.radius * k, **how)
    else:
        canvas.drawPath(_path(canvas, mark), **how)


def _path(canvas: Any, mark: Path) -> Any:
    path, k = canvas.beginPath(), POINTS_PER_MM
    for (x, y), *others in mark.lines:
        path.moveTo(x * k, y * k)
        for other_x, other_y in others:
            path.lineTo(other_x * k, other_y * k)
        if mark.closed:
            path.close()
    return path


def _write(canvas: Any, mark: Text) -> None:
    canvas.setFont(_FONT, mark.size * POINTS_PER_MM)
    canvas.saveState()
    canvas.translate(mark.x * POINTS_PER_MM, mark.y * POINTS_PER_MM)
    if mark.turned:
        canvas.rotate(90)
    put = {"start": canvas.drawString, "middle": canvas.drawCentredString}
    put.get(mark.anchor, canvas.drawRightString)(0, 0, drawable(mark.text))
    canvas.restoreState()
