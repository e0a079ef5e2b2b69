"""What stands below a comparison of changes."""

from planner.report.whatif import remarks
from planner.whatif.model import Row, WhatIf


def told(*rows):
    """Return all that is said below a comparison of some rows."""
    found = WhatIf(
        name="flat", time_zone="UTC", currency="EUR", deadline=None, seconds=1.0, rows=rows
    )
    return " ".join(remarks(found))


def test_a_hole_in_the_comparison_is_explained_where_there_is_one():
    """Columns that are not shown need no words."""
    whole, lacking = Row(name="as it is", odds=0.9), Row(name="coarse", left_out=3, stops=1)

    assert "Left out: copies with no place in the plan." in told(whole, lacking)
    assert "Left out" not in told(whole)
