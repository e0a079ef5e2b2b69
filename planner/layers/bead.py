"""The section of one line of plastic, and how far apart lines lie so that they fill space.

A rectangle w x h fills space at spacing w. A stadium (a rectangle with half-round ends)
of width w and height h has the area (w - h) h + pi h^2 / 4 and fills space at the spacing
at which it holds as much as a rectangle: w - h (1 - pi/4).
Source: C. Palmer, "My attempts to make a rapid prototyping machine", June 2014.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi
from typing import TYPE_CHECKING

from planner.settings.model import Bead

if TYPE_CHECKING:
    from planner.settings.model import Settings


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One line of plastic as drawn: width, height (the layer's) and section."""

    width_mm: float
    height_mm: float
    bead: Bead

    @property
    def spacing_mm(self) -> float:
        """Distance between neighbouring lines that conserves material.

        >>> round(Line(width_mm=0.45, height_mm=0.2, bead=Bead.STADIUM).spacing_mm, 6)
        0.40708
        """
        if self.bead is Bead.RECTANGLE:
            return self.width_mm
        return self.width_mm - self.height_mm * (1.0 - pi / 4.0)

    @property
    def section_mm2(self) -> float:
        """Area of the section; spacing x height for either bead."""
        return self.spacing_mm * self.height_mm

    @property
    def edge_mm(self) -> float:
        """How far inside the outline the filled region starts.

        The outermost line lies with its side on the outline and its centre w/2 inside; its
        material counts as a band one spacing wide about that centre.
        """
        return (self.width_mm - self.spacing_mm) / 2.0


def line_of(settings: Settings, height_mm: float, *, first: bool) -> Line:
    """Return the line that `settings` lay in a layer of `height_mm`, the first one or another."""
    width_mm = first_width_mm(settings) if first else settings.line_width_mm
    return Line(width_mm=width_mm, height_mm=height_mm, bead=settings.bead)


def first_width_mm(settings: Settings) -> float:
    """Width of a line in the first layer: that of all others where none is given."""
    given = settings.first_layer_width_mm
    return settings.line_width_mm if given is None else given
