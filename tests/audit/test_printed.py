"""Says and prints: a profile against figures of a toolpath."""

import pytest

from planner.audit.compare import Said
from planner.audit.measure.model import Figure, Measured, MeasuredPart, Status
from planner.audit.rules.printed import printed

BOX = ((0.0, 1.0), (0.0, 1.0), (0.0, 1.0))
SAYS = Said(
    file="mine.ini",
    values={"walls": 3, "layer_mm": 0.2, "infill": 0.2, "material": "pla", "support": False},
    origin={"walls": "mine.ini:7"},
)


def figure(value, status=Status.FIRM):
    return Figure(value=value, evidence="made up", status=status)


def told(figures, *parts, said=SAYS):
    measured = Measured(
        figures=figures,
        parts=tuple(
            MeasuredPart(name=f"part {number}", box_mm=BOX, figures=own)
            for number, own in enumerate(parts, 1)
        ),
        faults=(),
        assumptions=(),
        not_understood=(),
    )
    return [finding.found for finding in printed(said, measured, where="a.gcode")]


def test_what_is_printed_as_said_is_not_told():
    """Nor what the profile does not state, nor what was not measured."""
    assert told({"layer_mm": figure(0.2), "bed_c": figure(90.0)}, {"walls": figure(3)}) == []
    assert told({}) == []


@pytest.mark.parametrize(
    ("key", "prints", "status", "found"),
    [
        ("layer_mm", 0.204, Status.FIRM, None),
        ("layer_mm", 0.206, Status.FIRM, "layer_mm: says 0.2 mm, prints 0.206 mm"),
        ("walls", 2, Status.FIRM, "walls: says 3 walls, prints 2 walls"),
        ("walls", 2, Status.AT_LEAST, None),
        ("walls", 4, Status.AT_LEAST, "walls: says 3 walls, prints at least 4 walls"),
        ("walls", 2, Status.AMBIGUOUS, None),
        ("walls", None, Status.NOT_MEASURABLE, None),
        ("infill", 0.25, Status.FIRM, None),
        ("infill", 0.26, Status.FIRM, "infill: says 20 %, prints 26 %"),
        ("infill", 0.14, Status.FIRM, "infill: says 20 %, prints 14 %"),
        ("support", True, Status.FIRM, "support: says support off, prints support on"),
        ("support", True, Status.AMBIGUOUS, None),
        ("support", False, Status.FIRM, None),
    ],
)
def test_a_difference_is_told_where_it_is_beyond_doubt(key, prints, status, found):
    """Firm figures count; of a least value only that it is more."""
    assert told({key: figure(prints, status)}) == ([found] if found else [])


def test_parts_that_differ_are_named():
    """Those that print the same are told together."""
    parts = [{"walls": figure(count)} for count in (2, 3, 2, 5)]

    assert told({"walls": figure(2)}, *parts) == [
        "walls: says 3 walls, prints 2 walls in part 1 and part 3",
        "walls: says 3 walls, prints 5 walls in part 4",
    ]


def test_support_that_is_asked_for_and_not_needed_is_no_difference():
    """A part that stands on its own gets none."""
    says = Said(file="mine.ini", values={"support": True})

    assert told({"support": figure(value=False)}, said=says) == []
