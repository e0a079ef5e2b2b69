"""An audit in the Static Analysis Results Interchange Format, version 2.1.0 (OASIS).

Clause numbers are those of the standard's text, from memory. Levels: stop is `error`, warn
`warning`, note `note`.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any
from urllib.parse import quote

from planner import __version__
from planner.audit.subject import line_of

if TYPE_CHECKING:
    from collections.abc import Iterable

    from planner.audit.model import Finding
    from planner.errors import Problem
    from planner.handover.batch import Batch

SCHEMA = (
    "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json"
)
LEVELS = {"stop": "error", "warn": "warning", "note": "note"}

Node = dict[str, Any]


def audit_sarif(batch: Batch) -> Node:
    """Return the batch as a SARIF 2.1.0 log: one run, a rule per name, a result per finding."""
    findings = [(file.file, finding) for file in batch.files for finding in file.findings]
    rules = sorted({finding.rule for _, finding in findings})
    driver = {
        "name": "platewright",
        "version": __version__,
        "semanticVersion": __version__,
        "rules": [_rule(rule, [f for _, f in findings if f.rule == rule]) for rule in rules],
    }
    run: Node = {
        "tool": {"driver": driver},
        "invocations": [_invocation(batch)],
        "artifacts": [
            {"location": {"uri": uri_of(name)}}
            for name in sorted(
                {file.file for file in batch.files} | {r.file for r in batch.refused}
            )
        ],
        "results": [_result(file, finding, rules) for file, finding in findings],
        "columnKind": "unicodeCodePoints",
    }
    return {"$schema": SCHEMA, "version": "2.1.0", "runs": [run]}


def rule_id(rule: str) -> str:
    """Return a rule's name as an identifier.

    >>> rule_id("layer and nozzle"), rule_id("speed_mm_s.outer wall")
    ('layer-and-nozzle', 'speed_mm_s.outer-wall')
    """
    return re.sub(r"[^A-Za-z0-9_.]+", "-", rule).strip("-") or "rule"


def uri_of(path: str) -> str:
    """Return a path as a URI reference (RFC 3986): relative ones stay relative.

    >>> uri_of("my wall/job.yaml"), uri_of("/tmp/a.ini"), uri_of("a:b.ini")
    ('my%20wall/job.yaml', 'file:///tmp/a.ini', 'a%3Ab.ini')
    """
    quoted = quote(path.replace("\\", "/").encode(errors="surrogateescape"), safe="/")
    return f"file://{quoted}" if quoted.startswith("/") else quoted


def _rule(rule: str, findings: Iterable[Finding]) -> Node:
    first = min(findings, key=lambda finding: (finding.why, finding.source))
    return {
        "id": rule_id(rule),
        "name": rule,
        "shortDescription": {"text": rule},
        "fullDescription": {"text": first.why},
        "help": {"text": f"Why: {first.why}. Source: {first.source}"},
    }


def _result(file: str, finding: Finding, rules: list[str]) -> Node:
    whom = f"{finding.part}: " if finding.part else ""
    text = f"{whom}found {finding.found}, expected {finding.expected}. Do: {finding.remedy}"
    location: Node = {"physicalLocation": _physical(file, finding.where)}
    if finding.part:
        location["logicalLocations"] = [{"name": finding.part, "kind": "member"}]
    said = {key: getattr(finding, key) for key in ("part", "found", "expected", "why", "remedy")}
    return {
        "ruleId": rule_id(finding.rule),
        "ruleIndex": rules.index(finding.rule),
        "kind": "fail",
        "level": LEVELS[str(finding.level)],
        "message": {"text": text},
        "locations": [location],
        "properties": {**said, "source": finding.source, "level": str(finding.level)},
    }


def _physical(file: str, where: str) -> Node:
    """Return the place of a finding: its own file and line, else the audited file."""
    line = line_of(where)
    if line is None or line < 1:
        return {"artifactLocation": {"uri": uri_of(file)}}
    name = where.rpartition(":")[0]
    return {"artifactLocation": {"uri": uri_of(name)}, "region": {"startLine": line}}


def _invocation(batch: Batch) -> Node:
    notes = [_notification(r.file, problem) for r in batch.refused for problem in r.problems]
    said: Node = {"toolExecutionNotifications": notes} if notes else {}
    return {"executionSuccessful": not batch.refused, **said}


def _notification(file: str, problem: Problem) -> Node:
    place: Node = {"artifactLocation": {"uri": uri_of(file)}}
    if problem.line:
        place["region"] = {"startLine": problem.line}
    return {
        "level": "error",
        "message": {"text": str(problem)},
        "locations": [{"physicalLocation": place}],
    }
