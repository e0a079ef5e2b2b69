"""What one stage's result becomes for the next: groups, beds, shares, footprints, sums."""

from __future__ import annotations

import math
import pickle
from collections import Counter
from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from planner.errors import InputError, Problem
from planner.handover.beds import presence, rosters
from planner.handover.estimates import Estimate, direction, totals_of_estimates
from planner.handover.findings import audit_parts
from planner.handover.groups import bed_key, group_parts
from planner.handover.parts import machines_for, prepare_parts, ready_parts
from planner.handover.plates import Recipe, make_plates
from planner.handover.seconds import seconds_on_machines
from planner.handover.share import fits, share_out
from planner.handover.workers import hire
from planner.job.demand import needs
from planner.nest.model import PackedPlate, Placement
from planner.settings.model import Bead

HOUR_S = 3600.0


def test_parts_of_a_group_share_what_a_plate_must_share(job, parts):
    """One nozzle, layer, heat, material and colour per group; every part in one group."""
    groups = group_parts(job, parts)
    for group in groups:
        keys = {
            (
                r.part.settings.nozzle_mm,
                r.part.settings.layer_mm,
                r.part.settings.nozzle_c,
                r.part.settings.bed_c,
                r.part.settings.material,
                r.part.colour,
            )
            for r in group.parts
        }
        assert len(keys) == 1

    assert sorted(r.part.name for g in groups for r in g.parts) == sorted(
        r.part.name for r in parts
    )
    assert len({group.name for group in groups}) == len(groups)


def test_a_part_that_needs_another_nozzle_finds_no_machine(job, parts):
    """A 0.6 mm part is in a group without machines, not on the wrong printer."""
    settings = replace(parts[0].part.settings, nozzle_mm=0.6)
    odd = replace(parts[0], part=replace(parts[0].part, settings=settings))

    assert machines_for(job, odd.part) == ()
    made = make_plates(job, [odd], seconds=0.1)
    assert made.plates == ()
    assert sum(count for _, count, _ in made.left_out) == odd.need.to_print


def test_overlapping_windows_are_one_presence(job):
    """Two people there from 18 to 20 and 19 to 22 make one stretch of four hours."""
    first = replace(job.attendance[0], start=job.start, end=job.start + timedelta(hours=2))
    second = replace(
        first, start=job.start + timedelta(hours=1), end=job.start + timedelta(hours=4)
    )
    early = replace(first, start=job.start - timedelta(hours=9), end=job.start - timedelta(hours=8))

    got = presence(replace(job, attendance=(second, first, early)))

    assert got == ((0.0, 4 * HOUR_S),)


def test_a_watched_printer_gets_no_plate_longer_than_a_sitting(job, parts):
    """Its limit is the longest stretch of presence less hands, start-up and cooling."""
    group = group_parts(job, parts)[0]
    watched = next(m for m in job.machines if not m.unattended)
    roster = rosters(job, group, cap_s=math.inf)
    key = next(key for key in roster if key.startswith("open_frame_220"))

    longest = max(end - begin for begin, end in presence(job))
    printer = watched.printer
    expected = longest - 2 * job.hands_on_s - printer.start_s - printer.end_s
    assert roster[key].limit_s == pytest.approx(expected)
    assert rosters(job, group, cap_s=HOUR_S)[key].limit_s == HOUR_S


@pytest.mark.parametrize("cost_h", [0.0, 1.0, 8.0])
def test_sharing_out_loses_no_copy(job, parts, cost_h):
    """Every copy that fits somewhere is in exactly one share."""
    for group in group_parts(job, parts):
        beds = rosters(job, group, cap_s=math.inf)
        copies = {ready.part.name: ready.need.to_print for ready in group.parts}

        shares = share_out(
            job, group, copies, loads={}, beds=beds, widest=3, plate_cost_s=cost_h * HOUR_S
        )

        total = Counter()
        for key, share in shares.items():
            total.update(share)
            by_name = {ready.part.name: ready for ready in group.parts}
            assert all(fits(job, by_name[name], beds[key]) for name in share)
        assert total == copies


def test_equal_machines_get_equal_work(job, parts):
    """With one kind of part and two equal beds the counts differ by one at most."""
    group = group_parts(job, parts)[0]
    ready = min(group.parts, key=lambda r: r.posed.size_mm[0])
    roster = next(iter(rosters(job, group, cap_s=math.inf).values()))
    alone = replace(group, parts=(ready,))

    shares = share_out(
        job,
        alone,
        {ready.part.name: 31},
        loads={},
        beds={"a": roster, "b": roster},
        widest=2,
        plate_cost_s=0.0,
    )

    assert sorted(share[ready.part.name] for share in shares.values()) == [15, 16]


def test_plates_keep_the_cap_of_their_recipe(job, parts):
    """No batch plate holds more than the cap in print time summed over its copies."""
    cap_s = 5 * HOUR_S
    made = make_plates(job, parts, recipe=Recipe(cap_s=cap_s), seconds=0.1)
    times = {ready.part.name: ready.times for ready in parts}
    for plate in made.plates:
        summed = sum(times[place.id][plate.printer.name].middle_s for place in plate.placements)
        assert summed <= cap_s * (1 + 1e-9)


def test_estimates_add_up_by_copies(job, parts):
    """Totals are copies times each, by material and in all."""
    printer = job.machines[0].printer
    estimates = [
        Estimate(
            name=r.part.name,
            posed=r.posed,
            layering=r.layering,
            time=r.times[printer.name],
            filament=r.filament,
            grams_range=r.grams_range,
            settings=r.part.settings,
            printer=printer,
            quantity=number,
        )
        for number, r in enumerate(parts, 1)
    ]

    totals = totals_of_estimates(estimates)

    assert totals.copies == sum(range(1, len(parts) + 1))
    assert totals.filament_g == pytest.approx(sum(n * r.grams for n, r in enumerate(parts, 1)))
    assert sum(totals.filament_g_by_material.values()) == pytest.approx(totals.filament_g)
    low, high = totals.time_range_s
    assert low < totals.time_s < high


@pytest.mark.parametrize(
    ("text", "expected"),
    [("+z", (0, 0, 1)), ("-x", (-1, 0, 0)), ("0,3,4", (0, 0.6, 0.8)), (" 0, 0, -2", (0, 0, -1))],
)
def test_directions_are_unit_vectors(text, expected):
    """An axis or three numbers, of length one."""
    assert direction(text) == pytest.approx(expected)


@pytest.mark.parametrize("text", ["z", "+w", "0,0,0", "1,2", "nan,0,1", "inf,0,0", "", "1;0;0"])
def test_no_direction_is_guessed(text):
    """Anything else is refused, and the message shows both ways to write it."""
    with pytest.raises(InputError, match=r"--up.*\+x -x.*0,1,1"):
        direction(text)


def test_faults_of_all_meshes_are_told_at_once(job, tmp_path):
    """Two bad meshes give two problems, each naming its file."""
    broken = dict(job.parts)
    for name in list(broken)[:2]:
        path = tmp_path / f"{name}.stl"
        path.write_bytes(b"not a mesh")
        broken[name] = replace(broken[name], mesh=path)
    spoilt = replace(job, parts=broken)

    with pytest.raises(InputError) as caught:
        ready_parts(spoilt, needs(spoilt))

    assert len(caught.value.problems) == 2


def test_problems_travel_between_processes():
    """An InputError comes out of a worker with its problems, not only with their text."""
    error = InputError(
        Problem(file="a.stl", found="x", expected="y", remedy="z"),
        Problem(file="b.stl", found="x", expected="y", remedy="z", line=3),
    )

    again = pickle.loads(pickle.dumps(error))

    assert again.problems == error.problems
    assert str(again) == str(error)


def test_any_number_of_processes_gives_the_same_parts(job, parts):
    """Two workers give what one gives, in the same order."""
    wanted = [need for need in needs(job) if need.to_print][:4]
    with hire(2) as workers:
        spread = ready_parts(job, wanted, workers=workers)

    assert [r.part.name for r in spread] == [r.part.name for r in parts[:4]]
    for one, other in zip(spread, parts[:4], strict=True):
        assert one.grams == other.grams
        assert np.array_equal(one.layering.volume_mm3, other.layering.volume_mm3)


def test_a_part_that_cannot_be_laid_is_a_finding_not_the_end(job):
    """A line narrower than it is high has no section: its part is told, the others are planned."""
    names = ("key", "cap")
    parts = {name: job.parts[name] for name in names}
    spoilt = replace(parts["cap"].settings, line_width_mm=0.1, layer_mm=0.3, bead=Bead.STADIUM)
    parts["cap"] = replace(parts["cap"], settings=spoilt)
    wanted = [need for need in needs(job) if need.part in names]
    small = replace(job, parts=parts)

    prepared = prepare_parts(small, wanted)
    findings = audit_parts(small, prepared)

    assert [ready.part.name for ready in prepared.ready] == ["key"]
    assert [failed.name for failed in prepared.failed] == ["cap"]
    assert [(f.part, f.level) for f in findings if f.rule == "layers"] == [("cap", "stop")]


def test_a_plate_starts_for_the_temperatures_of_its_parts(job, parts):
    """A heavy bed takes C (T - 20) / P longer; all else of the plate's time stays."""
    group = group_parts(job, parts)[0]
    ready, machine = group.parts[0], group.machines[0]
    bare = replace(machine.printer, start_s=0.0)
    heavy = replace(
        bare,
        bed_power_w=10.0,
        bed_heat_j_per_c=1000.0,
        nozzle_power_w=100.0,
        nozzle_heat_j_per_c=1.0,
        homing_s=1.0,
        levelling_s=2.0,
        purge_s=4.0,
    )
    place = Placement(id=ready.part.name, x_mm=0.0, y_mm=0.0, rotation_deg=0.0)
    packed = PackedPlate(bed=bed_key(bare), placements=(place,), fill=0.1)

    def whole_s(printer):
        own = replace(machine, printer=printer)
        alone = replace(group, machines=(own,))
        return seconds_on_machines(job, alone, printer, packed, [(ready, 1)])[own.name][0]

    extra_s = 100.0 * (ready.part.settings.bed_c - 20.0) + 7.0
    assert whole_s(heavy) - whole_s(bare) == pytest.approx(extra_s)
