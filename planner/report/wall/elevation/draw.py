"""The elevation of a wall as SVG and as PDF."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.report.wall.elevation.layout import PX_WIDTH, paper_sheets, screen_sheet, told_of
from planner.report.wall.sheet.as_pdf import sheets_pdf
from planner.report.wall.sheet.as_svg import sheet_svg

if TYPE_CHECKING:
    from planner.report.wall.subject import Subject


def elevation_svg(subject: Subject, *, own_style: bool = False) -> str:
    """Draw a wall for a page of ours, or, with `own_style`, as a file that stands alone."""
    return sheet_svg(screen_sheet(subject), own_style=own_style, px_width=PX_WIDTH)


def elevation_pdf(subject: Subject, paper: str) -> bytes:
    """Draw a wall on A4 or Letter, at a stated scale of ISO 5455."""
    return sheets_pdf(paper_sheets(subject, paper), told_of(subject))
