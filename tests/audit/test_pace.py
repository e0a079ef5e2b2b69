"""Accelerations, speeds and lifts against the machines; lines of the first layer."""

import pytest

from planner.audit import audit_part, audit_physics
from planner.settings.model import Feature, Level

STOP, WARN, NOTE = Level.STOP, Level.WARN, Level.NOTE


def told(build, rule, printers=None, **changes):
    """Return the findings of one rule; without printers, of one that can take anything."""
    machines = {"fast": build.printer(speed_max_mm_s=2000, acceleration_max_mm_s2=1e5)}
    findings = audit_physics(
        build.settings(**changes), build.filament(), printers=printers or machines
    )
    return [finding for finding in findings if finding.rule == rule]


class TestOuterWall:
    """It shows the ringing that a hard acceleration leaves."""

    @pytest.mark.parametrize(
        ("own", "found"),
        [
            ({}, None),
            ({Feature.OUTER_WALL: 1000}, None),  # as hard as all: 1000
            ({Feature.OUTER_WALL: 1001}, "outer wall 1001 mm/s², inner walls 1000 mm/s²"),
            ({Feature.OUTER_WALL: 1500, Feature.INNER_WALLS: 2000}, None),
            (
                {Feature.OUTER_WALL: 900, Feature.INNER_WALLS: 800},
                "outer wall 900 mm/s², inner walls 800 mm/s²",
            ),
        ],
    )
    def test_no_harder_than_the_walls_behind_it(self, build, own, found):
        """Told only where it has an acceleration of its own."""
        findings = told(build, "pace", feature_acceleration_mm_s2=own)

        assert [finding.found for finding in findings] == ([found] if found else [])
        assert all(finding.level is NOTE for finding in findings)


class TestMachines:
    """One machine that can follow is enough."""

    @pytest.mark.parametrize(
        ("limits", "expected"),
        [
            ({"speed_max_mm_s": 150}, None),
            ({"speed_max_mm_s": 149}, "at most 149 mm/s"),
            # along a diagonal both axes add up: hypot(90, 120) is 150
            ({"speed_max_mm_s": 500, "axis_speed_mm_s": (90, 120, 10)}, None),
            ({"speed_max_mm_s": 500, "axis_speed_mm_s": (87, 116, 10)}, "at most 145 mm/s"),
        ],
    )
    def test_speeds(self, build, limits, expected):
        """Travel at 150 mm/s is the fastest of the sound settings."""
        findings = told(build, "pace", {"bench": build.printer(**limits)})

        assert [finding.expected.partition(",")[0] for finding in findings] == (
            [expected] if expected else []
        )

    def test_features_that_are_not_printed_are_not_told(self, build):
        """No support is laid, so its speed does not matter; all others are in one finding."""
        bench = {"bench": build.printer(speed_max_mm_s=50, flow_max_mm3_s=99)}
        (finding,) = told(build, "pace", bench)

        assert finding.found == (
            "travel 150 mm/s, outer wall 60, inner walls 60, solid fill 60 and sparse fill 60"
        )
        assert finding.change.key == "speed_mm_s.travel"

    def test_accelerations_of_all_and_of_single_features(self, build):
        """The printer does 1500 along a path, but x and y together only 1000."""
        bench = {"bench": build.printer(axis_acceleration_mm_s2=(600, 800, 100))}
        own = {Feature.TRAVEL: 1200}
        findings = told(
            build, "pace", bench, acceleration_mm_s2=1001, feature_acceleration_mm_s2=own
        )

        assert [(f.found, f.change.key, f.change.value) for f in findings] == [
            ("1001 mm/s²", "acceleration_mm_s2", 1000),
            ("travel 1200 mm/s²", "feature_acceleration_mm_s2.travel", 1000),
        ]

    def test_one_machine_that_can_is_enough(self, build):
        """The time of the other is counted, and that is all."""
        bench = build.printer(speed_max_mm_s=50, flow_max_mm3_s=99)
        assert told(build, "pace", {"a": bench, "b": build.printer()}) == []

    @pytest.mark.parametrize(("strand", "short"), [(4.0, 0), (2.0, 1)])
    def test_the_strand_can_only_be_fed_so_fast(self, build, strand, short):
        """0.45 x 0.2 mm at 60 mm/s is 5.4 mm3/s: 2.245 mm/s of a 1.75 mm strand (2.4053 mm2)."""
        bench = {"bench": build.printer(strand_speed_mm_s=strand)}
        findings = told(build, "flow", bench)

        assert len(findings) == short
        assert all("at most 4.81056 mm³/s" in finding.expected for finding in findings)


class TestLift:
    """It takes room above the part, time, and a strand that is drawn back."""

    @pytest.mark.parametrize(("lift", "retract", "told_of"), [(0, 0, 0), (1, 0, 1), (1, 0.5, 0)])
    def test_without_retraction_it_never_comes(self, build, lift, retract, told_of):
        """The way is the one for which the strand is drawn back."""
        findings = told(build, "settings disagree", lift_mm=lift, retract_mm=retract)

        assert len(findings) == told_of

    @pytest.mark.parametrize(("lift", "expected"), [(0.25, 0), (0.3, 1)])
    def test_a_slow_axis_makes_it_long(self, build, lift, expected):
        """At 1 mm/s up and down again: 0.25 mm are half a second."""
        bench = {"bench": build.printer(axis_speed_mm_s=(500, 500, 1))}
        findings = told(build, "pace", bench, lift_mm=lift)

        assert len(findings) == expected
        assert all(finding.change.value == 0.25 for finding in findings)

    @pytest.mark.parametrize(
        ("high", "lift", "expected"), [(249, 1, 0), (249, 1.1, 1), (251, 5, 0)]
    )
    def test_it_needs_room_above_the_part(self, build, high, lift, expected):
        """Under 250 mm; what does not fit at all is another rule's business."""
        findings = audit_part(
            build.part(settings=build.settings(lift_mm=lift)),
            posed=build.posed((60, 60, high)),
            layering=build.layering(),
            filament=build.filament(),
            guideline=build.guideline(),
            machines=(build.machine(),),
        )
        found = [finding for finding in findings if finding.rule == "head room"]

        assert len(found) == expected
        assert all((f.level, f.change.value) == (WARN, 1) for f in found)


class TestFirstLines:
    """Lines of the first layer, where they have a width of their own."""

    @pytest.mark.parametrize(
        ("width", "first", "level", "better"),
        [
            (None, 0.2, None, None),
            (0.4, 0.2, None, None),
            (0.6, 0.2, None, None),
            (0.39, 0.2, WARN, 0.4),
            (0.61, 0.2, WARN, 0.6),
            (0.25, 0.3, STOP, 0.4),  # taller than wide
        ],
    )
    def test_against_the_nozzle(self, build, width, first, level, better):
        """1.0 to 1.5 times 0.4 mm, and never narrower than high."""
        findings = told(build, "line and nozzle", first_layer_width_mm=width, first_layer_mm=first)

        assert [(f.level, f.change.value) for f in findings] == ([(level, better)] if level else [])

    def test_a_width_that_follows_the_others_is_told_once(self, build):
        """The loader fills in that of all lines."""
        assert len(told(build, "line and nozzle", line_width_mm=0.3, first_layer_width_mm=0.3)) == 1

    @pytest.mark.parametrize(("brim", "idle"), [(0.5, 0), (0.49, 1)])
    def test_a_brim_is_made_of_them(self, build, brim, idle):
        """A line of 0.5 mm does not fit into 0.49 mm."""
        found = told(build, "settings disagree", first_layer_width_mm=0.5, brim_mm=brim)

        assert len(found) == idle


def test_support_under_nothing(build):
    """90 degrees is flat: no surface leans out further."""
    assert told(build, "settings disagree", support=True, overhang_deg=89) == []
    (finding,) = told(build, "settings disagree", support=True, overhang_deg=90)
    assert finding.change.value == 50
