"""A guideline's rules, their exceptions, and the words in which a breach is told."""

from dataclasses import replace
from types import MappingProxyType

import pytest

from planner.audit import audit_settings
from planner.errors import InputError
from planner.settings.load import load_guideline
from planner.settings.model import Bead, Feature, Level


def one(findings):
    (finding,) = findings
    return finding


@pytest.mark.parametrize(
    ("key", "value", "demand", "fault"),
    [
        ("walls", 3, {"at_least": 3}, None),
        ("walls", 2, {"at_least": 3}, ("2 walls", "at least 3 walls", "walls: 3")),
        ("walls", 2, {"at_least": 2.5}, ("2 walls", "at least 2.5 walls", "walls: 3")),
        ("infill", 0.4, {"at_most": 0.4}, None),
        ("infill", 0.41, {"at_most": 0.4}, ("41 %", "at most 40 %", "infill: 0.4")),
        ("layer_mm", 0.1 + 0.2, {"one_of": (0.3,)}, None),
        ("layer_mm", 0.1 + 0.2, {"at_most": 0.3}, None),
        (
            "layer_mm",
            0.28,
            {"one_of": (0.1, 0.2)},
            ("0.28 mm", "0.1 mm or 0.2 mm", "layer_mm: 0.2"),
        ),
        ("material", "PLA", {"one_of": ("pla",)}, None),
        ("material", "abs", {"one_of": ("pla", "petg")}, ("abs", "pla or petg", "material: pla")),
        ("material", "pla", {"one_of": (1.0,)}, ("pla", "1", "material: 1")),
        ("walls", 3, {"one_of": ("many", 4.0)}, ("3 walls", "many or 4 walls", "walls: many")),
        ("layer_mm", 0.2000001, {"one_of": (0.2,)}, None),
        ("layer_mm", 0.20001, {"one_of": (0.2,)}, ("0.20001 mm", "0.2 mm", "layer_mm: 0.2")),
        ("brim_mm", 1e-13, {"one_of": (0.0,)}, None),
        ("support", False, {"one_of": (False,)}, None),
        ("support", True, {"one_of": (False,)}, ("support on", "support off", "support: false")),
        ("support", True, {"one_of": (1.0,)}, ("support on", "1", "support: 1")),
        ("brim_mm", 6.0, {"at_least": 0, "at_most": 5}, ("6 mm", "0 mm to 5 mm", "brim_mm: 5")),
        (
            "top_layers",
            1,
            {"at_least": 3},
            ("1 top layer", "at least 3 top layers", "top_layers: 3"),
        ),
        (
            "bead",
            Bead.STADIUM,
            {"one_of": ("rectangle",)},
            ("stadium", "rectangle", "bead: rectangle"),
        ),
        ("infill", 0.15, {"usual_of_material": True}, None),
        ("infill", 0.4, {"usual_of_material": True}, None),
        ("infill", 0.14, {"usual_of_material": True}, ("14 %", "15 % to 40 %", "infill: 0.15")),
        ("infill", 0.45, {"usual_of_material": True}, ("45 %", "15 % to 40 %", "infill: 0.4")),
        (
            "nozzle_c",
            189,
            {"usual_of_material": True},
            ("189 °C", "190 °C to 220 °C", "nozzle_c: 190"),
        ),
        ("bed_c", 66, {"usual_of_material": True}, ("66 °C", "45 °C to 65 °C", "bed_c: 65")),
    ],
)
def test_each_demand_holds_up_to_its_bound_and_not_beyond(build, key, value, demand, fault):
    """The bound itself is allowed; what breaks it is told with unit, wish and next value."""
    rules = build.guideline(build.rule(key, **demand))
    findings = audit_settings(
        build.settings(**{key: value}), rules, build.filament(), where="job.yaml:40"
    )

    if fault is None:
        assert findings == ()
        return
    found, expected, remedy = fault
    finding = one(findings)
    assert (finding.rule, finding.level) == (key, Level.WARN)
    assert finding.found == found
    assert finding.expected.startswith(f"{expected} (guideline everyday")
    assert finding.remedy == f"set {remedy} in job.yaml:40"
    assert (finding.why, finding.source) == ("it bends", "a test")


def test_speeds_are_held_feature_by_feature_and_travel_is_left_out(build):
    """Travel lays nothing down, so a limit on speed means the other features."""
    slow = build.settings(speed=40.0)
    findings = audit_settings(
        slow, build.guideline(build.rule("speed_mm_s", at_least=41)), build.filament()
    )

    assert len(findings) == 6
    assert not any("travel" in finding.found for finding in findings)
    assert findings[-1].found == "support 40 mm/s"
    assert findings[-1].remedy == "set speed_mm_s: {support: 41} in sturdy"


def test_the_speed_of_one_feature_can_be_asked_for(build):
    """A dotted key picks one entry, travel included when it is named."""
    rules = build.guideline(
        build.rule("speed_mm_s.outer_wall", at_most=50),
        build.rule("speed_mm_s.travel", at_most=100),
    )
    findings = audit_settings(build.settings(), rules, build.filament())

    assert [finding.found for finding in findings] == ["outer wall 60 mm/s", "travel 150 mm/s"]


class TestExceptionsOfTheGuideline:
    """Rules that name parts or tags."""

    def rules(self, build):
        """One general rule, two for tags, one for a part."""
        return build.guideline(
            build.rule(at_least=3),
            build.rule(at_least=2, tags=("bin",)),
            build.rule(at_least=7, tags=("tank",)),
            build.rule(at_least=5, parts=("hook",), level=Level.STOP),
        )

    @pytest.mark.parametrize(
        ("part", "tags", "needs", "by_whom"),
        [
            ("panel", (), 3, ""),
            ("", (), 3, ""),
            ("panel", ("other",), 3, ""),
            ("panel", ("bin",), 2, ", for tag bin"),
            ("panel", ("tank", "bin"), 2, ", for tag bin"),
            ("hook", ("bin",), 5, ", for hook"),
        ],
    )
    def test_the_closest_rule_stands_in_place_of_the_general_one(
        self, build, part, tags, needs, by_whom
    ):
        """Part before tag before all; of two tags the one first in the guideline."""
        for walls in (needs - 1, needs):
            findings = audit_settings(
                build.settings(walls=walls),
                self.rules(build),
                build.filament(),
                part=part,
                tags=tags,
            )
            assert len(findings) == needs - walls
        below = audit_settings(
            build.settings(walls=needs - 1),
            self.rules(build),
            build.filament(),
            part=part,
            tags=tags,
        )
        assert one(below).expected == f"at least {needs} walls (guideline everyday{by_whom})"
        assert one(below).level is (Level.STOP if part == "hook" else Level.WARN)

    def test_an_exception_for_others_leaves_no_rule_behind(self, build):
        """A rule with parts or tags never falls on somebody else."""
        rules = build.guideline(build.rule(at_least=9, parts=("hook",), tags=("bin",)))
        for single in ({"parts": ("hook",)}, {"tags": ("bin",)}):
            only = build.guideline(build.rule(at_least=9, **single))
            assert audit_settings(build.settings(), only, build.filament(), part="panel") == ()

        assert audit_settings(build.settings(), rules, build.filament(), part="panel") == ()
        assert audit_settings(build.settings(), rules, build.filament(), part="hook")
        assert audit_settings(build.settings(), rules, build.filament(), tags=("bin",))


class TestExceptionsOfThePart:
    """Reasons that a part gives for itself."""

    def test_a_reason_turns_the_finding_into_a_note_that_quotes_it(self, build):
        """Never dropped: the reader sees what, how strictly it was meant, and the reason."""
        rules = build.guideline(build.rule(at_least=4, level=Level.STOP))
        finding = one(
            audit_settings(
                build.settings(),
                rules,
                build.filament(),
                exceptions={"walls": "bends on purpose"},
            )
        )

        assert finding.level is Level.NOTE
        assert '"bends on purpose"' in finding.why
        assert "else stop, for it bends" in finding.why
        assert "set walls: 4" in finding.remedy

    def test_a_reason_for_one_rule_excuses_no_other(self, build):
        """The key must be the rule's."""
        rules = build.guideline(build.rule(at_least=4))
        finding = one(
            audit_settings(
                build.settings(), rules, build.filament(), exceptions={"infill": "light"}
            )
        )

        assert finding.level is Level.WARN


class TestWhereAValueWasWritten:
    """The line to change, from where the value came."""

    def finding(self, build, origin, *, part="hook", where="job.yaml:40"):
        """Return the finding about 2 walls that were written at `origin`."""
        settings = build.settings(walls=2, origin=MappingProxyType({"walls": origin}))
        rules = build.guideline(build.rule(at_least=3))
        return one(audit_settings(settings, rules, build.filament(), part=part, where=where))

    def test_a_value_of_the_same_file_is_changed_at_its_line(self, build):
        """The user is sent to the very line."""
        finding = self.finding(build, "job.yaml:43")

        assert finding.where == "job.yaml:43"
        assert finding.found == "2 walls"
        assert finding.remedy == "set walls: 3 in job.yaml:43"

    @pytest.mark.parametrize("origin", ["profile sturdy_020", "mine.yaml:7", "other/job.yaml:7"])
    def test_a_value_from_elsewhere_is_overridden_at_the_part(self, build, origin):
        """A shared profile is not the place to change one part."""
        finding = self.finding(build, origin)

        assert finding.where == "job.yaml:40"
        assert finding.found == f"2 walls (from {origin})"
        assert finding.remedy == "set walls: 3 under the settings of hook (job.yaml:40)"

    def test_a_profile_on_its_own_is_changed_where_it_is_written(self, build):
        """No part, no file given: the origin is all there is."""
        finding = self.finding(build, "mine.yaml:7", part="", where="")

        assert finding.where == "mine.yaml:7"
        assert finding.remedy == "set walls: 3 in mine.yaml:7"

    def test_a_colon_in_a_folder_does_not_confuse_file_and_line(self, build):
        """Only the last colon followed by digits ends the file's name."""
        finding = self.finding(build, "a:1/job.yaml:43", where="a:1/job.yaml:40")

        assert finding.where == "a:1/job.yaml:43"


class TestRulesThatMakeNoSense:
    """Guidelines that cannot be held against anything."""

    @pytest.mark.parametrize("key", ["wals", "name", "origin"])
    def test_a_rule_for_no_setting_is_refused(self, build, key):
        """The guideline is at fault, and the sentence names it."""
        rules = build.guideline(build.rule(key, at_least=3))

        with pytest.raises(InputError, match=f"everyday: {key}: found a rule for '{key}'"):
            audit_settings(build.settings(), rules, build.filament())

    def test_the_usual_of_something_filaments_do_not_hold_is_refused(self, build):
        """Only infill and the two temperatures have a usual interval."""
        rules = build.guideline(build.rule("walls", usual_of_material=True))

        with pytest.raises(InputError, match="usual 'walls'"):
            audit_settings(build.settings(), rules, build.filament())

    @pytest.mark.parametrize("key", ["support", "material", "bead", "infill_pattern"])
    def test_a_bound_for_what_is_no_number_is_refused(self, build, key):
        """The remedy is one_of."""
        rules = build.guideline(build.rule(key, at_least=1))

        with pytest.raises(InputError, match="under one_of"):
            audit_settings(build.settings(), rules, build.filament())

    def test_a_material_without_profile_is_said_not_to_be_checked(self, build):
        """Silence would read as approval."""
        rules = build.guideline(build.rule("infill", usual_of_material=True))
        finding = one(audit_settings(build.settings(), rules, None))

        assert finding.level is Level.NOTE
        assert "not checked" in finding.found


def test_a_rule_without_words_still_gives_reason_and_source(build):
    """A guideline of somebody else may be terse; a finding may not."""
    terse = replace(build.rule(at_least=9), why="", source="")
    finding = one(audit_settings(build.settings(), build.guideline(terse), build.filament()))

    assert "everyday" in finding.why
    assert "everyday" in finding.source


class TestFeaturesByName:
    """Rules for one feature, as a file of the user names them."""

    def read(self, folder, rules):
        """Return a guideline that was read from a file."""
        path = folder / "own.yaml"
        path.write_text("schema: platewright/guideline/1\nrules:\n" + rules)
        return load_guideline(str(path))

    def test_a_rule_read_from_a_file_is_held_against_its_feature(self, build, tmp_path):
        """The outer wall at 60 mm/s is beyond 50; the others are not asked."""
        demand = "{at_most: 50, level: warn, why: a, source: b}"
        rules = self.read(tmp_path, f"  speed_mm_s.outer_wall: {demand}")
        finding = one(audit_settings(build.settings(), rules, build.filament()))

        assert (finding.rule, finding.found) == ("speed_mm_s.outer_wall", "outer wall 60 mm/s")
        assert (finding.change.key, finding.change.value) == ("speed_mm_s.outer_wall", 50)

    @pytest.mark.parametrize(("own", "found"), [({}, 1000), ({Feature.OUTER_WALL: 950}, 950)])
    def test_a_feature_without_its_own_acceleration_has_that_of_all(
        self, build, tmp_path, own, found
    ):
        """Both are beyond 900 mm/s2."""
        demand = "{at_most: 900, level: warn, why: a, source: b}"
        rules = self.read(tmp_path, f"  feature_acceleration_mm_s2.outer_wall: {demand}")
        settings = build.settings(feature_acceleration_mm_s2=own)
        finding = one(audit_settings(settings, rules, build.filament()))

        assert finding.found == f"outer wall {found} mm/s²"

    def test_the_first_layer_has_the_width_of_all_lines_where_it_has_none(self, build, tmp_path):
        """0.45 mm is narrower than 0.5 mm."""
        demand = "{at_least: 0.5, level: warn, why: a, source: b}"
        rules = self.read(tmp_path, f"  first_layer_width_mm: {demand}")
        finding = one(audit_settings(build.settings(), rules, build.filament()))

        assert finding.found == "0.45 mm"
