"""What a job puts a value on, as sets of plates."""

from __future__ import annotations

from dataclasses import dataclass, replace
from types import SimpleNamespace

import pytest

from planner.handover.findings import plan_findings
from planner.handover.plates import PlateSet, make_plates
from planner.handover.sets import sets_of, value_done, with_lost
from planner.handover.weekend import weekend_of
from planner.job.model import Assembly
from planner.schedule.model import WeekendPlan


@dataclass
class Plate:
    """As much of a plate as sets ask for."""

    id: str
    parts: tuple[str, ...]

    @property
    def placements(self):
        """Return one copy of each of its parts."""
        return [SimpleNamespace(id=part) for part in self.parts]


def assembly(name, contains, value=None):
    """Return an assembly of which one is wanted."""
    return Assembly(name=name, quantity=1, stock=0, contains=contains, where="", value=value)


def job_of(assemblies, values=None):
    """Return as much of a job as sets ask for."""
    parts = [SimpleNamespace(name=name, value=value) for name, value in (values or {}).items()]
    return SimpleNamespace(
        parts={part.name: part for part in parts},
        assemblies={each.name: each for each in assemblies},
    )


PLATES = [Plate("P1", ("panel", "key")), Plate("P2", ("rail",)), Plate("P3", ("hook",))]


def test_an_assembly_needs_the_plates_with_its_parts_and_those_of_what_it_contains():
    """The wall contains bays, which contain panels."""
    job = job_of([assembly("wall", {"bay": 2, "rail": 1}, 7.0), assembly("bay", {"panel": 3})])
    sets = sets_of(job, PLATES, ())

    assert sets.values == (("wall", 7.0),)
    assert sets.of_plate == {"P1": ("wall",), "P2": ("wall",), "P3": ()}


def test_a_part_may_have_a_value_of_its_own():
    """And its plate may belong to two sets."""
    job = job_of([assembly("bay", {"panel": 3}, 2.0)], {"key": 1.0, "panel": None, "hook": 0.0})
    sets = sets_of(job, PLATES, ())

    assert sets.values == (("key", 1.0), ("bay", 2.0))
    assert sets.of_plate["P1"] == ("key", "bay")


def test_what_is_in_stock_needs_no_plate_and_is_no_set():
    """Nothing of it is printed."""
    job = job_of([assembly("shelf", {"board": 2}, 2.0)])

    assert sets_of(job, PLATES, ()).values == ()


def test_a_set_with_a_copy_on_no_plate_is_lost():
    """It is worth nothing, so its other plates are not hurried."""
    job = job_of([assembly("bay", {"panel": 3, "rail": 1}, 2.0)])
    sets = sets_of(job, PLATES, [("rail", 1, "too long for every bed")])

    assert sets.values == ()
    assert sets.lost == (("bay", "1 of rail on no plate"),)
    assert sets.of_plate["P1"] == ()


def test_what_is_left_out_later_loses_sets_too():
    """Complete to the schedule, which knew of its plates only."""
    job = job_of([assembly("bay", {"panel": 3, "rail": 1}, 2.0), assembly("box", {"key": 1}, 1.0)])
    weekend = WeekendPlan(
        runs=(),
        visits=(),
        unscheduled=(),
        finish=None,
        lower_bound=None,
        bound_by="",
        spool_left_g=(),
        sets_done=("bay", "box"),
        sets_missed=(("shelf", "P9 ends late"),),
    )
    told = with_lost(job, weekend, [("rail", 1, "it cannot be laid in layers")])

    assert told.sets_done == ("box",)
    assert told.sets_missed == (("shelf", "P9 ends late"), ("bay", "1 of rail on no plate"))
    assert with_lost(job, weekend, ()) == weekend


def test_the_weekend_of_a_job_carries_its_rests_and_sets(job):
    """From the machines, spools and values of the job."""
    machines = tuple(replace(m, cool_down_s=60.0, changes_over=True) for m in job.machines)
    spools = tuple(replace(spool, drying_s=3600.0) for spool in job.spools)
    weekend = weekend_of(replace(job, machines=machines, spools=spools), [])

    assert all(slot.cool_down_s == 60 and slot.changes_over for slot in weekend.machines)
    assert all(spool.drying_s == 3600 for spool in weekend.spools)
    assert weekend.sets == weekend.sets_lost == ()


def test_the_value_of_what_is_complete_is_added_up():
    """Of parts and assemblies alike; what has none counts nothing."""
    job = job_of([assembly("bay", {"panel": 3}, 2.0)], {"key": 1.0, "panel": None})
    done = SimpleNamespace(sets_done=("bay", "key"))

    assert value_done(job, done) == 3.0
    assert value_done(job, SimpleNamespace(sets_done=())) == 0


def test_findings_tell_plates_that_stay_errands_and_sets_that_are_missed(job):
    """Each under a rule of its own."""
    weekend = WeekendPlan(
        runs=(),
        visits=(),
        unscheduled=(),
        finish=None,
        lower_bound=None,
        bound_by="",
        spool_left_g=(),
        remarks=("P1 stays on bench: it ends late", "put grey 1 to dry at noon"),
        sets_done=("wall",),
        sets_missed=(("bay", "P2 without a place"),),
    )
    plates = PlateSet(plates=(Plate("P1", ()), Plate("P2", ())), bounds=(), left_out=())

    found = plan_findings(job, plates, weekend, ())

    assert [(finding.rule, finding.found) for finding in found] == [
        ("not complete", "bay: P2 without a place"),
        ("plate stays on", "P1 stays on bench: it ends late"),
        ("to be seen to", "put grey 1 to dry at noon"),
    ]


def test_plates_for_which_the_same_is_missing_are_told_of_once(job):
    """Reasons that differ in their numbers only make one finding; another reason its own."""
    lacking = "{} g of pla are missing: it needs {} g"
    weekend = WeekendPlan(
        runs=(),
        visits=(),
        unscheduled=(
            ("P1", lacking.format("12.5", "40")),
            ("P2", lacking.format("9", "30")),
            ("P3", "nobody is there long enough"),
        ),
        finish=None,
        lower_bound=None,
        bound_by="",
        spool_left_g=(),
    )
    plates = tuple(
        SimpleNamespace(id=name, counts=counts)
        for name, counts in (
            ("P1", {"panel": 2}),
            ("P2", {"panel": 1, "key": 3}),
            ("P3", {"rail": 1}),
        )
    )

    found = plan_findings(job, PlateSet(plates=plates, bounds=(), left_out=()), weekend, ())

    assert [finding.found for finding in found] == [
        (
            "2 plates, P1 and P2 (3 panel, 3 key): for P1 12.5 g of pla are missing: it needs "
            "40 g; likewise for the others"
        ),
        "plate P3 (1 rail): nobody is there long enough",
    ]


def test_cooling_is_part_of_the_time_until_a_plate_is_free(job, parts):
    """The same plates with 600 s of cooling last 600 s longer, and so do both ends of the range."""
    warm = replace(job, machines=tuple(replace(m, cool_down_s=600.0) for m in job.machines))
    one, two = (make_plates(each, parts[:2], seconds=0.1).plates for each in (job, warm))

    assert [plate.placements for plate in one] == [plate.placements for plate in two]
    for plain, cooled in zip(one, two, strict=True):
        for machine, seconds in plain.seconds.items():
            assert cooled.seconds[machine] == pytest.approx(seconds + 600)
            ends = [end + 600 for end in plain.ranges_s[machine]]
            assert cooled.ranges_s[machine] == pytest.approx(ends)
