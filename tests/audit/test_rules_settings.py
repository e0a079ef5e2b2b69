"""Settings against physics: each rule on both sides of its bound."""

from math import pi

import pytest

from planner.audit import audit_physics
from planner.audit.rules.flow import section_mm2
from planner.audit.settings import RULES
from planner.settings.model import Bead, Feature, Level

STOP, WARN, NOTE = Level.STOP, Level.WARN, Level.NOTE


def physics(build, changes, **more):
    """Return (rule, level) of every finding, for machines that can take anything."""
    more = {"printers": {}} | more
    findings = audit_physics(build.settings(**changes), build.filament(), **more)
    return [(finding.rule, finding.level) for finding in findings]


def test_sound_settings_have_no_findings(build):
    """The builder's settings are the zero of all tests below."""
    assert physics(build, {}) == []


# Bounds by hand: nozzle 0.4 mm gives layers of 0.08 to 0.32 mm and lines of 0.4 to 0.6 mm.
@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"layer_mm": 0.08, "top_layers": 8, "bottom_layers": 8}, []),
        (
            {"layer_mm": 0.079, "top_layers": 8, "bottom_layers": 8},
            [("layer and nozzle", NOTE)],
        ),
        ({"layer_mm": 0.32, "first_layer_mm": 0.32}, []),
        ({"layer_mm": 0.321, "first_layer_mm": 0.32}, [("layer and nozzle", WARN)]),
        ({"layer_mm": 0.4, "first_layer_mm": 0.32}, [("layer and nozzle", WARN)]),
        ({"layer_mm": 0.401, "first_layer_mm": 0.32}, [("layer and nozzle", STOP)]),
        (
            {"layer_mm": 0.4, "first_layer_mm": 0.31},
            [("layer and nozzle", WARN), ("first layer", NOTE)],
        ),
        ({"first_layer_mm": 0.32}, []),
        ({"first_layer_mm": 0.33}, [("first layer", WARN)]),
        ({"first_layer_mm": 0.41}, [("first layer", STOP)]),
        ({"first_layer_mm": 0.19, "bottom_layers": 5}, [("first layer", NOTE)]),
        ({"line_width_mm": 0.4}, []),
        ({"line_width_mm": 0.39}, [("line and nozzle", WARN)]),
        ({"line_width_mm": 0.6}, []),
        ({"line_width_mm": 0.61}, [("line and nozzle", WARN)]),
        ({"nozzle_mm": 0.3, "line_width_mm": 0.3, "layer_mm": 0.24, "first_layer_mm": 0.24}, []),
        (
            {"line_width_mm": 0.19},
            [("line and nozzle", STOP), ("line and nozzle", WARN)],
        ),
        ({"nozzle_c": 190}, []),
        ({"nozzle_c": 189}, [("nozzle_c", WARN)]),
        ({"nozzle_c": 170}, [("nozzle_c", WARN)]),
        ({"nozzle_c": 169}, [("nozzle_c", STOP)]),
        ({"nozzle_c": 220}, []),
        ({"nozzle_c": 240}, [("nozzle_c", WARN)]),
        ({"nozzle_c": 241}, [("nozzle_c", STOP)]),
        ({"bed_c": 45}, []),
        ({"bed_c": 44}, [("bed_c", WARN)]),
        ({"bed_c": 65}, []),
        ({"bed_c": 120}, [("bed_c", WARN)]),
        ({"top_layers": 3}, []),
        ({"top_layers": 2}, [("solid skin", NOTE)]),
        ({"top_layers": 0}, [("solid skin", WARN)]),
        ({"top_layers": 0, "infill": 1.0}, []),
        ({"bottom_layers": 3}, []),
        ({"bottom_layers": 2}, [("solid skin", NOTE)]),
        ({"bottom_layers": 2, "first_layer_mm": 0.3}, [("solid skin", NOTE)]),
        ({"bottom_layers": 2, "first_layer_mm": 0.32, "layer_mm": 0.28}, []),
        ({"bottom_layers": 0}, [("solid skin", WARN)]),
        ({"walls": 1}, []),
        ({"walls": 0}, [("no outline", STOP)]),
        ({"infill": 0.0}, [("settings disagree", WARN)]),
        ({"infill": 0.0, "top_layers": 0}, [("solid skin", WARN)]),
        ({"infill": 1.0}, []),
        ({"infill": 1.0, "infill_pattern": "grid"}, [("settings disagree", NOTE)]),
        ({"infill": 0.99, "infill_pattern": "grid"}, []),
        ({"brim_mm": 0.44}, [("settings disagree", NOTE)]),
        ({"brim_mm": 0.45}, []),
        ({"material": "PLA"}, []),
        ({"material": "petg"}, [("settings disagree", STOP)]),
    ],
)
def test_each_rule_holds_up_to_its_bound_and_not_beyond(build, changes, expected):
    """One table for all rules that need only settings and filament."""
    assert physics(build, changes) == expected


class TestFlow:
    """Flow by hand: 0.45 x 0.2 mm at 60 mm/s is 5.4 mm3/s; at 100 mm/s 9.0."""

    def findings(self, build, *, ends=(), filament_limit=15.0, **changes):
        """Return the findings with these hot ends (name -> mm3/s)."""
        ends = {name: build.printer(flow_max_mm3_s=limit) for name, limit in dict(ends).items()}
        return audit_physics(
            build.settings(**changes),
            build.filament(flow_max_mm3_s=filament_limit),
            printers=ends,
            where="job.yaml:40",
        )

    def test_flow_at_the_cap_is_allowed(self, build):
        """0.5 x 0.2 mm at 100 mm/s is 10 mm3/s, exactly the cap."""
        assert self.findings(build, line_width_mm=0.5, speed=100, flow_max_mm3_s=10) == ()

    def test_the_settings_own_cap_is_only_noted_with_the_speed_left(self, build):
        """9.0 mm3/s against 8.1 leaves 8.1 / 0.09 = 90 mm/s."""
        (finding,) = self.findings(build, speed=100, flow_max_mm3_s=8.1)

        assert finding.level is Level.NOTE
        assert finding.found.startswith("outer wall at 100 mm/s asks for 9.0 mm³/s")
        assert "90 mm/s" in finding.why
        assert finding.remedy == "set speed_mm_s: {outer_wall: 90} in job.yaml:40"

    def test_the_filaments_limit_is_warned_of(self, build):
        """9.0 mm3/s against 4.5 leaves 50 mm/s."""
        (finding,) = self.findings(build, speed=100, filament_limit=4.5)

        assert finding.level is Level.WARN
        assert "filament pla" in finding.expected
        assert "50 mm/s is left" in finding.why
        assert finding.remedy == "set flow_max_mm3_s: 4.5 in job.yaml:40"

    def test_a_cap_in_the_settings_satisfies_the_filament(self, build):
        """What is asked of the melt is what is left after the cap: only the note stays."""
        (finding,) = self.findings(build, speed=100, flow_max_mm3_s=4.5, filament_limit=4.5)

        assert finding.level is Level.NOTE

    def test_slow_hot_ends_are_named_by_their_limit(self, build):
        """Machines with the same limit share a finding; those that keep up are not named."""
        ends = {"b": 8.0, "a": 8.0, "c": 9.0, "d": 5.0}
        findings = self.findings(build, speed=100, ends=ends)

        assert [(f.level, f.expected) for f in findings] == [
            (Level.WARN, "at most 5 mm³/s, the limit of the hot end of d"),
            (Level.WARN, "at most 8 mm³/s, the limit of the hot end of a and b"),
        ]

    @pytest.mark.parametrize(
        ("fastest", "limit", "short"), [(100, 8.9, 1), (90, 8.1, 0), (90, 8, 1)]
    )
    def test_a_machine_is_asked_for_no_more_than_its_own_speed(self, build, fastest, limit, short):
        """At 90 mm/s 0.45 x 0.2 mm is 8.1 mm3/s, whatever the settings wish."""
        bench = build.printer(speed_max_mm_s=fastest, flow_max_mm3_s=limit)
        findings = audit_physics(
            build.settings(speed=100), build.filament(), printers={"bench": bench}
        )

        assert sum(finding.rule == "flow" for finding in findings) == short

    @pytest.mark.parametrize(
        ("feature", "changes", "in_use"),
        [
            (Feature.OUTER_WALL, {}, True),
            (Feature.SOLID_FILL, {}, True),
            (Feature.INNER_WALLS, {}, True),
            (Feature.INNER_WALLS, {"walls": 1}, False),
            (Feature.INNER_WALLS, {"walls": 2}, True),
            (Feature.SPARSE_FILL, {}, True),
            (Feature.SPARSE_FILL, {"infill": 1.0}, False),
            (Feature.SUPPORT, {}, False),
            (Feature.SUPPORT, {"support": True}, True),
            (Feature.BRIM, {}, False),
            (Feature.BRIM, {"brim_mm": 0.5}, True),
            (Feature.TRAVEL, {}, False),
        ],
    )
    def test_only_features_in_use_count(self, build, feature, changes, in_use):
        """A fast support that is never printed asks for nothing."""
        speeds = dict.fromkeys(Feature, 20.0) | {feature: 200.0}
        findings = self.findings(build, speed_mm_s=speeds, filament_limit=17.0, **changes)

        assert [f.found.split(" at ")[0] for f in findings] == [str(feature)] * in_use

    def test_a_brim_is_laid_at_the_height_of_the_first_layer(self, build):
        """0.45 x 0.3 x 60 = 8.1 mm3/s, against 5.4 for the rest."""
        (finding,) = self.findings(build, brim_mm=5, first_layer_mm=0.3, flow_max_mm3_s=8.0)

        assert finding.found.startswith("brim at 60 mm/s asks for 8.1 mm³/s")

    def test_sections_agree_with_closed_forms(self, build):
        """Rectangle w h; stadium (w - h) h + pi h^2 / 4: 0.0814159 mm2 for 0.45 x 0.2."""
        rounded = section_mm2(build.settings(bead=Bead.STADIUM), 0.2)

        assert section_mm2(build.settings(), 0.2) == pytest.approx(0.09, rel=1e-12)
        assert rounded == pytest.approx(0.25 * 0.2 + pi * 0.01, rel=1e-12)
        assert rounded == pytest.approx(0.0814159, abs=5e-8)


class TestEnclosure:
    """A material that warps in the open."""

    def test_a_file_alone_is_told_that_its_material_wants_an_enclosure(self, build):
        """With machines at hand, whether one has a chamber is another rule's business."""
        warm = build.filament(needs_enclosure=True)

        (finding,) = audit_physics(build.settings(fan=0.2), warm)
        assert (finding.rule, finding.level) == ("enclosure", Level.NOTE)
        assert (
            audit_physics(build.settings(fan=0.2), warm, printers={"bench": build.printer()}) == ()
        )
        assert audit_physics(build.settings(), build.filament()) == ()


def test_no_filament_profile_no_verdict_on_temperatures(build):
    """Rules that need a profile do not guess one."""
    assert audit_physics(build.settings(nozzle_c=500, bed_c=0), None) == ()


def test_a_reason_of_the_part_excuses_physics_too_but_not_a_missing_outline(build):
    """What cannot be made stays a stop, and says so."""
    reasons = {"layer and nozzle": "a draft", "no outline": "because"}
    findings = audit_physics(
        build.settings(layer_mm=0.36, first_layer_mm=0.36, walls=0),
        build.filament(),
        exceptions=reasons,
        printers={},
    )

    levels = {finding.rule: finding.level for finding in findings}
    assert levels == {"no outline": STOP, "layer and nozzle": NOTE, "first layer": WARN}
    assert "cannot lift" in findings[0].why


@pytest.mark.parametrize(
    "rule", [pytest.param(rule, id=f"{name}, {rule.__name__}") for name, rule in RULES]
)
def test_every_rule_can_be_broken(build, rule):
    """A rule that nothing breaks is asleep: one of these settings breaks each."""
    worst = [
        build.subject(layer_mm=0.5, first_layer_mm=0.5, line_width_mm=0.3, walls=0, infill=0.0),
        build.subject(nozzle_c=100, bed_c=150, top_layers=0, brim_mm=0.1, material="abs"),
        build.subject(infill=1.0, infill_pattern="grid", top_layers=0),
        build.subject(infill=0.0, top_layers=2, first_layer_width_mm=0.9, lift_mm=1, retract_mm=0),
        build.subject(filament=build.filament(needs_enclosure=True), fan=1.0),
        build.subject(support=True, overhang_deg=90),
        build.subject(feature_acceleration_mm_s2={Feature.OUTER_WALL: 5000}),
    ]

    assert any(list(rule(each)) for each in worst)
