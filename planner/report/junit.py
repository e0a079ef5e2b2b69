"""An audit as JUnit XML, which continuous integration and print servers read.

The form has no standard; this is its common core: test suites of test cases, of which each
passes or holds one `failure` or `error` (common practice; the elements are those of the Ant
JUnit task, from memory). A suite is a file, a case a finding; stops are failures, a file that
cannot be read is an error, warnings and notes pass and are told in `system-out`.
"""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING
from xml.etree import ElementTree as ET

from planner.errors import printable

if TYPE_CHECKING:
    from planner.audit.model import AuditedFile, Finding
    from planner.handover.batch import Batch, Refused

NAME = "platewright audit"


def audit_junit(batch: Batch) -> bytes:
    """Return the batch as a JUnit XML document, UTF-8, the same bytes each time."""
    suites = [*map(_suite, batch.files), *map(_refused, batch.refused)]
    root = ET.Element("testsuites", {"name": NAME, **_totals(suites)})
    root.extend(suites)
    ET.indent(root)
    text: bytes = ET.tostring(root, encoding="utf-8", xml_declaration=True)
    return text + b"\n"


def _totals(suites: list[ET.Element]) -> dict[str, str]:
    counted = ("tests", "failures", "errors", "skipped")
    return {key: str(sum(int(suite.get(key, "0")) for suite in suites)) for key in counted}


def _suite(file: AuditedFile) -> ET.Element:
    cases: list[ET.Element] = []
    used: Counter[str] = Counter()
    for finding in file.findings:
        name = f"{finding.part}: {finding.rule}" if finding.part else finding.rule
        used[name] += 1
        cases.append(_case(file, finding, name if used[name] == 1 else f"{name} ({used[name]})"))
    if not cases:
        cases.append(_element("testcase", name="no findings", classname=file.file))
    stops = sum(str(finding.level) == "stop" for finding in file.findings)
    return _suite_of(file.file, cases, failures=stops)


def _case(file: AuditedFile, finding: Finding, name: str) -> ET.Element:
    case = _element("testcase", name=name, classname=file.file)
    told = _told(finding)
    if str(finding.level) == "stop":
        message = f"found {finding.found}, expected {finding.expected}"
        failure = ET.SubElement(case, "failure", {"message": _clean(message), "type": "stop"})
        failure.text = told
    else:
        ET.SubElement(case, "system-out").text = f"{finding.level}\n{told}"
    return case


def _told(finding: Finding) -> str:
    lines = (
        f"found: {finding.found}",
        f"expected: {finding.expected}",
        f"why: {finding.why}",
        f"do: {finding.remedy}",
        f"where: {finding.where}",
        f"source: {finding.source}",
    )
    return "\n".join(map(_clean, lines))


def _refused(refused: Refused) -> ET.Element:
    case = _element("testcase", name="readable", classname=refused.file)
    text = "\n".join(_clean(str(problem)) for problem in refused.problems)
    message = text.splitlines()[0] if text else ""
    ET.SubElement(case, "error", {"message": message, "type": "bad input"}).text = text
    return _suite_of(refused.file, [case], errors=1)


def _suite_of(name: str, cases: list[ET.Element], **counts: int) -> ET.Element:
    numbers = {"tests": len(cases), "failures": 0, "errors": 0, "skipped": 0, **counts}
    suite = _element("testsuite", name=name, **{key: str(n) for key, n in numbers.items()})
    suite.extend(cases)
    return suite


def _element(tag: str, **attributes: str) -> ET.Element:
    return ET.Element(tag, {key: _clean(value) for key, value in attributes.items()})


def _clean(text: str) -> str:
    """Leave only what XML 1.0 can hold (Extensible Markup Language, 2.2 Characters)."""
    return printable(text)
