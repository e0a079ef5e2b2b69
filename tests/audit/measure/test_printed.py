"""A profile held against what its toolpath prints: a pure function of both."""

from __future__ import annotations

from types import MappingProxyType

import pytest

from planner.audit.measure import Figure, Measured, MeasuredPart, Status
from planner.audit.rules.printed import printed_otherwise
from planner.settings.model import Level

BOX = ((0.0, 1.0), (0.0, 1.0), (0.0, 1.0))


def fig(value, status=Status.FIRM, spread=None):
    return Figure(value=value, evidence="a test", status=status, spread=spread)


def measured(*, part=(), plate=()):
    of_part = {"walls": fig(3), "top_layers": fig(4), "bottom_layers": fig(4), "infill": fig(0.2)}
    return Measured(
        figures=MappingProxyType(dict(plate)),
        parts=(
            MeasuredPart(name="part 1", box_mm=BOX, figures=MappingProxyType(of_part | dict(part))),
        ),
        faults=(),
        assumptions=(),
        not_understood=(),
    )


def told(said, **what):
    found = printed_otherwise(said, measured(**what), profile="a.ini", toolpath="a.gcode")
    return [(f.rule, f.level, f.part) for f in found]


SAID = {"walls": 3, "top_layers": 4, "bottom_layers": 4, "infill": 0.2}


def test_what_agrees_is_not_told():
    assert told(SAID) == []


def test_fewer_walls_than_the_profile_says_stop_the_print():
    assert told(SAID, part={"walls": fig(2)}) == [("printed walls", Level.STOP, "part 1")]
    assert told(SAID, part={"walls": fig(4)}) == [("printed walls", Level.WARN, "part 1")]


def test_a_finding_says_both_numbers_and_where_they_are_from():
    (finding,) = printed_otherwise(
        SAID,
        measured(part={"walls": fig(2)}),
        profile="a.ini",
        toolpath="a.gcode",
        origin={"walls": "a.ini:7"},
    )
    assert finding.found.startswith("2 walls measured")
    assert finding.expected == "3 walls, as a.ini:7 says"
    assert finding.where == "a.gcode"


@pytest.mark.parametrize(
    ("figure", "rules"),
    [
        (fig(2, Status.AT_LEAST), []),
        (fig(4, Status.AT_LEAST), ["printed walls"]),
        (fig(2, Status.AMBIGUOUS), []),
        (fig(None, Status.NOT_MEASURABLE), []),
        (fig(2, spread=(2, 3)), []),
    ],
)
def test_only_what_is_sure_contradicts(figure, rules):
    """A thin section has no room for more; walls that alternate hold both numbers."""
    assert [rule for rule, _, _ in told(SAID, part={"walls": figure})] == rules


@pytest.mark.parametrize(
    ("laid", "level"), [(0.13, None), (0.27, None), (0.11, Level.STOP), (0.35, Level.WARN)]
)
def test_infill_has_room_for_lines_that_overlap(laid, level):
    found = told(SAID, part={"infill": fig(laid)})
    assert found == ([] if level is None else [("printed infill", level, "part 1")])


def test_a_first_layer_is_as_high_as_commanded_or_as_fed():
    """An offset of z changes the one and not the other: either may be what the profile says."""
    plate = {"first_layer_mm": fig(0.25), "first_layer_fed_mm": fig(0.2)}
    assert told({"first_layer_mm": 0.2}, plate=plate) == []
    assert told({"first_layer_mm": 0.25}, plate=plate) == []
    assert told({"first_layer_mm": 0.3}, plate=plate) == [("printed first layer", Level.WARN, "")]


def test_a_width_may_be_meant_by_either_section():
    unsure = fig(0.45, Status.AMBIGUOUS, (0.45, 0.493))
    assert told({"line_width_mm": 0.49}, plate={"line_width_mm": unsure}) == []
    assert told({"line_width_mm": 0.52}, plate={"line_width_mm": unsure}) != []
    sure = fig(0.45, Status.FIRM, (0.45, 0.493))
    assert told({"line_width_mm": 0.49}, plate={"line_width_mm": sure}) != []


def test_support_and_flow_are_held_against_the_profile_too():
    plate = {"support": fig(value=True), "flow_peak_mm3_s": fig(14.0)}
    found = told({"support": False, "flow_max_mm3_s": 12}, plate=plate)
    assert found == [("printed flow", Level.WARN, ""), ("printed support", Level.WARN, "")]
    assert told({"support": True, "flow_max_mm3_s": 14}, plate=plate) == []


def test_a_part_that_takes_far_more_than_its_mesh_is_told():
    part = {"laid_mm3": fig(1200.0), "expected_mm3": fig(1000.0)}
    assert told({}, part=part) == [("printed volume", Level.WARN, "part 1")]
    assert told({}, part=part | {"laid_mm3": fig(1100.0)}) == []
