"""What a job says of its plates: turns, groups, limits, heads, places to keep free."""

from __future__ import annotations

import copy
import math

import pytest

from planner.errors import InputError
from planner.job.plating import limited

from .conftest import SOUND

HEAD = {"left_mm": 25, "right_mm": 40, "front_mm": 35, "back_mm": 20, "tip_mm": 8}


def sound():
    return copy.deepcopy(SOUND)


def test_left_out_nothing_is_asked(load):
    """Quarter turns, no groups, no limits, printed layer by layer."""
    job = load(sound())

    assert job.parts["key"].turns.angles_deg == (0.0, 90.0, 180.0, 270.0)
    assert (job.plating.together, job.plating.apart, job.plating.placing) == ((), (), "compact")
    assert (job.plating.parts_max, job.plating.seconds_max) == (math.inf, math.inf)
    assert not any(machine.printer.one_by_one for machine in job.machines)


def test_all_that_may_be_asked_is_read(load):
    """Each key ends where it is used."""
    data = sound()
    data |= {
        "together": [["panel", "key"]],
        "placing": "spread",
        "pins": [PIN],
        "parts_per_plate": 12,
        "hours_per_plate": 4,
    }
    data["parts"]["panel"]["rotations"] = "free"
    data["parts"]["key"]["rotations"] = {"every_deg": 90}
    data["printers"][0] |= {
        "one_by_one": True,
        "head": HEAD,
        "preferred_mm": [100, 90],
        "keep_out": [
            {"x_mm": [0, 20], "y_mm": [0, 10]},
            {"outline": [[90, 90], [120, 95], [100, 120]]},
        ],
    }

    job = load(data)

    bench = job.machines[0].printer
    assert (bench.one_by_one, bench.head.right_mm, bench.head.gantry_mm) == (True, 40, math.inf)
    assert bench.keep_out_patches[0].points_mm == ((90, 90), (120, 95), (100, 120))
    assert (bench.preferred_mm, bench.name) == ((100, 90), "open_frame_220 (bench)")
    assert job.parts["panel"].turns.free
    assert job.parts["key"].turns.angles_deg == (0, 90, 180, 270)
    assert job.plating.together == (("panel", "key"),)
    assert (job.plating.parts_max, job.plating.seconds_max) == (12, 4 * 3600)
    assert job.plating.placing == "spread"
    (pin,) = job.plating.pins
    assert (pin.machine, pin.part, pin.rotation_deg) == ("cupboard 2", "key", 0)


def test_limits_of_the_command_only_tighten(load):
    """The smaller of two limits holds."""
    job = load(sound() | {"parts_per_plate": 12})

    assert limited(job, parts=20, hours=None).plating.parts_max == 12
    assert limited(job, parts=5, hours=2).plating.parts_max == 5
    assert limited(job, parts=5, hours=2).plating.seconds_max == 7200


PIN = {"plate": 1, "printer": "cupboard 2", "part": "key", "x_mm": 20, "y_mm": 30}
WRONG = [
    ({"together": [["panel", "kee"]]}, r"together\[0\]\[1\].*unknown part 'kee'.*key"),
    ({"apart": [["key"]]}, r"apart\[0\].*'key' alone.*two parts or more"),
    (
        {"together": [["panel", "key"]], "apart": [["key", "panel"]]},
        r"apart.*'key' and 'panel', which must be together",
    ),
    ({"pins": [{**PIN, "part": "kee"}]}, r"pins\[0\].part.*unknown part 'kee'.*key"),
    ({"pins": [{**PIN, "printer": "cupboard 3"}]}, r"pins\[0\].printer.*unknown printer"),
    ({"pins": [{"part": "key"}]}, r"pins\[0\].*no plate"),
    ({"placing": "middle"}, "placing.*one of compact, centre, spread"),
    ({"parts_per_plate": 0}, "parts_per_plate.*from 1"),
    ({"hours_per_plate": -1}, "hours_per_plate.*above 0"),
]
WRONG_PRINTER = [
    ({"one_by_one": True}, r"printers\[0\].one_by_one.*states no head.*add head"),
    ({"head": {**HEAD, "gantry_mm": 2}}, "gantry_mm 2 mm under tip_mm 8 mm"),
    ({"head": {"left_mm": 3}}, "no right_mm"),
    ({"preferred_mm": [300, 4]}, r"preferred_mm.*x 300 to 300.*a place on the bed"),
    ({"keep_out": [{"x_mm": [0, 20]}]}, r"keep_out\[0\].*either x_mm and y_mm, or outline"),
    ({"keep_out": [{"outline": [[0, 0], [9, 9], [9, 0], [0, 9]]}]}, "crosses itself"),
    (
        {"keep_out": [{"outline": [[200, 0], [230, 0], [200, 30]]}]},
        r"keep_out\[0\].*x 200 to 230 mm",
    ),
]


@pytest.mark.parametrize(("changes", "words"), WRONG, ids=lambda case: str(case)[:40])
def test_what_is_wrong_with_the_job_is_told(load, changes, words):
    """In one line, with its place."""
    with pytest.raises(InputError, match=words):
        load(sound() | changes)


@pytest.mark.parametrize(("changes", "words"), WRONG_PRINTER, ids=lambda case: str(case)[:40])
def test_what_is_wrong_with_a_printer_is_told(load, changes, words):
    """In one line, with its place."""
    data = sound()
    data["printers"][0] |= changes
    with pytest.raises(InputError, match=words):
        load(data)


def test_unreadable_turns_are_told(load):
    """With what may be written instead."""
    data = sound()
    data["parts"]["key"]["rotations"] = "any"
    with pytest.raises(InputError, match=r"parts.key.rotations.*free, \{every_deg: 15\}"):
        load(data)
