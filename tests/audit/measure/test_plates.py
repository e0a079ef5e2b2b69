"""Invented plates with known truth, measured: a few of the forty (the rest are a benchmark)."""

from __future__ import annotations

import pytest

from planner.audit.measure import Status
from tests.audit.measure import shapes
from tests.audit.measure.catalogue import changed
from tests.audit.measure.scoring import Tally, score

SMALL = (shapes.cylinder(7, 4).moved(50, 45), shapes.drilled(16, 14, 4, [(8, 7, 3)]).moved(20, 20))
PLATES = (
    changed("arcs", shapes=SMALL, walls=2, strand="absolute", numbers=True),
    changed("inches and absolute", shapes=SMALL[1:], lies=True),
    changed("volumetric without a word", shapes=SMALL[1:], walls=1, pull="G10"),
    changed("spiral", shapes=(shapes.cylinder(10, 6).moved(60, 60),)),
    changed("one after another", shapes=SMALL, infill=0.3),
    changed("raft", shapes=SMALL[1:], bead="stadium"),
    changed("ironing", shapes=(shapes.steps(20, 12, [2.0, 4.0]).moved(40, 40),)),
    changed("concentric fill", shapes=(shapes.block(20, 18, 4).moved(30, 30),), top=3),
    changed("alternating walls", shapes=SMALL[1:]),
    changed("nested islands", shapes=(shapes.nested(4.0).moved(60, 60),)),
    changed("every second layer", shapes=SMALL[1:], walls=1),
    changed("support", shapes=(shapes.table(22, 12, 7, 7, 2.4).moved(40, 40),), top=3),
    changed("brim", shapes=SMALL[1:]),
    changed("fuzzy", shapes=SMALL[1:]),
    changed("relative all through", shapes=SMALL[1:], walls=2),
)


@pytest.mark.parametrize("recipe", PLATES, ids=lambda recipe: recipe.name)
def test_a_plate_is_measured_as_it_was_laid(recipe, tmp_path):
    """Validation: every figure against what the writer of the plate laid; time by a plain planner.

    Tolerances: heights 3 µm (digits written), width 2 %, strand 0.1 %, fill 3 points, brim
    0.6 mm (a loop and a bit), time 0.1 %.
    """
    tally = Tally()
    score(recipe, tmp_path, tally)

    assert tally.wrong == []
    assert tally.asked["walls exact or bounded"] == len(recipe.shapes)


def test_what_cannot_be_known_is_not_answered(tmp_path):
    """A thin wall has no room for the walls asked for: a bound is given, and no density."""
    recipe = changed("plain", shapes=(shapes.block(20, 1.9, 4).moved(20, 20),), walls=4)
    measured, _ = score(recipe, tmp_path, Tally(), timed=False)
    figures = measured.parts[0].figures

    assert figures["walls"].status is Status.AT_LEAST
    assert figures["walls"].value <= 4
    assert figures["infill"].value is None
    assert figures["infill"].status is Status.NOT_MEASURABLE
    assert figures["top_layers"].status is not Status.FIRM


@pytest.mark.parametrize(("height_mm", "share"), [(1.0, None), (6.0, 1.0)])
def test_a_part_thin_enough_to_be_skins_alone_shows_no_density(tmp_path, height_mm, share):
    """A millimetre may all be bottom and top, whatever the infill; of 6 mm the middle is infill."""
    recipe = changed("plain", shapes=(shapes.block(20, 20, height_mm).moved(20, 20),), infill=1.0)
    measured, _ = score(recipe, tmp_path, Tally(), timed=False)
    figures = measured.parts[0].figures

    assert figures["infill"].value == share
    assert figures["top_layers"].value is None
    assert figures["bottom_layers"].value is None


def test_comments_change_nothing(tmp_path):
    """The same moves with and without lying comments give the same figures."""
    honest, lying = (
        score(changed("plain", shapes=SMALL[1:], lies=lies), tmp_path, Tally(), timed=False)[0]
        for lies in (False, True)
    )

    assert {k: f.value for k, f in honest.figures.items()} == {
        k: f.value for k, f in lying.figures.items()
    }


def test_a_measured_box_is_that_of_the_part(tmp_path):
    """Half a line beyond the outmost ones: the cut of the shape itself, to the last digit."""
    measured, _ = score(changed("plain", shapes=SMALL[1:]), tmp_path, Tally(), timed=False)
    (x, y, z) = measured.parts[0].box_mm

    assert x == pytest.approx((20, 36), abs=2e-3)
    assert y == pytest.approx((20, 34), abs=2e-3)
    assert z == pytest.approx((0, 4), abs=1e-6)
