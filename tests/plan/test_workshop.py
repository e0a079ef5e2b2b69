"""The whole story on the sample workshop; every claim is checked by other code than made it."""

from __future__ import annotations

import os
import subprocess
import sys
from collections import Counter
from pathlib import Path

import pytest

from planner.handover.items import item_of
from planner.handover.weekend import weekend_of
from planner.job.load import load_job
from planner.nest.model import Bed, PackedPlate, Packing
from planner.nest.verify import verify
from planner.plan import make_plan
from planner.report.document import dump, plan_document
from planner.schedule.check import check
from planner.shipped import workshop_dir

SECONDS = 0.1


@pytest.fixture(scope="module")
def job():
    return load_job(workshop_dir() / "job.yaml")


@pytest.fixture(scope="module")
def plan(job):
    return make_plan(job, seconds=SECONDS, orient="declared")


@pytest.fixture(scope="module")
def started(tmp_path_factory):
    """Copy the workshop and plan it beside, as a person does, in a process of its own."""
    folder = tmp_path_factory.mktemp("shop") / "wall"
    command = [sys.executable, "-c", "from planner.cli import main; main()"]
    options = ["--out", str(folder / "plan"), "--seconds", str(SECONDS), "--orient", "declared"]
    hashes = os.environ | {"PYTHONHASHSEED": "4"}
    subprocess.run([*command, "start", str(folder)], check=True, env=hashes)
    subprocess.run([*command, "plan", str(folder / "job.yaml"), *options], check=True, env=hashes)
    return folder


def test_the_sample_is_as_large_as_it_claims(plan):
    """At least 16 parts and 250 copies, 3 printers, 5 spools of 2 materials."""
    assert len(plan.parts) >= 16
    assert plan.totals.copies >= 250
    assert len({machine.printer.name for machine in plan.job.machines}) == 3
    assert len(plan.job.spools) == 5
    assert len({spool.filament.material for spool in plan.job.spools}) == 2


def test_every_copy_lies_on_exactly_one_plate(plan):
    """What is to be printed is what lies on the plates."""
    laid = Counter(place.id for plate in plan.plates for place in plate.placements)

    assert laid == {ready.part.name: ready.need.to_print for ready in plan.parts}


def test_every_plate_is_clear_by_exact_geometry(plan):
    """No overlap, clearance kept, inside the bed, out of the keep-outs: by shapely."""
    ready = {part.part.name: part for part in plan.parts}
    for plate in plan.plates:
        printer = plate.printer
        bed = Bed(
            id="bed",
            width_mm=printer.bed_width_mm,
            depth_mm=printer.bed_depth_mm,
            height_mm=printer.height_mm,
            keep_out=printer.keep_out,
        )
        items = [
            item_of(ready[name], quantity=count, seconds=0) for name, count in plate.counts.items()
        ]
        packed = PackedPlate(bed="bed", placements=plate.placements, fill=plate.fill)
        packing = Packing(plates=(packed,), unplaced=(), lower_bound=0, bound_by="")

        assert not verify(packing, items, [bed], plan.job.clearance_mm, plan.job.edge_mm), plate.id


def test_a_plate_is_told_for_the_printer_it_runs_on(plan):
    """A plate is drawn and written on the bed of its run, whatever it was packed for."""
    printers = {machine.name: machine.printer for machine in plan.job.machines}
    plates = {plate.id: plate for plate in plan.plates}

    assert all(plates[r.plate].printer == printers[r.machine] for r in plan.weekend.runs)


def test_the_weekend_holds_by_the_separate_checker(plan):
    """Windows, people, printers, gates and spools, by code that is not the solver's."""
    assert not check(weekend_of(plan.job, plan.plates), plan.weekend)


def test_everything_is_printed_by_the_deadline(plan):
    """The sample weekend is busy but feasible; a newcomer's first plan must not fail."""
    assert not plan.weekend.unscheduled
    assert not plan.left_out
    assert plan.weekend.finish <= plan.job.deadline
    assert not plan.must_stop


def test_no_bound_is_beaten(plan):
    """Neither the plates nor the finish undercut what is said to be impossible."""
    assert all(row.lower_bound <= row.plates for row in plan.plate_bounds)
    assert sum(row.plates for row in plan.plate_bounds) == len(plan.plates)
    assert plan.weekend.lower_bound <= plan.weekend.finish


def test_mating_parts_are_proved_before_their_batch(plan):
    """Each batch plate with a mating part starts after every first-article plate has ended."""
    mating = {ready.part.name for ready in plan.parts if ready.part.mating}
    runs = {run.plate: run for run in plan.weekend.runs}
    firsts = [runs[plate.id] for plate in plan.plates if plate.kind == "first article"]
    assert firsts

    batch = [plate for plate in plan.plates if plate.kind == "batch" and mating & set(plate.counts)]
    assert batch
    last = max(run.end for run in firsts)
    assert all(runs[plate.id].start >= last for plate in batch)


def test_attended_printers_never_run_alone(plan):
    """A printer without `unattended: true` prints only while somebody is there."""
    watched = {machine.name for machine in plan.job.machines if not machine.unattended}
    assert watched
    assert all(run.alone_s == 0 for run in plan.weekend.runs if run.machine in watched)


def test_the_planted_faults_are_found(plan):
    """The part that breaks the guideline and the one in a bad direction are told."""
    told = {(finding.rule, finding.part) for finding in plan.findings}

    assert any(rule == "walls" for rule, _ in told)
    assert any(rule == "build direction" and part == "hook_long" for rule, part in told)


def test_totals_are_the_sums_of_the_plates(plan):
    """Filament by material adds up to the total, and the total to the parts."""
    by_part = sum(ready.grams * ready.need.to_print for ready in plan.parts)

    assert plan.totals.filament_g == pytest.approx(by_part, rel=1e-9)
    by_material = sum(plan.totals.filament_g_by_material.values())
    assert by_material == pytest.approx(by_part, rel=1e-9)
    low, high = plan.totals.print_range_s
    assert low <= plan.totals.print_s <= high


def test_start_copies_a_workshop_that_plans_at_once(started):
    """Two commands from nothing to a weekend's plan, with every promised file."""
    names = {path.name for path in (started / "plan").iterdir()}

    assert {"plan.json", "plan.html", "runs.csv", "parts.csv", "visits.ics", "plates"} <= names
    assert list((started / "plan" / "plates").glob("*.3mf"))
    assert (started / "job.schema.json").is_file()


def test_the_same_input_gives_the_same_bytes(plan, started):
    """Same job, seconds and seed: byte-identical, whatever the folder, processes and hashes."""
    own = (started / "plan" / "plan.json").read_text("utf-8")

    assert own.replace(str(started), str(workshop_dir())) == dump(plan_document(plan))


def test_relative_paths_resolve_from_the_job_file(tmp_path, monkeypatch):
    """The plan does not depend on the folder from which it is asked for."""
    monkeypatch.chdir(tmp_path)
    job = load_job(Path(workshop_dir()) / "job.yaml")

    assert all(part.mesh.is_file() for part in job.parts.values())
