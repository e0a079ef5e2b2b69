"""Strength told and drawn: two sides, the weakest layer, screws, and words that do not promise."""

from __future__ import annotations

import re
from dataclasses import replace
from io import StringIO
from xml.etree import ElementTree as ET

import numpy as np
import pytest
from rich.console import Console

from planner.handover.orientation import Oriented, Unsolved
from planner.job.model import Face, LoadCase, Screwed
from planner.report.document import plan_document
from planner.report.html import plan_html
from planner.report.palette import DARK, LIGHT, PULLS
from planner.report.strength_page import print_strengths
from planner.report.strength_picture import strength_picture
from planner.report.strength_words import orient_document, print_orientation
from planner.strength.fixings import Fixing, Hung, wall_load
from planner.strength.hanging import Hanging
from planner.strength.material import Printed
from planner.strength.model import Direction, Orientation, Painted, Resolution, SectionCheck

from .conftest import HOSTILE
from .test_palette import SIGHT, lab, linear

SVG = "{http://www.w3.org/2000/svg}"
PLASTIC = Printed(
    material="plain",
    modulus_mpa=(2000.0, 2000.0),
    tensile_mpa=(50.0, 50.0),
    bond=(0.5, 0.5),
    sustained=(0.3, 0.3),
    service_c=50.0,
    shell_mm=1.2,
    infill=1.0,
    bead_mm=0.45,
)
UPRIGHT = Direction(
    name="+z",
    up=(0.0, 0.0, 1.0),
    layer_tension_mpa=6.0,
    layer_shear_mpa=1.5,
    safety_factor=1.234,
    safety_range=(0.5, 2.5),
    governed_by="across layers",
    weakest_mm=(0.0, 0.5, 0.3),
    support_mm3=2500.0,
    height_mm=30.0,
    contact_mm2=100.0,
    stable=True,
    visible_overhang_mm2=120.0,
    time_s=5400.0,
)
LYING = replace(
    UPRIGHT,
    name="+x",
    up=(1.0, 0.0, 0.0),
    layer_tension_mpa=2.0,
    safety_factor=3.2,
    safety_range=(1.5, 5.0),
    support_mm3=0.0,
    visible_overhang_mm2=0.0,
    pareto=True,
)
CUBE = np.array(
    [
        [[x, y, z] for x, y, z in corners]
        for axis in range(3)
        for side in (0.0, 1.0)
        for triangle in ([(0, 0), (1, 0), (1, 1)], [(0, 0), (1, 1), (0, 1)])
        for corners in [
            [np.insert(np.array(at, float), axis, side) for at in triangle[:: 1 if side else -1]]
        ]
    ]
)
CUBE[4:8] = CUBE[4:8, ::-1]  # the y axis turns the other way round


def oriented(name="hook", **changes):
    """Return a cube that bears more than twice as much on its side."""
    tension = np.linspace(0.0, 6.0, len(CUBE)).astype(np.float32)
    orientation = Orientation(
        directions=(LYING, UPRIGHT),
        as_given=UPRIGHT,
        lost=2.6,
        practical=LYING,
        cost=2.6,
        reason="+x up bears 3.2 times the load, stands by itself and needs no support",
        section=SectionCheck(tension_mpa=3.0, height_mm=0.2, planes=60),
        warnings=("only 2.1 bricks go through the thin walls (0.8 mm)",),
        resolution=Resolution(
            brick_mm=0.4, wall_mm=0.8, averaged_mm=0.45, bricks=900, under_resolved=True
        ),
        moves_mm=(0.2,),
        painted=Painted(
            facets_mm=CUBE.astype(np.float32), given_mpa=tension, practical_mpa=tension / 3
        ),
    )
    return replace(
        Oriented(name=name, material=PLASTIC, walls=3, orientation=orientation), **changes
    )


def screws():
    """Return two screws, one above the other, that bear 20 N at 50 mm."""
    at = ((5.0, 0.0, 40.0), (5.0, 0.0, 10.0))
    places = [Fixing(x_mm=0.0, y_mm=z) for _, _, z in at]
    load = wall_load(places, [Hung(force_n=20.0, out_mm=50.0)], edge_mm=0.0, breaking_n=400.0)
    case = LoadCase(
        force_n=(0.0, 0.0, -20.0), on=Face(axis="+y"), held=Face(axis="-y"), sustained=True
    )
    given = Screwed(at_mm=at, wall=(0.0, -1.0, 0.0), rated_n=400.0, factor=4.0)
    return Hanging(screwed=given, load=load, at_mm=at, needed=2, case=case)


def printed(tell, found, width=80):
    console = Console(file=StringIO(), width=width)
    tell(console, found)
    return console.file.getvalue()


def test_a_direction_that_must_be_propped_up_is_not_recommended():
    """It is the strongest; what stands by itself is what a person should print."""
    slope = replace(LYING, name="[0.7, 0, 0.7]", stable=False)
    found = oriented().orientation
    propped = replace(found, directions=(slope, *found.directions), reason="a slope bears most")

    words = printed(print_orientation, replace(oriented(), orientation=propped))

    assert "Strongest: a slope bears most.\nRecommended in practice: +x up.\n" in words
    assert "Recommended: +x up bears" in printed(print_orientation, oriented())


def test_the_picture_shows_two_sides_and_the_weakest_layer():
    """As given and, since it bears more, the other; each from both sides, each with its layer."""
    root = ET.fromstring(strength_picture(oriented(), own_style=True))

    titles = [each.text for each in root.iter(f"{SVG}title")]
    assert titles.count("the weakest layer") == titles.count("the weakest place") == 4
    words = [each.text for each in root.iter(f"{SVG}text")]
    assert words.count("from the left") == words.count("from the right") == 2
    assert any("+z up (as given): at most 6 MPa" in text for text in words)
    assert any("+x up (for comparison)" in text for text in words)


def test_a_picture_alone_is_whole_and_one_on_a_page_takes_its_colours():
    """By itself it brings light and dark colours along; nothing is fetched either way."""
    alone, inside = (strength_picture(oriented(), own_style=own) for own in (True, False))

    assert "prefers-color-scheme:dark" in alone
    assert "@media print" in alone
    assert "<style" not in inside
    assert not re.search(r"(href|src|url)[=(]", alone)
    assert not re.search(r'(fill|stroke)="#', inside)


def test_where_there_is_no_better_direction_only_one_is_drawn():
    """And a part that was turned is drawn as it is printed first."""
    found = oriented()
    same = replace(found.orientation, practical=UPRIGHT, cost=1.0)

    assert strength_picture(replace(found, orientation=same)).count("the weakest layer<") == 2
    turned = strength_picture(replace(found, turned=True))
    assert turned.index("+x up (turned so)") < turned.index("+z up (as it was)")


def test_the_layer_drawn_is_the_cut_through_the_part():
    """A unit cube cut at any height shows a square of 4 mm girth."""
    from planner.report.strength_picture import _cut

    pieces = _cut(CUBE, 0.3)

    assert np.linalg.norm(pieces[:, 1] - pieces[:, 0], axis=1).sum() == pytest.approx(4.0)
    assert pieces[..., 2] == pytest.approx(np.full(pieces.shape[:2], 0.3))


@pytest.mark.parametrize("sight", SIGHT)
@pytest.mark.parametrize(
    ("scheme", "darker"), [(LIGHT, True), (DARK, False)], ids=["light", "dark"]
)
def test_tension_is_read_from_lightness_by_every_eye(scheme, darker, sight):
    """Each step is at least 8 in L* beyond the one before, the same way, and so in print."""
    light = [lab(SIGHT[sight] @ linear(scheme[f"pull-{n}"]))[0] for n in range(1, PULLS + 1)]

    steps = -np.diff(light) if darker else np.diff(light)
    assert (steps >= 8 if sight == "usual" else steps >= 5).all()


def test_the_table_fits_80_columns_with_whole_heads():
    """Every head and number in full; the marks say which is best, practical and as given."""
    text = printed(print_orientation, oriented())
    head = next(line for line in text.splitlines() if line.startswith("Up"))

    for word in ("Factor", "from-to", "Pull", "Shear", "Prop", "Seen", "High", "Hours"):
        assert word in head.split()
    assert max(map(len, text.splitlines())) <= 80
    rows = {line.split()[0]: line.split() for line in text.splitlines() if line[:2] in ("+x", "+z")}
    assert rows["+x"][1] == "bpu"
    assert rows["+z"][1:4] == ["g", "1.23", "0.5-2.5"]
    assert rows["+z"][-4:] == ["2.5", "1.2", "30", "1:30"]
    assert "Mind: only 2.1 bricks" in text
    assert "test one to failure before you trust it overhead" in " ".join(text.split())


def test_the_screws_are_told_with_who_comes_first():
    """Shear and pull of each, the count, rated load and factor, and the cautions."""
    text = " ".join(printed(print_orientation, oriented(hanging=screws())).split())

    assert "[5, 0, 40] 10 N 24 N 26 %" in text  # 1 000 Nmm x 40 / (40^2 + 10^2)
    assert "2 such screws are needed, spread alike; there are 2." in text
    assert "400 N / 4" in text
    assert "local codes and licensed practice come before this figure" in text


def test_json_says_the_same():
    """The contract's keys, and what was added to them."""
    document = orient_document(oriented(hanging=screws()))

    assert document["directions"][0]["up"] == "+x"
    assert document["as_given"]["visible_overhang_mm2"] == 120
    assert document["as_given"]["time_s"] == 5400
    assert document["practical"] == document["directions"][0]
    assert document["fixings"]["needed"] == 2
    assert document["fixings"]["loads"][0]["pull_n"] == pytest.approx(1000 * 40 / 1700, abs=1e-6)
    assert len(document["fixings"]["cautions"]) == 3


@pytest.fixture
def strong_plan(plan):
    """Return the weekend with one part worked out and one that could not be."""
    name, other, *_ = (ready.part.name for ready in plan.parts)
    return replace(
        plan,
        strengths={
            name: oriented(name, hanging=screws()),
            other: Unsolved(name=other, problems=()),
        },
    )


def test_the_page_has_a_figure_per_part_that_was_worked_out(strong_plan, plan):
    """With the factor, its range, the reason, the screws and the caution; none, no section."""
    page = plan_html(strong_plan)

    assert page.count('aria-labelledby="strength-') == 1
    assert "<b>Predicted factor 1.2</b> (0.5 to 2.5)" in page
    assert "test one to failure before you trust it overhead" in page
    assert "400 N / 4" in page
    assert "(ETAG 020 part 5, foreword)" in page
    assert 'id="strength"' not in plan_html(plan)


def test_the_plan_says_it_in_json_and_on_the_screen(strong_plan):
    """One entry per part, null where nothing was worked out; one line per part."""
    first, second, *_ = plan_document(strong_plan)["parts"]
    text = printed(print_strengths, strong_plan)

    assert first["strength"]["cost"] == 2.6
    assert first["strength"]["fixings"]["factor"] == 4
    assert second["strength"] is None
    (line,) = [line for line in text.splitlines() if line.startswith("panel ")]
    assert line.split() == ["panel", "+z", "1.2", "0.5-2.5", "6.0", "+x", "2.6", "x"]
    words = " ".join(text.split())
    assert "panel: 2 screws into the wall, 2 needed; the worst bears 10 N of shear" in words
    assert "26 % of 400 N / 4; the anchor maker's instructions, local codes" in words


def test_names_that_try_to_be_code_stay_names(plan):
    """On the page, in the picture and on the screen."""
    found = oriented(HOSTILE)
    page = plan_html(replace(plan, strengths={"panel": found}))

    assert "<script>" not in page
    assert "<script>" not in strength_picture(found)
    assert "\x1b" not in printed(print_orientation, found)
