"""Plates made for the hours: nothing lost, everything fits, no wish forgotten, never worse."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from datetime import timedelta
from functools import partial
from random import Random

import pytest

from planner.handover.beds import bare_bed
from planner.handover.groups import bed_key, group_parts
from planner.handover.hours.choose import (
    FULL,
    RECIPES,
    badness,
    plates_for_the_hours,
)
from planner.handover.hours.climb import Climb
from planner.handover.hours.draft import Draft
from planner.handover.hours.made import plates_of
from planner.handover.hours.shop import Sheet, shop_of
from planner.handover.items import item_of
from planner.handover.model import HoursWon
from planner.handover.plates import BATCH, make_plates
from planner.handover.weekend import weekend_of
from planner.handover.workers import hire
from planner.job.model import PartPin, Plating, Window
from planner.nest.model import PackedPlate, Packing, Pin, Wishes
from planner.nest.verify import verify
from planner.schedule.check import check
from planner.schedule.solve import plan_weekend
from planner.settings.model import Head

HEAD = Head(left_mm=20, right_mm=30, front_mm=25, back_mm=25, tip_mm=4, gantry_mm=40)
WORK = 12_000


def named(parts, *names):
    return [replace(r, part=replace(r.part, mating=False)) for r in parts if r.part.name in names]


@pytest.fixture(scope="module")
def chosen(job, parts):
    return plates_for_the_hours(job, parts, seconds=0.1, seed=0)


def climbed(job, parts, *, work=WORK, seed=0):
    """Return plates by recipe, the search from them and the plates that it found."""
    base = make_plates(job, parts, seconds=0.1)
    weekend = plan_weekend(weekend_of(job, base.plates), effort=1)
    shop = shop_of(job, parts, base.plates, weekend)
    climb = Climb(shop, seed=seed)
    begun = climb.best
    best = climb.run(work)
    made, runs = plates_of(shop, climb.fitting, best, base)
    return base, begun, climb, made, runs


def laid(plates):
    return sum((Counter(plate.counts) for plate in plates), Counter())


def wrong(job, parts, plate, wishes=None):
    """Return what the exact check finds on one plate, by the bed that it was made for."""
    by_name = {ready.part.name: ready for ready in parts}
    items = [
        item_of(by_name[name], quantity=count, seconds=0) for name, count in plate.counts.items()
    ]
    packed = PackedPlate(bed="bed", placements=plate.placements, fill=plate.fill)
    packing = Packing(plates=(packed,), unplaced=(), lower_bound=0, bound_by="")
    bed = bare_bed("bed", plate.printer)
    return verify(packing, items, [bed], job.clearance_mm, job.edge_mm, wishes=wishes or Wishes())


def test_every_copy_is_printed_once_and_lies_within_its_bed(job, parts, chosen):
    """Validation by shapely: clearance, margin, keep-outs, on every plate that was chosen."""
    total = laid(chosen.plates.plates)
    for name, count, _ in chosen.plates.left_out:
        total[name] += count

    assert total == Counter({ready.part.name: ready.need.to_print for ready in parts})
    assert [
        wrong(job, parts, plate) for plate in chosen.plates.plates if wrong(job, parts, plate)
    ] == []


def test_the_weekend_keeps_the_rules(job, chosen):
    """By the checker, which knows nothing of the search."""
    assert check(weekend_of(job, chosen.plates.plates), chosen.weekend) == ()


def test_the_choice_is_no_worse_than_any_recipe(job, chosen):
    """The recipes come first in what was tried, full plates before the others."""
    rate = partial(badness, job)

    own = rate(chosen.plates, chosen.weekend)

    assert len(chosen.tried) > len(RECIPES)
    assert all(own <= rate(*each) for each in chosen.tried)
    full_s = min(rate(*each) for each in chosen.tried[:FULL])
    assert chosen.hours.full_missing <= full_s[0]
    assert chosen.hours.finish == chosen.weekend.finish
    assert chosen.hours.plates == len(chosen.plates.plates)


def test_other_processes_change_nothing(job, parts):
    """Two of them give what one gives, plate by plate."""
    some = named(parts, "panel_half", "rail", "bin_small")
    alone = plates_for_the_hours(job, some, seconds=0.1, seed=3)

    with hire(2) as workers:
        shared = plates_for_the_hours(job, some, seconds=0.1, seed=3, workers=workers)

    assert shared.plates == alone.plates
    assert shared.weekend == alone.weekend
    assert shared.hours == alone.hours


def test_another_judge_is_obeyed(job, parts):
    """One that wants as many plates as can be gets the most that any recipe made."""
    some = named(parts, "panel_half", "rail", "standoff")

    chosen = plates_for_the_hours(
        job, some, seconds=0.1, seed=0, judge=lambda plates, _: (-len(plates.plates),)
    )

    assert len(chosen.plates.plates) == max(len(plates.plates) for plates, _ in chosen.tried)


def test_a_night_is_printed_through(job, parts):
    """One printer, 14 bins, at most seven on a plate: three plates end before two full ones.

    A full plate takes 11 h: the first ends at 5:10, nobody is there before 8:00 on Saturday,
    and the second ends at 19:10. Two bins end on Friday before 23:00, seven by 8:40, when
    somebody is there, and the last five by 16:50.
    """
    bins = next(ready for ready in parts if ready.part.name == "bin_small")
    machine = replace(
        next(m for m in job.machines if m.printer.name.startswith("enclosed_300")), unattended=True
    )
    assert 1.5 < bins.times[machine.printer.name].middle_s / 3600 < 1.53
    bins = replace(bins, need=replace(bins.need, to_print=14))
    hours = [
        Window(who="a", start=job.start + timedelta(hours=a), end=job.start + timedelta(hours=b))
        for a, b in ((0, 5), (14, 18), (20, 29))
    ]
    own = replace(
        job,
        machines=(machine,),
        attendance=tuple(hours),
        deadline=None,
        spools=tuple(replace(spool, left_g=5000.0) for spool in job.spools),
        plating=Plating(parts_max=7),
    )

    chosen = plates_for_the_hours(own, [bins], seconds=0.2, seed=0)

    end_h = (chosen.weekend.finish - own.start).total_seconds() / 3600
    assert chosen.hours.missing == 0
    assert end_h < 22.8
    assert chosen.hours.full_plates == 2
    assert chosen.hours.won_s > 2 * 3600


def test_what_is_won_is_compared_only_where_the_same_copies_are_printed(job):
    """Otherwise the earlier finish may come from what was left out."""
    late = job.start + timedelta(hours=30)
    same = HoursWon(
        full_plates=4,
        full_finish=late,
        full_missing=0,
        plates=5,
        finish=late - timedelta(hours=3),
        missing=0,
    )

    assert same.won_s == 3 * 3600
    assert replace(same, full_missing=2).won_s is None
    assert replace(same, full_finish=None).won_s is None


# ------------------------------------------------------------------ the search over both


def test_the_search_loses_nothing_and_is_never_worse_than_its_start(job, parts):
    """Copies of the batch stay the same; first articles are left alone; times are exact."""
    base, begun, climb, made, runs = climbed(job, parts)

    assert climb.best.worth <= begun.worth
    assert laid(made.plates) == laid(base.plates)
    firsts = [plate for plate in base.plates if plate.kind != BATCH]
    assert [plate for plate in made.plates if plate.kind != BATCH] == firsts
    without = {plate.id for plate in made.plates} - {plate for plate, _ in runs}
    left = sum(len(plate.placements) for plate in made.plates if plate.id in without)
    assert left == climb.best.missing
    for sheet, number in zip(climb.best.draft.sheets, range(99), strict=False):
        printer = climb.shop.beds[sheet.group][sheet.bed].printer
        names = [r.part.name for r in climb.shop.groups[sheet.group].parts]
        counts = {n: c for n, c in zip(names, sheet.counts, strict=True) if c}
        plate = next(
            p
            for p in made.plates
            if p.counts == counts and p.printer == printer and p.kind == BATCH
        )
        on = next(m.name for m in job.machines if m.printer == printer)
        assert climb.lasting.seconds(sheet) == pytest.approx(plate.seconds[on], abs=1e-6), number


def test_the_search_places_plates_as_the_weekend_would(job, parts):
    """Rebuild and compare: the kept pieces of the problem are those of a new one."""
    job = replace(job, deadline=None)
    _, _, climb, made, runs = climbed(job, parts)
    own_bed = [
        replace(
            plate,
            seconds={
                m.name: plate.seconds[m.name]
                for m in job.machines
                if plate.kind != BATCH or m.printer == plate.printer
                if m.name in plate.seconds
            },
        )
        for plate in made.plates
    ]
    problem = replace(weekend_of(job, own_bed), sets=(), sets_lost=())

    plan = plan_weekend(problem, effort=1, first=runs)

    finish_s = (plan.finish - job.start).total_seconds()
    assert climb.best.missing == 0
    assert plan.unscheduled == ()
    assert finish_s <= climb.best.finish_s
    again = climb.rater.rate(climb.best.draft)
    climb.rater.forget()
    assert climb.rater.rate(climb.best.draft) == again == climb.best


def test_estimates_are_close_to_packed_plates(job, parts):
    """Within two hundredths, which is why the search may go by them."""
    _, _, climb, _, _ = climbed(job, parts, work=0)
    for sheet in climb.best.draft.sheets:
        exact = climb.lasting.seconds(sheet)
        assert climb.lasting.is_exact(sheet)
        assert climb.lasting._estimate(sheet) == pytest.approx(exact, rel=0.02)


def test_changes_keep_every_copy_and_a_whole_order(job, parts):
    """Whatever is drawn, one change after the other, fitting or not."""
    _, _, climb, _, _ = climbed(job, parts, work=0)
    rated = climb.best

    def copies(draft):
        total = Counter()
        for sheet in draft.sheets:
            total.update({(sheet.group, at): c for at, c in enumerate(sheet.counts)})
        return +total

    wanted, drawn, seen = copies(rated.draft), 0, 0
    for number in range(600):
        draft = climb.moves.draw(rated) if number % 2 else climb.moves.join_any(rated)
        if draft is None:
            continue
        drawn += 1
        assert copies(draft) == wanted
        assert sorted(draft.order) == list(range(len(draft.sheets)))
        assert all(min(sheet.counts) >= 0 and any(sheet.counts) for sheet in draft.sheets)
        seen += draft.sheets != rated.draft.sheets
        if drawn % 5 == 0:
            rated = climb.rater.rate(draft)
    assert drawn > 200
    assert seen > 100


def test_a_part_of_what_fitted_fits_as_it_lay(job, parts):
    """Validation by shapely: a plate stays in order when copies are taken off it."""
    _, _, climb, _, _ = climbed(job, parts, work=0)
    random = Random(1)
    checked = 0
    for sheet in climb.best.draft.sheets[:6]:
        fewer = replace(sheet, counts=tuple(random.randint(0, count) for count in sheet.counts))
        if not any(fewer.counts):
            continue
        ground = climb.fitting._ground(sheet)
        whole = climb.fitting.packed(sheet)

        less = ground.lessened(whole, fewer.counts)

        assert climb.fitting.holds(fewer)
        assert set(less.placements) <= set(whole.placements)
        assert less.fill <= whole.fill
        names = [r.part.name for r in climb.shop.groups[sheet.group].parts]
        wanted = {n: c for n, c in zip(names, fewer.counts, strict=True) if c}
        assert Counter(p.id for p in less.placements) == wanted
        checked += 1
    assert checked > 2


def test_what_is_larger_than_a_bed_is_judged_so(job, parts):
    """A hundred panels fit no bed; limits count as well."""
    _, _, climb, _, _ = climbed(job, named(parts, "panel", "key"), work=0)
    sheet = climb.best.draft.sheets[0]
    names = [r.part.name for r in climb.shop.groups[sheet.group].parts]
    many = tuple(100 if name == "panel" else 0 for name in names)

    assert not climb.fitting.holds(Sheet(group=sheet.group, bed=sheet.bed, counts=many))


# ------------------------------------------------------------------ wishes in the search


def test_the_search_keeps_limits_of_a_plate(job, parts):
    """Parts and hours per plate, heating included."""
    some = named(parts, "panel", "key", "standoff", "rail")
    asked = replace(job, plating=Plating(parts_max=9, seconds_max=4 * 3600.0))

    _, begun, climb, made, _ = climbed(asked, some)

    assert climb.best.worth < begun.worth  # it did change something
    for plate in made.plates:
        own = [m.name for m in job.machines if m.printer == plate.printer]
        assert len(plate.placements) <= 9
        assert all(plate.seconds[name] <= 4 * 3600.0 for name in own)


def test_the_search_keeps_parts_apart(job, parts):
    """Though sharing plates would save some."""
    some = named(parts, "trim_edge", "bin_small", "label_plate", "cap")
    asked = replace(job, plating=Plating(apart=(("trim_edge", "bin_small"),)))

    _, _, _, made, _ = climbed(asked, some)

    assert all(not {"trim_edge", "bin_small"} <= set(plate.counts) for plate in made.plates)


def test_the_search_keeps_parts_together(job, parts):
    """All copies of both on one plate, before and after."""
    some = named(parts, "trim_corner", "bin_small", "label_plate", "trim_edge")
    asked = replace(job, plating=Plating(together=(("trim_corner", "bin_small"),)))

    _, _, climb, made, _ = climbed(asked, some)

    homes = [plate for plate in made.plates if {"trim_corner", "bin_small"} & set(plate.counts)]
    assert len(homes) == 1
    assert any(sheet.tied >= 0 for sheet in climb.best.draft.sheets)
    assert wrong(asked, some, homes[0]) == ()


def test_the_search_leaves_pins_where_they_are(job, parts):
    """A pinned copy keeps its place, turn and kind of bed."""
    some = named(parts, "panel", "rail", "standoff")
    machine = next(m for m in job.machines if m.printer.name.startswith("enclosed_300"))
    pin = PartPin(plate=1, machine=machine.name, part="panel", x_mm=150, y_mm=150, rotation_deg=90)
    asked = replace(job, plating=Plating(pins=(pin,)))

    _, _, climb, made, _ = climbed(asked, some)

    held = [
        plate
        for plate in made.plates
        for place in plate.placements
        if (place.id, place.x_mm, place.y_mm, place.rotation_deg) == ("panel", 150, 150, 90)
    ]
    assert len(held) == 1
    assert bed_key(held[0].printer) == bed_key(machine.printer)
    assert any(sheet.tied >= 0 for sheet in climb.best.draft.sheets)
    wishes = Wishes(
        pins=(Pin(plate=1, bed="bed", id="panel", x_mm=150, y_mm=150, rotation_deg=90),)
    )
    assert wrong(asked, some, held[0], wishes) == ()


def test_the_search_prints_one_by_one_in_order(job, parts):
    """Orders are whole, and the head touches nothing that is finished."""
    machines = tuple(
        replace(
            m,
            printer=replace(
                m.printer, name=f"{m.printer.name} in turn", head=HEAD, one_by_one=True
            ),
        )
        for m in job.machines
    )
    turned = replace(job, machines=machines)
    some = [
        replace(r, times={f"{name} in turn": time for name, time in r.times.items()})
        for r in named(parts, "standoff", "key", "panel_half")
    ]

    _, _, _, made, _ = climbed(turned, some)

    for plate in made.plates:
        orders = [place.order for place in plate.placements]
        assert orders == list(range(1, len(orders) + 1))
        assert wrong(turned, some, plate) == ()


def test_a_weekend_without_plates_is_no_trouble(job):
    """Everything may be in stock."""
    chosen = plates_for_the_hours(job, [], seconds=0.1, seed=0)

    assert chosen.plates.plates == ()
    assert chosen.hours.won_s is None


def test_groups_never_mix(job, parts):
    """A plate holds parts of one group, whatever the search moved."""
    groups = [{r.part.name for r in group.parts} for group in group_parts(job, parts)]
    _, _, climb, made, _ = climbed(job, parts)

    assert all(any(set(plate.counts) <= own for own in groups) for plate in made.plates)
    assert isinstance(climb.best.draft, Draft)
