"""The drilling template of a wall as PDF, and what to say of it before it is printed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.report.wall.sheet.as_pdf import sheets_pdf
from planner.report.wall.template.overview import overview_sheet
from planner.report.wall.template.pages import tile_sheet

if TYPE_CHECKING:
    from planner.report.wall.sheet.marks import Sheet
    from planner.report.wall.subject import Subject
    from planner.report.wall.template.tiles import Tiling


def template_sheets(subject: Subject, tiling: Tiling) -> tuple[Sheet, ...]:
    """Return the overview and every printed tile, row by row from below."""
    tiles = (tile_sheet(subject, tiling, each) for each in tiling.printed)
    return (overview_sheet(subject, tiling), *tiles)


def template_pdf(subject: Subject, tiling: Tiling) -> bytes:
    """Draw the template at its true size, a page for each tile after the overview."""
    sheets = template_sheets(subject, tiling)
    return sheets_pdf(sheets, sheets[0].name)
