"""Audits for machines: SARIF against its published schema, JUnit XML against its common core."""

import json
from dataclasses import replace
from pathlib import Path

import jsonschema
import pytest
from lxml import etree

from planner.audit.model import AuditedFile, Change, Finding
from planner.errors import Problem
from planner.handover.batch import Batch, Refused
from planner.report.junit import audit_junit
from planner.report.sarif import audit_sarif
from planner.settings.model import Level

SCHEMAS = Path(__file__).parent / "schemas"

FINDING = Finding(
    rule="walls",
    level=Level.STOP,
    part="hook",
    where="my wall/job.yaml:12",
    found="2 walls",
    expected="at least 3 walls",
    why="walls carry",
    remedy="set walls: 3 in my wall/job.yaml:12",
    source="common practice, no source",
    change=Change(key="walls", value=3),
)
ODD = 'a "b" <c> & \x1b[1m \udcff ]]> é'


def batch(*findings, refused=(), file="my wall/job.yaml"):
    return Batch(
        files=(AuditedFile(file=file, kind="job", read={}, findings=findings),), refused=refused
    )


REFUSED = Refused(
    file="b.ini",
    problems=(
        Problem(file="b.ini", line=3, found="x", expected="y", remedy="z"),
        Problem(file="b.ini", found="x", expected="y", remedy="z"),
    ),
)
NOTE = replace(FINDING, level=Level.NOTE, rule="thin wall", part="", where="my wall/job.yaml")
BATCHES = {
    "none": batch(),
    "stop": batch(FINDING),
    "every level": batch(FINDING, replace(FINDING, level=Level.WARN, rule="fan"), NOTE),
    "twice the same": batch(FINDING, replace(FINDING, found="1 wall")),
    "line zero": batch(replace(FINDING, where="job.yaml:0")),
    "another file": batch(replace(FINDING, where="/abs/base.yaml:3")),
    "odd text": batch(
        replace(FINDING, found=ODD, part=ODD, rule=ODD, where=f"{ODD}:1"), file=f"a/{ODD}:x"
    ),
    "refused": batch(FINDING, refused=(REFUSED,)),
}


@pytest.mark.parametrize("name", BATCHES)
class TestForms:
    """Every kind of batch, against the schemas."""

    def test_sarif_is_valid_by_the_published_schema(self, name):
        """Validation: OASIS, SARIF 2.1.0 with errata 01, formats of URIs checked too."""
        schema = json.loads((SCHEMAS / "sarif-schema-2.1.0.json").read_text(encoding="utf-8"))
        checker = jsonschema.Draft4Validator(
            schema, format_checker=jsonschema.Draft4Validator.FORMAT_CHECKER
        )
        document = json.loads(json.dumps(audit_sarif(BATCHES[name])))

        assert [error.message for error in checker.iter_errors(document)] == []

    def test_junit_is_valid_by_its_common_core(self, name):
        """The form that readers agree on; see the schema for its origin."""
        schema = etree.XMLSchema(etree.parse(SCHEMAS / "junit.xsd"))
        document = etree.fromstring(audit_junit(BATCHES[name]))

        assert schema.validate(document), schema.error_log

    def test_junit_counts_what_it_holds(self, name):
        """Suites add up to the whole, and their cases to the suites."""
        root = etree.fromstring(audit_junit(BATCHES[name]))
        for place in (root, *root):
            assert int(place.get("tests")) == len(list(place.iter("testcase")))
            assert int(place.get("failures")) == len(list(place.iter("failure")))
            assert int(place.get("errors")) == len(list(place.iter("error")))

    def test_the_same_batch_gives_the_same_bytes(self, name):
        """No clock, no chance."""
        assert audit_junit(BATCHES[name]) == audit_junit(BATCHES[name])
        assert json.dumps(audit_sarif(BATCHES[name])) == json.dumps(audit_sarif(BATCHES[name]))


def test_the_schemas_refuse_what_is_wrong():
    """A check that cannot fail checks nothing."""
    schema = json.loads((SCHEMAS / "sarif-schema-2.1.0.json").read_text(encoding="utf-8"))
    document = audit_sarif(BATCHES["stop"])
    document["runs"][0]["results"][0]["level"] = "stop"
    assert not jsonschema.Draft4Validator(schema).is_valid(document)

    xsd = etree.XMLSchema(etree.parse(SCHEMAS / "junit.xsd"))
    root = etree.fromstring(audit_junit(BATCHES["stop"]))
    root[0].append(root[0][0].__copy__())
    assert not xsd.validate(root)  # the same case twice


class TestSarif:
    """What a reader of SARIF sees."""

    def result(self, name="stop", index=0):
        """Return one result of a batch."""
        return audit_sarif(BATCHES[name])["runs"][0]["results"][index]

    def test_levels(self):
        """Stop is an error, warn a warning, note a note."""
        levels = [self.result("every level", index)["level"] for index in range(3)]

        assert levels == ["error", "warning", "note"]

    def test_a_finding_points_at_its_line(self):
        """The file as a URI, the line counted from 1, the part as a logical place."""
        (location,) = self.result()["locations"]

        assert location["physicalLocation"] == {
            "artifactLocation": {"uri": "my%20wall/job.yaml"},
            "region": {"startLine": 12},
        }
        assert location["logicalLocations"][0]["name"] == "hook"

    def test_a_value_from_another_file_points_there(self):
        """The base of the settings, say."""
        (location,) = self.result("another file")["locations"]
        place = location["physicalLocation"]

        assert place["artifactLocation"]["uri"] == "file:///abs/base.yaml"
        assert place["region"]["startLine"] == 3

    def test_rules_are_listed_once_and_pointed_at(self):
        """The index of each result is that of its rule."""
        run = audit_sarif(BATCHES["every level"])["runs"][0]
        ids = [rule["id"] for rule in run["tool"]["driver"]["rules"]]

        assert ids == sorted(ids) == ["fan", "thin-wall", "walls"]
        assert all(ids[result["ruleIndex"]] == result["ruleId"] for result in run["results"])

    def test_a_refused_file_is_a_failed_run(self):
        """With what was wrong in it, and its line where it is known."""
        (invocation,) = audit_sarif(BATCHES["refused"])["runs"][0]["invocations"]
        notes = invocation["toolExecutionNotifications"]

        assert invocation["executionSuccessful"] is False
        assert notes[0]["locations"][0]["physicalLocation"]["region"] == {"startLine": 3}
        assert "region" not in notes[1]["locations"][0]["physicalLocation"]
        (good,) = audit_sarif(BATCHES["stop"])["runs"][0]["invocations"]
        assert good["executionSuccessful"] is True


class TestJunit:
    """What a reader of JUnit XML sees."""

    def test_only_stops_fail(self):
        """So that a batch is refused for them alone."""
        root = etree.fromstring(audit_junit(BATCHES["every level"]))

        assert [len(case.findall("failure")) for case in root.iter("testcase")] == [1, 0, 0]
        assert root.findtext(".//failure").startswith("found: 2 walls\nexpected: at least 3")
        told = [out.text.partition("\n")[0] for out in root.iter("system-out")]
        assert told == ["warn", "note"]

    def test_a_file_without_findings_passes(self):
        """One case, so that the file is seen to have been audited."""
        (case,) = etree.fromstring(audit_junit(BATCHES["none"])).iter("testcase")

        assert (case.get("name"), len(case)) == ("no findings", 0)

    def test_a_refused_file_is_an_error(self):
        """With every problem in its text."""
        root = etree.fromstring(audit_junit(BATCHES["refused"]))
        (error,) = root.iter("error")

        assert error.get("message") == "b.ini:3: found x, expected y; z"
        assert len(error.text.splitlines()) == 2
