"""The JSON of the plan: contract, units, times, determinism."""

import json
import math
from dataclasses import replace

import pytest

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
