"""Rules of a panel system: which fits where, what is refused, what is counted how."""

from __future__ import annotations

from math import ceil

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.errors import InputError
from planner.job.layout.model import Hung, PartRule
from planner.wall.count import count_walls, with_fixings
from planner.wall.model import Fixing
from tests.wall.plain import drawn, numbers, reasons, rectangle, sized, system, walls

PANEL = PartRule(part="panel", spot="cell")
LSHAPE = [(1, 1), (2, 1), (1, 2)]


def counted_by(*rules, shapes=None, extra=None):
    return count_walls(walls(*(shapes or [rectangle(3, 2)]), panels=system(*rules), extra=extra))


def test_cells_are_told_apart_by_their_open_sides():
    """Three by one: both ends open to three sides, the middle to two."""
    counted = counted_by(
        PartRule(part="left end", spot="cell", open_sides=("left", "top", "bottom")),
        PartRule(part="right end", spot="cell", open_sides=("right", "top", "bottom")),
        PartRule(part="middle", spot="cell", open_sides=("top", "bottom")),
        shapes=[rectangle(5, 1)],
    )

    assert numbers(counted) == {"left end": 1, "right end": 1, "middle": 3}
    assert reasons(counted)["middle"] == "3 cells open to the top and the bottom"


def test_cells_closed_all_round_are_a_kind_of_their_own():
    counted = counted_by(
        PANEL, PartRule(part="inlay", spot="cell", open_sides=()), shapes=[rectangle(5, 4)]
    )

    assert numbers(counted)["inlay"] == 3 * 2
    assert reasons(counted)["inlay"] == "6 cells closed all round"


def test_edges_are_told_apart_by_how_they_run():
    """Three by two: 2 x 2 upright shared edges, 3 level ones; the rim 4 upright, 6 level."""
    counted = counted_by(
        PANEL,
        PartRule(part="clip", spot="shared edge", along="upright", count=2),
        PartRule(part="key", spot="shared edge", along="level"),
        PartRule(part="side", spot="free edge", along="upright"),
        PartRule(part="sill", spot="free edge", along="level"),
    )

    assert numbers(counted) == {"panel": 6, "clip": 8, "key": 3, "side": 4, "sill": 6}
    assert reasons(counted)["clip"] == "4 upright shared edges x 2 = 8"
    assert reasons(counted)["sill"] == "6 level free edges"


@pytest.mark.parametrize(
    ("shape", "reason"),
    [
        ("outer corner", "5 outer corners"),
        ("straight", "2 straight junctions"),
        ("inner corner", "1 inner corner"),
    ],
)
def test_junctions_are_told_apart_by_shape(shape, reason):
    counted = counted_by(
        PANEL,
        PartRule(part="foot", spot="junction"),
        PartRule(part="special", spot="junction", shape=shape),
        shapes=[drawn(LSHAPE)],
    )

    assert reasons(counted)["special"] == reason


def test_a_part_of_several_rules_is_added_up():
    """A screw per standoff, two at corners: the reasons stand side by side."""
    counted = counted_by(
        PANEL,
        PartRule(part="screw", spot="junction", bought=True),
        PartRule(part="screw", spot="junction", shape="outer corner", count=2, bought=True),
        extra={"screw": 5},
    )
    screw = next(each for each in counted.counts if each.part == "screw")

    assert screw.count == 12 + 8 + 5
    assert screw.bought
    assert screw.because == (
        "12 junctions (4 outer corners, 6 straight, 2 middle) + 4 outer corners x 2 = 8"
        " + 5 listed as extra"
    )


def test_none_needs_nothing_but_covers_its_place():
    counted = counted_by(
        PANEL,
        PartRule(part="foot", spot="junction", shape="outer corner"),
        PartRule(part=None, spot="junction"),
    )

    assert numbers(counted) == {"panel": 6, "foot": 4}


@given(
    cells=st.lists(st.integers(1, 20), min_size=1, max_size=4),
    every=st.integers(1, 9),
    count=st.integers(1, 3),
)
def test_one_for_every_few_cells_is_rounded_up_on_each_wall(cells, every, count):
    shapes = [rectangle(n, 1, name=f"wall {k}") for k, n in enumerate(cells)]
    counted = counted_by(
        PANEL, PartRule(part="label", spot="cells", every=every, count=count), shapes=shapes
    )

    assert numbers(counted)["label"] == count * sum(ceil(n / every) for n in cells)


@pytest.mark.parametrize(
    ("rules", "shape", "words"),
    [
        (
            [PartRule(part="foot", spot="junction", shape="outer corner")],
            rectangle(1, 2),
            "the junction left of column 1, above row 1 (straight: 2 panels)",
        ),
        (
            [PartRule(part="key", spot="shared edge", along="level")],
            rectangle(2, 2),
            "the edge between the cells in column 1, row 1 and column 2, row 1 (upright)",
        ),
        (
            [PartRule(part="trim", spot="free edge", along="upright")],
            drawn(LSHAPE),
            "the bottom edge of the cell in column 1, row 1, which is free (level)",
        ),
        (
            [PartRule(part="end", spot="cell", open_sides=("top",))],
            rectangle(2, 1),
            "",
        ),
    ],
)
def test_a_place_without_a_rule_is_refused_by_cell(rules, shape, words):
    """One sentence: the first such place, the wall, and the rule to add."""
    if not words:  # the panel's rule covers every cell
        assert counted_by(PANEL, *rules, shapes=[shape]).counts
        return
    with pytest.raises(InputError) as refusal:
        counted_by(PANEL, *rules, shapes=[shape])

    text = str(refusal.value)
    assert text.count("\n") == 0
    assert words in text
    assert "'north'" in text
    assert text.startswith("system.yaml:1: rules: found no part for ")
    assert "or part: none" in text


def test_a_cell_without_a_rule_is_refused_by_its_open_sides():
    rules = [PartRule(part="end", spot="cell", open_sides=("left", "top", "bottom"))]
    with pytest.raises(InputError) as refusal:
        counted_by(*rules, shapes=[rectangle(2, 1)])

    assert "column 2, row 1 (open to the right, the top and the bottom)" in str(refusal.value)
    assert "open_sides: [right, top, bottom]" in str(refusal.value)


def test_a_rule_that_several_walls_lack_is_asked_for_once():
    shapes = [rectangle(2, 2, name=f"wall {n}") for n in range(10)]
    with pytest.raises(InputError) as refusal:
        counted_by(
            PANEL, PartRule(part="foot", spot="junction", shape="outer corner"), shapes=shapes
        )

    assert len(refusal.value.problems) == 2  # straight and middle


def test_what_hangs_counts_and_has_its_cell():
    """Three hooks in two places, and a box that is only listed."""
    shape = rectangle(3, 2, hung=(
        Hung(thing="hook", cell=(1, 1)),
        Hung(thing="hook", cell=(3, 2), count=2),
    ))  # fmt: skip
    counted = counted_by(PANEL, shapes=[shape], extra={"box": 4})
    placed = [p for p in counted.panellings[0].placed if p.hung]

    assert numbers(counted) == {"panel": 6, "hook": 3, "box": 4}
    assert reasons(counted)["hook"] == "3 hung in 2 places"
    assert [(p.part, p.cell, p.x_mm, p.y_mm) for p in placed] == [
        ("hook", (1, 1), 50, 50),
        ("hook", (3, 2), 250, 150),
        ("hook", (3, 2), 250, 150),
    ]


def test_what_hangs_where_no_cell_is_is_refused():
    """The cell behind the window, though the wall has such a column and row."""
    shape = sized(300, 200, (210, 10, 80, 80), hung=(Hung(thing="hook", cell=(3, 1)),))
    with pytest.raises(InputError, match="'hook' on column 3, row 1, where the wall 'north'"):
        counted_by(PANEL, shapes=[shape])


def test_two_things_on_one_cell_are_remarked_on():
    hung = (Hung(thing="hook", cell=(1, 1)), Hung(thing="bin", cell=(1, 1)))
    counted = counted_by(PANEL, shapes=[rectangle(3, 2, hung=hung)])

    assert counted.remarks == (
        "the wall 'north' has several things on column 1, row 1 (hook, bin): check that they fit",
    )


def test_a_cell_drawn_behind_a_cut_out_is_remarked_on():
    cut = sized(300, 200, (210, 110, 80, 80)).cut_outs
    cells = [(c, r) for c in (1, 2, 3) for r in (1, 2)]
    counted = counted_by(PANEL, shapes=[drawn(cells, cut_outs=cut)])

    assert numbers(counted) == {"panel": 5}
    assert "no cell where one is drawn and a cut-out lies: column 3, row 2" in counted.remarks[0]


def test_parts_at_screws_come_with_the_screws():
    """Two screws on one wall, one on another, two washers each."""
    shapes = [rectangle(2, 1, name="north"), rectangle(1, 1, name="south")]
    counted = counted_by(
        PANEL, PartRule(part="washer", spot="fixing", count=2, bought=True), shapes=shapes
    )
    screws = [
        Fixing(wall=name, x_mm=x, y_mm=0.0, column=0, row=0)
        for name, x in (("north", 0.0), ("north", 200.0), ("south", 0.0))
    ]
    mounted = with_fixings(counted, screws)

    assert "washer" not in numbers(counted)
    assert numbers(mounted) == {"panel": 3, "washer": 6}
    assert reasons(mounted)["washer"] == "3 fixings x 2 = 6"
    assert [sum(p.part == "washer" for p in each.placed) for each in mounted.panellings] == [4, 2]


def test_a_wall_that_its_window_fills_is_refused():
    with pytest.raises(InputError) as refusal:
        counted_by(PANEL, shapes=[sized(300, 200, (50, 50, 200, 100), where="wall.yaml:7")])

    assert str(refusal.value).startswith("wall.yaml:7: found the wall 'north' without a cell")
