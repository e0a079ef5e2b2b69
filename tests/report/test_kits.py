"""Kits in words: what each waits for that those before it did not."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from planner.handover.kits import KitReady
from planner.report.kits import bag_words, ready_words, waits
from planner.wall.order.model import Kit

KIT = Kit(
    number=1,
    name="course 1",
    wall="north",
    cells=((1, 1),),
    parts=(("key", 2), ("panel", 3)),
    screws=4,
)


def ready(*plates, at=datetime(2026, 11, 28, 14, 10, tzinfo=UTC), missing=()):
    """Return a kit that waits for some plates."""
    return KitReady(kit=KIT, plates=plates, at=at, missing=missing)


def test_only_new_plates_are_named():
    """A plate that an earlier kit waited for is not told again; many are counted."""
    assert waits(ready("P1", "P2"), ("P1",)) == "P2"
    assert waits(ready(*(f"P{n}" for n in range(9))), ()).endswith("P5 and 3 plates more")
    seven = ready(*(f"P{n}" for n in range(7)))
    assert waits(seven, ()).endswith("P5, P6")  # no longer than to count the one


def test_a_kit_whose_plate_nobody_takes_off_waits_on_the_printer():
    """Complete at 14:10, while the last plate was taken off at 14:00, or at 14:10."""
    off = datetime(2026, 11, 28, 14, 0, tzinfo=UTC)

    assert ready_words(ready("P1"), UTC, off) == "Sat 14:10, on the printer"
    assert ready_words(ready("P1"), UTC, off + timedelta(minutes=10)) == "Sat 14:10"


def test_what_is_missing_is_counted():
    """A kit without its panels says so, in place of a time."""
    kit = ready(at=None, missing=(("panel", 2),))

    assert waits(kit, ()) == "missing so far: 2 panel"
    assert ready_words(kit, UTC) == "not in this plan"


def test_a_bag_lists_parts_and_screws():
    """Whoever packs it counts from the page."""
    assert bag_words(ready()) == "2 key, 3 panel, 4 screws"
