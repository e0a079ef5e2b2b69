"""Walls estimated with one thing changed: against counting by hand on the samples."""

from __future__ import annotations

from dataclasses import replace

import pytest

from planner.errors import InputError
from planner.handover.coarser import COARSE_MM, coarser
from planner.handover.parts import prepare_parts
from planner.handover.quick.changes import one_more, one_wall_more, only_walls
from planner.handover.quick.estimate import quick_estimate
from planner.handover.quick.styled import restyled, settings_findings
from planner.handover.quick.taken import what_walls_take
from planner.handover.quick.variants import estimate_walls
from planner.handover.walls import answer_for, with_walls
from planner.job.demand import needs
from planner.job.layout.model import WallShape
from planner.job.load import load_job
from planner.layers.plate import plate_seconds
from planner.shipped import workshop_dir

LONG = workshop_dir().parent / "long_wall" / "job.yaml"
BARE = """\
schema: platewright/job/1
name: A bare board
start: 2026-11-27T18:00
time_zone: UTC
attendance: [{who: crew, from: 2026-11-27T18:00, to: 2026-11-29T20:00}]
settings: everyday_020
hands_on_min: 8
fit_check_min: 20
failure_rate: 0
confidence: 0.9
clearance_mm: 4
edge_mm: 3
electricity_per_kwh: 0.25
currency: EUR
guideline: everyday
printers: [{name: bench, profile: open_frame_220, unattended: true}]
spools: [{name: grey, filament: pla, colour: grey, left_g: 900, price_per_kg: 20}]
parts:
  panel: {mesh: MESHES/panel.stl, unit: mm, quantity: 5}
  key: {mesh: MESHES/key.stl, unit: mm}
wall:
  name: bare
  system:
    name: two rules
    pitch_mm: 100
    thickness_mm: 5
    joint_play_mm: 0.3
    rules:
      - {part: panel, at: cell}
      - {part: key, at: shared edge}
      - {part: none, at: junction}
  walls: [{name: north, columns: 4, rows: 3}]
"""


@pytest.fixture(scope="module")
def bare(tmp_path_factory):
    """Return a job of 4 x 3 panels, with five more wanted by themselves."""
    path = tmp_path_factory.mktemp("bare") / "job.yaml"
    path.write_text(BARE.replace("MESHES", str(workshop_dir() / "meshes")))
    return load_job(path)


@pytest.fixture(scope="module")
def rows(bare):
    base, variants = estimate_walls(bare)
    return base, {variant.name: variant.estimate for variant in variants}


def copies(job):
    """Return what a job has to print, by part."""
    return {need.part: need.to_print for need in needs(with_walls(job))}


def test_only_the_walls_count(bare):
    """The five panels wanted by themselves are not in the estimate of the walls."""
    assert copies(bare) == {"panel": 17, "key": 17}
    assert copies(only_walls(bare)) == {"panel": 12, "key": 17}


@pytest.mark.parametrize(("axis", "columns", "row_count"), [(0, 5, 3), (1, 4, 4)])
def test_a_course_more_is_counted_anew(bare, axis, columns, row_count):
    """An m x n board has mn panels and 2mn - m - n keys."""
    grown = copies(one_more(only_walls(bare), axis))

    keys = 2 * columns * row_count - columns - row_count
    assert grown == {"panel": columns * row_count, "key": keys}


def test_a_drawn_wall_repeats_its_last_course(bare):
    """An L grows by the cells of its top row, or of its right column."""
    cells = frozenset({(1, 1), (2, 1), (3, 1), (1, 2)})
    shape = WallShape(name="L", width_mm=300, height_mm=200, mask=cells, grid=(3, 2))
    drawn = replace(bare, walls=replace(bare.walls, walls=(shape,)))

    wider, higher = (one_more(only_walls(drawn), axis) for axis in (0, 1))

    assert copies(wider)["panel"] == 5
    assert copies(higher)["panel"] == 5
    assert wider.walls.walls[0].mask == cells | {(4, 1)}
    assert higher.walls.walls[0].mask == cells | {(1, 3)}


def test_settings_change_all_parts_that_can(bare):
    """One perimeter more everywhere; 0.28 mm only where the nozzle can lay it."""
    assert {part.settings.walls for part in one_wall_more(bare).parts.values()} == {4}
    assert {part.settings.layer_mm for part in coarser(bare, COARSE_MM).parts.values()} == {0.28}

    fine = {
        name: replace(part, settings=replace(part.settings, nozzle_mm=0.3))
        for name, part in bare.parts.items()
    }
    assert coarser(replace(bare, parts=fine), COARSE_MM).parts == fine


def test_changes_move_the_figures_the_right_way(rows):
    """A course more takes its share of filament; coarse layers save hours, walls cost them."""
    base, told = rows
    wider = told["one column wider (100 mm)"]

    assert wider.parts[0].grams == pytest.approx(base.parts[0].grams * 15 / 12)
    assert wider.parts[1].grams == pytest.approx(base.parts[1].grams * 22 / 17)
    assert told["layers of 0.28 mm"].print_s < base.print_s
    assert told["4 walls round every part instead of 3"].filament_g > base.filament_g
    assert told["4 walls round every part instead of 3"].plates[1:] == base.plates[1:]


def test_the_long_wall_is_estimated_and_packed_into_kits():
    """Every copy that the wall needs is in a kit, and every screw comes due with one."""
    answer = answer_for(LONG)
    taken = what_walls_take(answer)

    kits = taken.order.kits
    assert sum(dict(kit.parts).get("panel", 0) for kit in kits) == 231
    assert sum(kit.screws for kit in kits) == len(answer.mounting.fixings)
    assert taken.estimate is not None
    assert [variant.why_not for variant in taken.variants] == [""] * 4


def test_other_settings_and_another_guideline():
    """Every part takes the settings named; the guideline then judges those."""
    answer = restyled(answer_for(LONG), settings="everyday_020", guideline="load_bearing")

    assert {part.settings.walls for part in answer.job.parts.values()} == {3}
    stops = [finding for finding in settings_findings(answer) if finding.level.value == "stop"]
    assert {finding.rule for finding in stops} == {"walls", "bottom_layers"}
    assert all("guideline load_bearing" in finding.expected for finding in stops)


def test_a_wall_file_by_itself_takes_no_settings():
    """There is nothing to print them with."""
    alone = answer_for(LONG.parent / "wall.yaml")

    assert restyled(alone, settings=None, guideline=None) is alone
    with pytest.raises(InputError, match="--settings with a wall file by itself"):
        restyled(alone, settings="everyday_020", guideline=None)


def test_hours_and_money_by_hand(bare):
    """12 panels lie 2 x 2 on a bed of 220 mm: three full plates; each is paid for by the hour.

    Two spools at 20 and 30 per kg: the middle is 25. 100 W at 0.25 per kWh and a wear of 0.40
    per hour make 0.425 per hour.
    """
    spools = (bare.spools[0], replace(bare.spools[0], name="dear", price_per_kg=30.0))
    machine = replace(bare.machines[0], measured_w=100.0, wear_per_hour=0.40)
    job = with_walls(only_walls(replace(bare, spools=spools, machines=(machine,))))
    parts = prepare_parts(job, needs(job)).ready
    panel, settings = parts[0], parts[0].part.settings
    start_s = machine.printer.start_for(settings.nozzle_c, settings.bed_c)
    full_s = plate_seconds([(panel.times[machine.printer.name], 4)])

    found = quick_estimate(job, parts)
    row, keys = found.parts

    assert row.per_plate == 4
    assert row.print_s == pytest.approx(3 * (full_s + start_s + machine.printer.end_s))
    assert row.cost == pytest.approx(12 * panel.grams * 0.025 + row.print_s / 3600 * 0.425)
    assert row.cost_range == pytest.approx(
        (
            row.grams_range[0] * 0.020 + row.print_range_s[0] / 3600 * 0.425,
            row.grams_range[1] * 0.030 + row.print_range_s[1] / 3600 * 0.425,
        )
    )
    assert 0 < 17 / keys.per_plate < 1
    assert found.plates[1:] == (4, 4)  # three of panels and a part of one of keys
