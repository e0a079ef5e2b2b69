"""Doing what a remedy says ends the finding; and the words that depend on which side is wrong."""

import re
from dataclasses import replace
from types import MappingProxyType

import pytest
import yaml

from planner.audit import audit_job, audit_part, audit_physics
from planner.settings.model import Feature, Level


def follow(settings, finding):
    """Change the settings as the remedy's "set key: value" says."""
    (key, value) = re.match(r"set (\w+): ({.*?}|\S+?),? ", finding.remedy + " ").groups()
    value = yaml.safe_load(value)
    if isinstance(value, dict):
        named = {Feature(name.replace("_", " ")): speed for name, speed in value.items()}
        value = MappingProxyType({**getattr(settings, key), **named})
    return replace(settings, **{key: value})


@pytest.mark.parametrize(
    ("changes", "rule"),
    [
        ({"layer_mm": 0.05}, "layer and nozzle"),
        ({"layer_mm": 0.37}, "layer and nozzle"),
        ({"layer_mm": 0.5, "line_width_mm": 0.6}, "layer and nozzle"),
        ({"first_layer_mm": 0.05}, "first layer"),
        ({"first_layer_mm": 0.15}, "first layer"),
        ({"first_layer_mm": 0.39}, "first layer"),
        ({"line_width_mm": 0.3}, "line and nozzle"),
        ({"line_width_mm": 0.7}, "line and nozzle"),
        ({"nozzle_c": 150}, "nozzle_c"),
        ({"nozzle_c": 190 - 1}, "nozzle_c"),
        ({"nozzle_c": 260}, "nozzle_c"),
        ({"bed_c": 0}, "bed_c"),
        ({"bed_c": 90}, "bed_c"),
        ({"top_layers": 1}, "solid skin"),
        ({"top_layers": 0, "layer_mm": 0.13}, "solid skin"),
        ({"bottom_layers": 0}, "solid skin"),
        ({"bottom_layers": 1, "first_layer_mm": 0.3}, "solid skin"),
        ({"bottom_layers": 1, "layer_mm": 0.13}, "solid skin"),
        ({"walls": 0}, "no outline"),
        ({"infill": 0.0}, "settings disagree"),
        ({"infill": 1.0, "infill_pattern": "grid"}, "settings disagree"),
        ({"brim_mm": 0.2}, "settings disagree"),
        ({"material": "petg"}, "settings disagree"),
        ({"speed": 150}, "flow"),
    ],
)
def test_following_the_remedy_ends_the_finding(build, changes, rule):
    """As often as there are findings of the rule (several features may be too fast)."""
    settings = build.settings(**changes)
    for _ in range(7):
        found = [
            finding
            for finding in audit_physics(settings, build.filament(), printers={})
            if finding.rule == rule
        ]
        if not found:
            break
        changed = follow(settings, found[0])
        assert changed != settings
        settings = changed
    else:
        pytest.fail(f"still {found[0].remedy}")
    assert settings != build.settings(**changes)


@pytest.mark.parametrize(
    ("changes", "remedy", "why"),
    [
        ({"layer_mm": 0.05}, "set layer_mm: 0.08 in", "thin"),
        ({"layer_mm": 0.37}, "set layer_mm: 0.32 in", "thick"),
        ({"line_width_mm": 0.3}, "set line_width_mm: 0.4 in", "stretched"),
        ({"line_width_mm": 0.7}, "set line_width_mm: 0.6 in", "pressed"),
        ({"nozzle_c": 189}, "set nozzle_c: 190 in", "colder"),
        ({"nozzle_c": 221}, "set nozzle_c: 220 in", "hotter"),
        ({"bed_c": 44}, "set bed_c: 45 in", "colder"),
        ({"bed_c": 66}, "set bed_c: 65 in", "hotter"),
        ({"brim_mm": 0.2}, "set brim_mm: 0 in", "none is laid"),
        ({"infill": 0.0}, "set infill: 0.15 in", "over air"),
        ({"top_layers": 2}, "set top_layers: 3 in", "sags"),
        ({"bottom_layers": 0}, "set bottom_layers: 3 in", "open"),
    ],
)
def test_the_nearest_good_value_is_offered_with_the_reason_of_that_side(
    build, changes, remedy, why
):
    """Too thin is not told as too thick."""
    found = audit_physics(build.settings(**changes), build.filament(), printers={})

    (finding,) = [each for each in found if each.remedy.startswith(remedy)]
    assert why in finding.why


class TestWordsOfTheBuildDirection:
    """Shares in percent, and creep only where it belongs."""

    def finding(self, build, *, sustained, crossing=0.7, best=0.5):
        """Return the finding about one load."""
        found = audit_part(
            build.part(
                loads=(build.load(sustained=sustained),),
                settings=build.settings(material="petg"),
                up_declared=crossing > 0.5,
            ),
            posed=build.posed(),
            layering=build.layering(),
            filament=build.filament(material="petg"),
            guideline=build.guideline(),
            machines=(build.machine(),),
            pulls=(build.pull(crossing, better_crossing=best),),
        )
        (finding,) = found
        return finding

    def test_a_steady_load_is_told_with_its_own_reason_and_source(self, build):
        """A passing one without."""
        steady, passing = (self.finding(build, sustained=flag) for flag in (True, False))

        assert "steady load" in steady.why
        assert "Smit" in steady.source
        assert "steady load" not in passing.why
        assert "Smit" not in passing.source
        assert steady.expected == "less than 25 %"
        assert "the best, +x, still has 50 %" in steady.remedy

    def test_an_undeclared_direction_is_told_with_its_share(self, build):
        """So that the reader sees why it is only a note."""
        finding = self.finding(build, sustained=False, crossing=0.1)

        assert finding.why.startswith("as drawn, 10 % of the pull")


class TestWordsOfTheJob:
    """Hours in hours, machines by line."""

    def test_the_hours_of_an_impossible_deadline(self, build):
        """Two machines, three hours; 36000 s are 10 h."""
        job = build.job(
            deadline=build.at(27, 21), machines=(build.machine("a"), build.machine("b"))
        )
        (finding,) = audit_job(job, [build.Ready(build.part(), seconds=36000)])

        assert finding.found == (
            "deadline 2026-11-27T21:00+00:00: 10.0 h of printing on 2 printers"
        )
        assert finding.expected == "at most 6.0 h, 3.0 h between start and deadline on each"

    def test_nobody_at_all_and_nobody_any_more(self, build):
        """Two ways to have no attendance."""
        (nobody,) = audit_job(build.job(attendance=()))

        assert nobody.found == "nobody in attendance"
        late = replace(build.job().attendance[0], start=build.at(27, 9), end=build.at(27, 10))
        (gone,) = audit_job(build.job(attendance=(late,)))
        assert gone.found == "nobody in attendance after the start"

    def test_unattended_machines_and_cautions_point_at_their_lines(self, build):
        """The machine's own line, the filament's caution as a note."""
        (alone,) = audit_job(build.job(machines=(build.machine(unattended=True),)))
        filaments = MappingProxyType({"pla": build.filament(caution="mild")})
        (caution,) = audit_job(build.job(filaments=filaments))

        assert alone.where == "job.yaml:90"
        assert (caution.rule, caution.level) == ("filament caution", Level.NOTE)
