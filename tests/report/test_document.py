"""The JSON of the plan: contract, units, times, determinism."""

import json
import math
from dataclasses import replace

import pytest

from planner.audit.model import Change
from planner.handover.estimates import Estimate
from planner.report.document import (
    dump,
    estimate_document,
    plan_document,
)

from .conftest import PLA, make_plan


def test_plan_has_the_promised_top_level(plan):
    """The keys every reader may rely on."""
    document = plan_document(plan)

    assert document["schema"] == "platewright/plan/1"
    promised = "parts plates runs visits spools findings totals bounds odds cautions left_out"
    assert set(promised.split()) <= set(document)


def test_document_survives_a_round_trip_through_text(plan):
    """Only plain JSON types are in it: reading the text gives the same document."""
    document = plan_document(plan)

    assert json.loads(dump(document)) == document


def test_same_plan_gives_the_same_bytes():
    """Two plans built apart from each other are told in the same bytes, newline at the end."""
    first, second = dump(plan_document(make_plan())), dump(plan_document(make_plan()))

    assert first.encode() == second.encode()
    assert first.endswith("}\n")


def test_times_carry_the_offset_of_the_jobs_zone(plan):
    """18:00 in Lisbon in November is UTC+0; a summer plan in Kathmandu is UTC+05:45."""
    document = plan_document(plan)
    east = replace(plan, job=replace(plan.job, time_zone="Asia/Kathmandu"))

    assert document["start"] == "2026-11-27T18:00:00+00:00"
    assert plan_document(east)["start"] == "2026-11-27T23:45:00+05:45"


def test_not_a_number_is_refused(plan):
    """A NaN is a fault of ours and never reaches a file."""
    with pytest.raises(ValueError, match="finite"):
        plan_document(replace(plan, odds=math.nan))


def test_plates_and_runs_name_the_same_printer(plan):
    """A plate says the printer it runs on, and the profile that the times of parts go by."""
    document = plan_document(plan)
    runs = {run["plate"]: run["printer"] for run in document["runs"]}

    for told in document["plates"]:
        assert told["printer"] == runs.get(told["id"], "cupboard")
        assert told["profile"] in document["parts"][0]["time_s"]


def test_mesh_is_named_as_seen_from_the_job_file(plan):
    """So that the same folder moved elsewhere gives the same bytes."""
    assert plan_document(plan)["parts"][0]["mesh"] == "meshes/panel.stl"


def test_part_adds_up(plan):
    """Grams, metres and millimetres cubed of a part agree by density and strand section."""
    part = plan_document(plan)["parts"][0]

    # The L with its window, 6 mm high; areas by hand: 80 x 30 + 30 x 30 - 14 x 32.
    volume = (80 * 30 + 30 * 30 - 14 * 32) * 6
    assert part["volume_mm3"] == pytest.approx(volume)
    assert part["filament_mm3"] == pytest.approx(volume)
    assert part["filament_g"] == pytest.approx(volume * 1.24e-3, abs=5e-4)
    section = math.pi * 1.75**2 / 4
    assert part["filament_m"] == pytest.approx(volume / section * 1e-3, abs=5e-4)
    features = part["by_feature"].values()
    assert sum(f["volume_mm3"] for f in features) == pytest.approx(volume)
    assert sum(f["time_s"] for f in features) == pytest.approx(part["time_s"]["open_frame_220"])


def test_estimate_follows_its_contract(plan):
    """Each mesh with the promised keys; an open mesh says so with its repairs."""
    ready = plan.parts[2]
    time = ready.times["enclosed_300"]

    estimate = Estimate(
        name="box.stl",
        posed=ready.posed,
        layering=ready.layering,
        time=time,
        filament=PLA,
        grams_range=(ready.grams * 0.96, ready.grams * 1.05),
        settings=ready.part.settings,
        printer=plan.plates[0].printer,
        quantity=1,
    )
    document = estimate_document([estimate])

    assert document["schema"] == "platewright/estimate/1"
    (part,) = document["parts"]
    promised = (
        "mesh closed repairs volume_mm3 layers height_mm filament_mm3 filament_g filament_m "
        "time_s time_range_s by_feature layer_area_sum_mm2"
    )
    assert set(promised.split()) <= set(part)
    assert (part["closed"], part["repairs"]) == (False, ["1 triangle is missing"])
    assert part["layers"] == 100
    assert part["height_mm"] == pytest.approx(20.0)
    assert part["layer_area_sum_mm2"] == pytest.approx(100 * 40 * 25)
    low, high = part["time_range_s"]
    assert low < part["time_s"] < high
    assert set(part["by_feature"]["outer wall"]) == {"length_mm", "volume_mm3", "time_s"}


def test_spools_balance(plan):
    """What was used and what is left make what was there."""
    for spool in plan_document(plan)["spools"]:
        assert spool["used_g"] + spool["left_g"] == pytest.approx(spool["before_g"])


def test_costs_of_the_plates_make_the_totals(plan):
    """Every plate tells its three costs; each is its sum, and none is left out of the totals."""
    document = plan_document(plan)
    plates, totals = document["plates"], document["totals"]

    for told in plates:
        parts = told["filament_cost"] + told["energy_cost"] + told["wear_cost"]
        assert told["cost"] == pytest.approx(parts, abs=2e-4)
    for key in ("filament_cost", "energy_cost", "wear_cost", "cost"):
        # Each is rounded to half of the last digit that is told.
        tolerance = 0.5e-4 * len(plates) + 0.5e-2
        assert totals[key] == pytest.approx(sum(p[key] for p in plates), abs=tolerance), key
    assert totals["wear_unknown"] == ["cupboard"]


def test_shopping_is_told_line_by_line(plan):
    """What is short, what no single spool can feed, and what the new spools cost."""
    grey, red = plan_document(plan)["shopping"]

    assert (grey["short_g"], grey["spools"], grey["cost"]) == (273.8, 1, 22.0)
    assert grey["without_spool"] == ["P4"]
    assert grey["may_lack_g"] == 0
    assert (red["spools"], red["cost"]) == (0, 0)
    assert red["may_lack_g"] == 5.0


def test_a_finding_tells_the_change_that_ends_it(plan):
    """For a program that wants to carry it out; null where a person must decide."""
    changed = replace(plan.findings[0], change=Change(key="walls", value=3))
    told = plan_document(replace(plan, findings=(changed, *plan.findings[1:])))["findings"]

    assert told[0]["change"] == {"key": "walls", "value": 3}
    assert told[1]["change"] is None


def test_a_second_spool_is_told_where_there_is_one(plan):
    """The run says how much it feeds and from when on; the visit what to put on."""
    run, visit = plan.weekend.runs[0], plan.weekend.visits[0]
    moment = run.start + (run.end - run.start) / 2
    weekend = replace(
        plan.weekend,
        runs=(replace(run, second_spool="grey 2", second_g=40.0, change_at=moment),),
        visits=(
            replace(visit, second_spool="grey 2"),
            replace(visit, at=moment, start=None, spool="grey 2", feeds="P1", change_spool=True),
        ),
    )
    told = plan_document(replace(plan, weekend=weekend))

    assert told["runs"][0]["second_spool"] == "grey 2"
    assert told["runs"][0]["change_at"] == moment.isoformat(timespec="seconds")
    assert told["visits"][0]["text"] == "bench left: start P1 with grey 1, then grey 2"
    assert told["visits"][1]["text"] == ("bench left: P1 goes on with grey 2 (change the spool)")
    assert "second_spool" not in plan_document(plan)["runs"][0]
