"""Files that say only some settings: what is held against them, and what is not."""

import pytest

from planner.audit.settings import audit_stated
from planner.settings.model import Level


def audit(build, values, *rules, **more):
    values = {"material": "pla"} | values
    return audit_stated(
        values,
        build.guideline(*rules),
        more.pop("filament", build.filament()),
        where="a.ini",
        **more,
    )


def test_nothing_stated_nothing_found(build):
    """Each rule tells what it lacks; none takes a default."""
    findings, lacks = audit_stated({}, build.guideline(), None, where="a.ini")

    assert findings == ()
    assert "no outline: walls is not stated" in lacks
    assert all(lack.endswith("is not stated") for lack in lacks)


@pytest.mark.parametrize(
    ("values", "rule"),
    [
        ({"walls": 0}, "no outline"),
        ({"layer_mm": 0.5, "nozzle_mm": 0.4}, "layer and nozzle"),
        ({"line_width_mm": 0.3, "nozzle_mm": 0.4}, "line and nozzle"),
        ({"first_layer_width_mm": 0.9, "nozzle_mm": 0.4, "first_layer_mm": 0.2}, "line and nozzle"),
        ({"nozzle_c": 260}, "nozzle_c"),
        ({"bed_c": 90}, "bed_c"),
        ({"infill": 0.0, "top_layers": 3}, "settings disagree"),
        ({"lift_mm": 1.0, "retract_mm": 0.0}, "settings disagree"),
        (
            {"speed_mm_s.outer_wall": 400.0, "line_width_mm": 0.45, "layer_mm": 0.2},
            "flow",
        ),
        (
            {"feature_acceleration_mm_s2.outer_wall": 2000, "acceleration_mm_s2": 1000},
            "pace",
        ),
    ],
)
def test_what_is_stated_is_held_against_physics(build, values, rule):
    """Two or three keys are enough for a rule that needs no more."""
    findings, _ = audit(build, values)

    assert [finding.rule for finding in findings] == [rule]
    assert findings[0].change is not None


def test_a_guideline_is_held_against_what_is_stated(build):
    """The other rule is told as not checked."""
    findings, lacks = audit(
        build, {"walls": 2}, build.rule(at_least=3), build.rule("top_layers", at_least=4)
    )

    assert [finding.rule for finding in findings] == ["walls"]
    assert "guideline everyday, top_layers: top_layers is not stated" in lacks
    assert not any("everyday, walls" in lack for lack in lacks)


def test_lines_and_names_of_the_file_are_in_the_words(build):
    """The user finds the place under the name that stands there."""
    findings, _ = audit(
        build,
        {"walls": 2},
        build.rule(at_least=3),
        origin={"walls": "a.ini:7"},
        names={"walls": "wall loops"},
    )

    assert findings[0].where == "a.ini:7"
    assert findings[0].remedy == "set walls: 3 in a.ini:7 (there: wall loops)"


def test_the_flow_of_a_file_without_a_cap_is_told_by_its_speed(build):
    """0.45 x 0.2 with round ends: 0.0814159 mm2; 15 mm3/s leave 184.2 mm/s."""
    findings, _ = audit(
        build, {"speed_mm_s.outer_wall": 400.0, "line_width_mm": 0.45, "layer_mm": 0.2}
    )

    (finding,) = findings
    assert finding.level is Level.WARN
    assert (finding.change.key, finding.change.value) == ("speed_mm_s.outer_wall", 184.2)
    assert "capped" not in finding.found


def test_a_material_without_a_profile_leaves_its_rules_out(build):
    """The temperatures of something unknown cannot be judged."""
    findings, _ = audit(build, {"material": "wood", "nozzle_c": 500}, filament=None)

    assert findings == ()
