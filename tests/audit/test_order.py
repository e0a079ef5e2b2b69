"""Order and grouping, and the document that machines read."""

import json
import random
from dataclasses import replace
from pathlib import Path
from types import MappingProxyType

import pytest

from planner.audit import (
    Finding,
    audit_document,
    audit_physics,
    audit_settings_file,
    audited_job,
    audited_settings,
    grouped,
    has_stop,
    in_order,
)
from planner.settings.model import Level


def finding(**changes):
    """Return a finding with some words changed."""
    values = dict.fromkeys(("part", "where", "found", "expected", "why", "remedy", "source"), "x")
    return Finding(**({"rule": "walls", "level": Level.WARN} | values | changes))


def test_findings_come_by_level_then_rule_then_part():
    """Stops first; the order does not depend on the order in which they were found."""
    wanted = [
        finding(level=Level.STOP, rule="z", part="z"),
        finding(level=Level.WARN, rule="a", part="b"),
        finding(level=Level.WARN, rule="b", part="a"),
        finding(level=Level.WARN, rule="b", part="b", where="1"),
        finding(level=Level.WARN, rule="b", part="b", where="2"),
        finding(level=Level.NOTE, rule="a", part="a"),
    ]
    for seed in range(20):
        shuffled = random.Random(seed).sample(wanted, len(wanted))
        assert list(in_order([*shuffled, shuffled[0]])) == wanted


def test_a_stop_is_seen():
    """What the exit code hangs on."""
    assert has_stop([finding(), finding(level=Level.STOP)])
    assert not has_stop([finding(), finding(level=Level.NOTE)])
    assert not has_stop([])


def test_groups_join_parts_and_places_of_what_is_said_alike():
    """Same level, rule, found and expected: one line with the parts; else apart."""
    same = [finding(part=part, where=f"job.yaml:{line}") for part, line in [("b", 2), ("a", 1)]]
    others = [
        finding(found="y"),
        finding(expected="y"),
        finding(rule="y"),
        finding(level=Level.STOP),
    ]
    groups = grouped([*same, *others, finding(part="", where="", rule="job")])

    (joined,) = [group for group in groups if group.parts == ("a", "b")]
    assert joined.wheres == ("job.yaml:1", "job.yaml:2")
    assert len(groups) == 6
    assert groups[0].level is Level.STOP
    assert [group.parts for group in groups if group.rule == "job"] == [()]


def test_a_group_names_the_parts_that_want_the_same_at_their_own_place():
    """The first remedy in full, the others by name; equal remedies once."""
    ways = [finding(part=part, remedy=f"set it at {part}") for part in ("c", "a", "b")]

    (group,) = grouped(ways)
    assert group.remedy == "set it at a; likewise for b and c"
    (group,) = grouped([finding(part="a"), finding(part="b")])
    assert group.remedy == "x"


class TestDocument:
    """Schema platewright/audit/1."""

    def audited(self, build):
        """Return a settings file with one value of its own and one fault."""
        settings = build.settings(
            walls=0,
            origin=MappingProxyType({"walls": "mine.yaml:4", "layer_mm": "profile sturdy"}),
        )
        findings = audit_physics(settings, build.filament(), where="mine.yaml")
        return audited_settings(Path("mine.yaml"), settings, findings)

    def test_it_holds_what_was_read_with_its_line_and_what_was_found(self, build):
        """A value from elsewhere has an origin and no line."""
        (file,) = audit_document([self.audited(build)])["files"]

        assert (file["file"], file["kind"]) == ("mine.yaml", "settings")
        assert file["read"]["walls"] == {"value": 0, "line": 4, "origin": "mine.yaml:4"}
        assert file["read"]["layer_mm"]["line"] is None
        assert file["read"]["layer_mm"]["origin"] == "profile sturdy"
        assert file["read"]["speed_mm_s.outer_wall"]["value"] == 60
        assert file["read"]["bead"]["value"] == "rectangle"
        assert "origin" not in file["read"]
        assert file["measured"] == {}
        assert file["not_understood"] == []
        (fault,) = file["findings"]
        assert set(fault) == {
            "rule",
            "level",
            "part",
            "where",
            "found",
            "expected",
            "why",
            "remedy",
            "source",
            "change",
        }
        assert (fault["level"], fault["where"]) == ("stop", "mine.yaml:4")

    def test_it_is_json_and_the_same_each_time(self, build):
        """Plain types only, no enum, no mapping proxy."""
        texts = {json.dumps(audit_document([self.audited(build)])) for _ in range(2)}

        assert len(texts) == 1
        assert json.loads(texts.pop())["schema"] == "platewright/audit/1"

    def test_a_settings_file_is_spoken_of_as_the_user_named_it(self, build, tmp_path, monkeypatch):
        """The reader may have resolved the path; the line is found and shown all the same."""
        monkeypatch.chdir(tmp_path)
        origin = {"walls": f"{tmp_path / 'mine.yaml'}:4", "layer_mm": "profile sturdy"}
        settings = build.settings(walls=0, layer_mm=0.3, origin=MappingProxyType(origin))
        rules = build.guideline(
            build.rule("walls", at_least=3), build.rule("layer_mm", one_of=(0.2,))
        )
        file = audit_settings_file(Path("mine.yaml"), settings, rules, build.filament())

        assert file.read["walls"].line == 4
        assert [(f.rule, f.where, f.remedy) for f in file.findings] == [
            ("no outline", "mine.yaml:4", "set walls: 3 in mine.yaml:4"),
            ("layer_mm", "mine.yaml", "set layer_mm: 0.2 in mine.yaml"),
            ("walls", "mine.yaml:4", "set walls: 3 in mine.yaml:4"),
            ("first layer", "mine.yaml", "set first_layer_mm: 0.3 in mine.yaml"),
        ]

    def test_a_job_names_the_part_before_the_key(self, build):
        """Lines count only where the value stands in the job file itself."""
        own = build.settings(origin=MappingProxyType({"walls": "job.yaml:41", "fan": "p.yaml:2"}))
        file = audited_job(build.job(build.part(settings=own)), [finding()])

        assert (file.file, file.kind) == ("job.yaml", "job")
        assert file.read["hook.walls"].line == 41
        assert file.read["hook.fan"].line is None
        assert file.findings == (finding(),)


@pytest.mark.parametrize("field", ["rule", "part", "where", "found", "remedy"])
def test_findings_that_differ_are_never_taken_for_repeats(field):
    """Only true repeats are told once."""
    assert len(in_order([finding(), replace(finding(), **{field: "other"}), finding()])) == 2
