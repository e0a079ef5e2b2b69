"""A sound job becomes frozen, complete and resolved."""

from __future__ import annotations

import pickle
from datetime import timedelta
from math import sqrt
from pathlib import Path

import pytest

from planner.job.demand import needs
from planner.job.model import Face, Plane
from planner.settings.load import load_printer, load_settings
from planner.settings.model import Feature


def test_names_are_looked_up_and_paths_start_from_the_job(load, sound):
    job = load(sound)

    assert job.path == Path("job.yaml")
    assert job.parts["panel"].mesh == Path("meshes/panel.stl")
    assert job.parts["panel"].settings == load_settings("everyday_020")
    assert job.guideline.name == "everyday"
    assert list(job.filaments) == ["petg", "pla"]
    assert job.parts["panel"].where == "job.yaml:8"


def test_defaults_are_filled_in(load, sound):
    job = load(sound)
    panel = job.parts["panel"]

    assert (panel.quantity, panel.stage, panel.loads, panel.tags) == (0, 1, (), ())
    assert (panel.up, panel.up_declared, panel.colour) == ((0, 0, 1), False, None)
    assert (job.hands_on_s, job.fit_check_s) == (480, 1200)
    assert (job.clearance_mm, job.edge_mm, job.confidence) == (4, 3, 0.9)


def test_colours_and_materials_compare_whatever_the_capitals(load, sound):
    sound["parts"]["key"]["settings"] = {"material": "PETG"}
    job = load(sound)

    assert job.parts["key"].colour == job.spools[0].colour == "grey"
    assert job.parts["key"].settings.material == job.spools[1].filament.material == "petg"


def test_needs_follow_the_order_of_the_file_and_explain_themselves(load, sound):
    job = load({**sound, "failure_rate": 0.03, "confidence": 0.9})
    panel, key = needs(job)

    assert (panel.part, panel.needed, panel.from_stock) == ("panel", 22, 2)
    assert (panel.spares, panel.to_print) == (2, 24)
    assert panel.odds == pytest.approx(0.965853, abs=1e-6)  # scipy.stats.binom.sf(21, 24, 0.97)
    assert panel.because == ("4 bay x 6 = 24; less 2 in stock; plus 2 spares (0.03 of copies fail)")
    assert key.needed == 3 + 4 * 7 + 2
    assert key.because.startswith("3 by itself + 4 bay x 7 = 28 + 1 wall x 2 = 2; plus")


def test_what_nobody_wants_is_not_printed(load, sound):
    sound["assemblies"] = {}

    assert needs(load(sound))[0].because == "not wanted"
    assert needs(load(sound))[0].to_print == 0


def test_directions_become_unit_vectors(load, sound):
    sound["parts"]["panel"]["up"] = "-y"
    sound["parts"]["key"]["up"] = [0, 3, 3]
    job = load(sound)

    assert job.parts["panel"].up == (0, -1, 0)
    assert job.parts["panel"].up_declared
    assert job.parts["key"].up == pytest.approx((0, 1 / sqrt(2), 1 / sqrt(2)))


def test_one_load_or_several(load, sound):
    one = {"force_n": [0, -40, 0], "on": "+z", "held": "-z", "sustained": True}
    box = {"force_n": [0, 0, 5], "on": {"box": [[0, 0, 0], [1, 2, 3]]}, "held": "-x"}
    sound["parts"]["panel"]["load"] = one
    sound["parts"]["key"]["load"] = [one, box]
    job = load(sound)

    (single,) = job.parts["panel"].loads
    assert (single.force_n, single.on, single.held) == (
        (0, -40, 0),
        Face(axis="+z"),
        Face(axis="-z"),
    )
    assert single.sustained
    assert not job.parts["key"].loads[1].sustained
    assert job.parts["key"].loads[1].on.box_mm == ((0, 0, 0), (1, 2, 3))


def test_moments_planes_and_own_weight(load, sound):
    """A normal of any length becomes one of length 1; what is left out is nothing."""
    plane = {"point": [0, 0, 5], "normal": [0, 0, -2], "tolerance_mm": 0.5}
    sound["parts"]["panel"]["load"] = {
        "moment_nmm": [0, 300, 0], "on": {"plane": plane}, "held": "-z", "down": "-y", "warm_c": 35,
    }  # fmt: skip

    (case,) = load(sound).parts["panel"].loads

    assert (case.force_n, case.moment_nmm) == ((0, 0, 0), (0, 300, 0))
    assert case.on == Face(plane=Plane(point_mm=(0, 0, 5), normal=(0, 0, -1)), tolerance_mm=0.5)
    assert (case.down, case.warm_c) == ((0, -1, 0), 35)


def test_settings_are_named_changed_or_both(load, sound):
    sound["settings"] = {"base": "sturdy_020", "infill": 0.3}
    sound["parts"]["panel"]["settings"] = {"walls": 9, "speed_mm_s": {"travel": 77}}
    sound["parts"]["key"]["settings"] = {"base": "hefty_020", "walls": 8}
    job = load(sound)
    panel, key = (job.parts[name].settings for name in ("panel", "key"))

    assert (panel.walls, panel.infill, panel.speed_mm_s[Feature.TRAVEL]) == (9, 0.3, 77)
    assert panel.speed_mm_s[Feature.OUTER_WALL] == 40
    assert (key.walls, key.infill) == (8, load_settings("hefty_020").infill)
    assert panel.origin["walls"].startswith("job.yaml:")
    assert panel.origin["layer_mm"] == "profile everyday_020"


def test_settings_may_be_a_file_beside_the_job(load, sound, folder):
    text = "schema: platewright/settings/1\nbase: delicate_012\nwalls: 2\n"
    (folder / "mine.yaml").write_text(text)
    sound["parts"]["key"]["settings"] = "mine.yaml"

    assert load(sound).parts["key"].settings.layer_mm == 0.12


def test_printers_alike_are_numbered_and_fitted_ones_renamed(load, sound):
    sound["printers"][0] |= {"nozzle_mm": 0.6, "keep_out": [{"x_mm": [0, 20], "y_mm": [0, 15]}]}
    machines = load(sound).machines

    assert [machine.name for machine in machines] == ["bench", "cupboard 1", "cupboard 2"]
    assert [machine.unattended for machine in machines] == [False, True, True]
    assert machines[0].printer.name == "open_frame_220 (bench)"
    assert machines[0].printer.nozzle_mm == 0.6
    assert machines[0].printer.keep_out[0].y_max_mm == 15
    assert machines[1].printer is machines[2].printer
    assert machines[1].printer == load_printer("enclosed_300")


def test_spools_are_weighed_or_told(load, sound):
    told, weighed = load(sound).spools

    assert (told.left_g, told.price_per_kg) == (820, told.filament.price_per_kg)
    assert (weighed.left_g, weighed.price_per_kg) == (670, 31)


def test_an_own_filament_decides_for_its_material(load, sound, folder):
    (folder / "heavy.yaml").write_text(
        "schema: platewright/filament/1\nbase: pla\ndensity_g_cm3: 2.5\n"
    )
    sound["spools"][0]["filament"] = "./heavy.yaml"

    assert load(sound).filaments["pla"].density_g_cm3 == 2.5


def test_a_material_on_no_spool_has_the_shipped_filament(load, sound):
    sound["spools"] = []
    sound["parts"]["key"]["settings"] = "sturdy_asa_020"

    assert load(sound).filaments["asa"].density_g_cm3 == 1.07


def test_attendance_is_in_order_and_in_true_time(load, sound):
    job = load(sound)

    assert [window.start.hour for window in job.attendance] == [18, 9]
    assert job.attendance[0].end - job.attendance[0].start == timedelta(hours=4, minutes=30)
    assert job.start.isoformat() == "2026-11-27T18:00:00+00:00"
    assert job.deadline.isoformat() == "2026-11-29T20:00:00+00:00"


def test_two_people_may_be_there_at_once_and_shifts_may_touch(load, sound):
    sound["attendance"] += [
        {"who": "guest", "from": "2026-11-28T10:00", "to": "2026-11-28T12:00"},
        {"who": "crew", "from": "2026-11-28T13:00", "to": "2026-11-28T14:00"},
    ]

    assert len(load(sound).attendance) == 4


def test_a_job_can_be_sent_to_another_process(load, sound):
    job = load(sound)

    assert pickle.loads(pickle.dumps(job.parts)) == job.parts
    assert pickle.loads(pickle.dumps(job.machines)) == job.machines


def test_the_same_file_gives_the_same_job(load, sound):
    assert load(sound) == load(sound)
