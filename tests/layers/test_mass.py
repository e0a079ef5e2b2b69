"""The range of filament: its two doubts, each against laying the part the other way."""

from __future__ import annotations

import pytest
from manifold3d import Manifold

from planner.layers.lay import lay
from planner.layers.mass import STRAND, filament_range_mm3
from planner.settings.model import Bead


def test_the_other_bead_lies_in_the_range(posed, settings):
    """A range without the strand's part would just reach what the other bead takes: to 4 %."""
    body = posed(Manifold.cube((30, 20, 4)))
    lays = {bead: lay(body, settings(bead=bead, infill=1.0)) for bead in Bead}
    apart = lays[Bead.RECTANGLE].filament_mm3 - lays[Bead.STADIUM].filament_mm3

    for bead, sign in ((Bead.RECTANGLE, -1), (Bead.STADIUM, 1)):
        middle = lays[bead].filament_mm3
        (low, high), reasons = filament_range_mm3(lays[bead], settings(bead=bead))
        end = low if sign < 0 else high
        strand = STRAND * middle
        assert ((end - middle) ** 2 - strand**2) ** 0.5 == pytest.approx(apart, rel=0.04)
        assert (high if sign < 0 else low) == pytest.approx(middle - sign * strand)
        assert len(reasons) == 2


def test_reasons_say_how_much_each_doubt_weighs(posed, settings):
    """In percent, both ways."""
    _, reasons = filament_range_mm3(lay(posed(Manifold.cube((9, 9, 2))), settings()), settings())

    assert reasons[0].endswith("-3.5% to +3.5%")
    assert reasons[1].endswith("to +0.0%")
