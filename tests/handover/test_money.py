"""What plates cost and what must be bought, on plates made by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from math import ceil

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.handover.costs import plate_costs
from planner.handover.model import PlannedPlate
from planner.handover.shopping import shopping_of
from planner.handover.totals import totals_of
from planner.nest.model import Placement
from planner.schedule.model import Run, WeekendPlan


def plate(job, name, grams, *, colour="grey", hours=2.0):
    """Return a plate of one panel that every machine can print, the last one quickest."""
    count = len(job.machines)
    return PlannedPlate(
        id=name,
        kind="batch",
        printer=job.machines[0].printer,
        placements=(Placement(id="panel", x_mm=30, y_mm=30, rotation_deg=0),),
        fill=0.3,
        nozzle_mm=0.4,
        layer_mm=0.2,
        material="pla",
        colour=colour,
        grams=grams,
        seconds={m.name: 3600 * hours + count - k for k, m in enumerate(job.machines)},
        ranges_s={},
        stage=1,
        gate=(),
    )


def weekend(job, fed, left_g=()):
    """Return runs (plate, machine, spool) one after the other, and what the spools keep."""
    return WeekendPlan(
        runs=tuple(
            Run(
                plate=name,
                machine=machine,
                spool=spool,
                start=job.start + timedelta(hours=3 * k),
                end=job.start + timedelta(hours=3 * k + 2),
                hands_on_s=480,
                alone_s=0,
            )
            for k, (name, machine, spool) in enumerate(fed)
        ),
        visits=(),
        unscheduled=(),
        finish=None,
        lower_bound=None,
        bound_by="",
        spool_left_g=tuple(left_g),
    )


def shelf(job, *spools):
    """Return the job with grey and red spools of the given (name, colour, grams) only."""
    pla = next(s for s in job.spools if s.filament.material == "pla")
    return replace(
        job,
        spools=tuple(
            replace(pla, name=name, colour=colour, left_g=grams) for name, colour, grams in spools
        ),
    )


def priced(job):
    """Return the job with prices that are easy to multiply by head."""
    bench, *others = job.machines
    bench = replace(bench, measured_w=100.0, wear_per_hour=0.5)
    spools = tuple(replace(spool, price_per_kg=20.0) for spool in job.spools)
    return replace(
        job, machines=(bench, *others), spools=spools, electricity_per_kwh=0.4, currency="EUR"
    )


def test_a_plate_costs_filament_electricity_and_wear(job, parts):
    """By hand: 250 g at 20 per kg; 100 W for 2 h and a little at 0.4 per kWh; 0.5 an hour."""
    job = priced(job)
    plates = [plate(job, "P1", 250.0)]
    spool = job.spools[0].name

    (cost,) = plate_costs(job, parts, plates, weekend(job, [("P1", job.machines[0].name, spool)]))

    hours = 2 + len(job.machines) / 3600
    assert cost.filament == pytest.approx(5.0)
    assert cost.energy_kwh == pytest.approx(0.1 * hours)
    assert cost.electricity == pytest.approx(0.04 * hours)
    assert cost.wear == pytest.approx(0.5 * hours)
    assert cost.cost == pytest.approx(5.0 + 0.54 * hours)


def test_a_plate_without_a_run_costs_as_on_the_quickest_printer(job, parts):
    """It is in the totals too; what its printer wears off nobody said."""
    job = priced(job)
    plates = [plate(job, "P1", 250.0)]

    (cost,) = plate_costs(job, parts, plates, weekend(job, []))
    totals = totals_of(job, parts, plates, weekend(job, []))

    assert cost.seconds == 2 * 3600 + 1
    assert cost.wear == 0
    assert cost.filament == pytest.approx(5.0)  # as bought by the list: 20 per kg, as on the shelf
    assert totals.wear_unknown == (job.machines[-1].name,)


def test_totals_are_the_sums_of_the_plates(job, parts):
    """Every kind of cost, every plate, once."""
    job = priced(job)
    plates = [plate(job, f"P{n}", 50.0 * n, hours=n) for n in range(1, 6)]
    fed = [(p.id, job.machines[0].name, job.spools[0].name) for p in plates[:3]]
    made = weekend(job, fed)

    costs, totals = plate_costs(job, parts, plates, made), totals_of(job, parts, plates, made)

    assert [cost.plate for cost in costs] == [p.id for p in plates]
    assert totals.cost == pytest.approx(sum(cost.cost for cost in costs), rel=1e-12)
    assert totals.filament_cost == pytest.approx(sum(cost.filament for cost in costs))
    assert totals.energy_kwh == pytest.approx(sum(cost.energy_kwh for cost in costs))
    assert totals.wear_cost == pytest.approx(sum(cost.wear for cost in costs))
    assert totals.print_s == pytest.approx(sum(cost.seconds for cost in costs))


def test_nothing_is_bought_where_every_plate_is_fed(job, parts):
    """The line still says what is needed and what is there."""
    job = shelf(job, ("a", "grey", 500.0))
    plates = [plate(job, "P1", 200.0)]
    made = weekend(job, [("P1", job.machines[0].name, "a")], [("a", 300.0)])

    (line,) = shopping_of(job, parts, plates, made)

    assert (line.need_g, line.shelf_g, line.short_g) == (200, 500, 0)
    assert (line.spools, line.without_spool, line.cost) == (0, (), 0)


def test_what_is_short_in_sum_is_bought_in_whole_spools(job, parts):
    """Two plates of 400 g and 90 g on the shelf: 710 g short, one spool of 1000 g."""
    job = shelf(job, ("a", "grey", 90.0), ("b", "red", 5000.0))
    plates = [plate(job, "P1", 400.0), plate(job, "P2", 400.0)]

    (line,) = shopping_of(job, parts, plates, weekend(job, []))

    assert (line.shelf_g, line.short_g, line.spools) == (90, 710, 1)
    assert line.without_spool == ("P1", "P2")
    assert line.cost == pytest.approx(job.spools[0].price_per_kg)


def test_enough_in_sum_may_still_lack_a_spool_for_one_plate(job, parts):
    """Twice 150 g are 300 g, and yet no spool finishes a plate of 200 g."""
    job = shelf(job, ("a", "grey", 150.0), ("b", "grey", 150.0))

    (line,) = shopping_of(job, parts, [plate(job, "P1", 200.0)], weekend(job, []))

    assert line.short_g == 0
    assert (line.without_spool, line.spools) == (("P1",), 1)


def test_no_spool_on_the_shelf_counts_for_two_lines(job, parts):
    """Any colour will do for one plate, but the grey is needed for another."""
    job = shelf(job, ("a", "grey", 100.0), ("b", "red", 30.0))
    plates = [plate(job, "P1", 100.0), plate(job, "P2", 50.0, colour=None)]
    made = weekend(job, [("P1", job.machines[0].name, "a")], [("a", 0.0), ("b", 30.0)])

    free, grey = shopping_of(job, parts, plates, made)

    assert (grey.colour, grey.shelf_g, grey.spools) == ("grey", 100, 0)
    assert (free.colour, free.shelf_g, free.short_g, free.spools) == (None, 30, 20, 1)


def test_what_may_be_lacking_follows_the_upper_end(job, parts):
    """Enough for what is expected, not for what it may take."""
    panel = next(ready for ready in parts if ready.part.name == "panel")
    job = shelf(job, ("a", "grey", panel.grams))
    plates = [plate(job, "P1", panel.grams)]
    made = weekend(job, [("P1", job.machines[0].name, "a")], [("a", 0.0)])

    (line,) = shopping_of(job, parts, plates, made)

    assert line.need_range_g == panel.grams_range
    assert line.may_lack_g == pytest.approx(panel.grams_range[1] - panel.grams)


@given(
    grams=st.lists(st.floats(1, 900), min_size=1, max_size=30),
    on_shelf=st.lists(st.floats(0, 1000), max_size=5),
)
def test_spools_bought_are_enough_and_not_many_too_many(job, parts, grams, on_shelf):
    """Never fewer than the sum asks for; at most twice as many and one.

    Two new spools of which neither is half full could not both be open: first fit.
    """
    job = shelf(job, *((f"s{k}", "grey", each) for k, each in enumerate(on_shelf)))
    plates = [plate(job, f"P{k}", each) for k, each in enumerate(grams)]

    (line,) = shopping_of(job, parts, plates, weekend(job, []))

    short_g = sum(p.grams for p in plates if p.id in line.without_spool)
    assert line.spools >= ceil(short_g / job.new_spool_g - 1e-9)
    assert line.spools <= 2 * short_g / job.new_spool_g + 1
    assert line.spools * job.new_spool_g >= line.short_g - 1e-6
