"""The audit's table, comparisons and corrected copies on a terminal."""

import io
import re
from dataclasses import replace
from functools import partial

import pytest
from rich.console import Console

from planner.audit.compare import Said, compare
from planner.audit.model import AuditedFile, Change, Finding, ReadValue
from planner.handover.fix import Done, Fixed, Left
from planner.report.audit import print_audit
from planner.report.comparison import fix_document, print_comparison, print_fix
from planner.settings.model import Level

WALLS = Finding(
    rule="walls",
    level=Level.WARN,
    part="hook",
    where="job.yaml:12",
    found="2 walls",
    expected="at least 3 walls",
    why="walls carry",
    remedy="set walls: 3 in job.yaml:12",
    source="common practice, no source",
    change=Change(key="walls", value=3),
)
HOT = replace(
    WALLS, rule="nozzle_c", level=Level.STOP, part="", found="300 °C", remedy="turn it down"
)


def said(printer, *arguments, width=80):
    screen = io.StringIO()
    printer(Console(file=screen, width=width), *arguments)
    return screen.getvalue()


def audited(*findings, name="job.yaml", **more):
    return AuditedFile(file=name, kind="job", read={}, findings=findings, **more)


class TestTable:
    """Stops first, and under each finding one line of what to do."""

    def test_stops_come_first_each_with_its_remedy(self):
        """The place is told once: by the remedy, or after it."""
        lines = said(print_audit, [audited(WALLS, HOT)]).splitlines()
        firsts = [line.split()[0] for line in lines if line[:4].strip() and line[0] != "─"]

        assert firsts == ["Findings:", "stop", "warn"]
        assert "      Do: turn it down (job.yaml:12)" in lines
        assert "      Do: set walls: 3 in job.yaml:12" in lines
        assert lines.index("      Do: turn it down (job.yaml:12)") < next(
            number for number, line in enumerate(lines) if line.startswith("warn")
        )

    def test_no_finding_is_said(self):
        """An empty screen would leave the reader in doubt."""
        assert said(print_audit, [audited()]) == "Findings: none.\n"

    def test_several_files_have_a_table_of_counts(self):
        """Files in their order, findings of all together."""
        text = said(print_audit, [audited(WALLS), audited(HOT, WALLS, name="b.yaml")])

        assert "2 files" in text
        assert "b.yaml    job      1     1     0" in text
        assert text.count("2 walls") == 1  # what says the same is told once

    def test_many_places_are_counted(self):
        """Three are named, the rest is in the JSON."""
        many = [replace(WALLS, part=f"p{n}", where=f"job.yaml:{n}") for n in range(6)]
        text = said(print_audit, [audited(*many)], width=200)

        assert "walls: p0, p1, p2 and 3 more" in text
        assert "(job.yaml:0, job.yaml:1, job.yaml:2 and 3 more)" in text

    def test_gaps_are_told(self):
        """What was not understood, and which rules lack what."""
        file = audited(
            not_understood=("a", "b", "c", "d"), not_checked=("bed_c: bed_c is not stated",)
        )
        text = said(print_audit, [file])

        assert "Not understood in job.yaml: 4\na; b; c; 1 more\n" in text
        assert "Not checked in job.yaml: 1\nbed_c: bed_c is not stated\n" in text

    def test_what_was_read_is_counted_or_listed(self):
        """So that nobody must trust that a foreign word was understood; of settings only."""
        read = {
            "walls": ReadValue(value=2, line=5, origin="a.ini:5"),
            "infill": ReadValue(value=0.08, line=6, origin="a.ini:6", note="8 of 100"),
        }
        file = replace(audited(HOT), kind="settings", read=read, not_checked=("a", "b", "c", "d"))
        brief, full = (said(partial(print_audit, why=why), [file]) for why in (False, True))

        assert "Read in job.yaml: 2 settings; --why lists them with their lines.\n" in brief
        assert "a; b; c; 1 more\n" in brief
        assert re.search(r"5 +walls +2 walls\n", full)
        assert re.search(r"6 +infill +8 % +8 of 100\n", full)
        assert "Why: walls carry" in full
        assert "a; b; c; d\n" in full

    @pytest.mark.parametrize("width", [40, 80, 200])
    def test_it_fits_the_screen(self, width):
        """Whatever the width, no line is longer."""
        text = said(print_audit, [audited(WALLS, HOT), audited(HOT, name="x" * 60)], width=width)

        assert max(map(len, text.splitlines())) <= width


def test_a_comparison_has_units_and_groups():
    """Different first, then what is only in one of them."""
    a = Said(file="a.ini", values={"walls": 2, "infill": 0.15, "fan": 1.0})
    b = Said(file="b.ini", values={"walls": 3, "infill": 0.15, "bed_c": 60.0})
    text = said(print_comparison, compare(a, b))

    assert "walls    2 walls  3 walls" in text
    assert "fan      100 %" in text.partition("Only in A")[2].partition("Only in B")[0]
    assert "bed_c    60 °C" in text.partition("Only in B")[2]
    assert "1 different, 1 only in A, 1 only in B, 1 the same." in text


class TestFix:
    """What was changed, and what is left to a person."""

    FIXED = Fixed(
        content=b"",
        done=(Done(key="walls", line=7, before=2, after=3, rule="walls"),),
        left=(Left(finding=HOT, because="nozzle_c does not stand in the file"),),
    )

    def test_lines_and_reasons_are_printed(self):
        """Line, value before and after; the remedy of what is left, and why it was not done."""
        text = said(print_fix, "a.ini", "out.ini", self.FIXED)

        assert "   7  walls    2 walls  3 walls  walls" in text
        assert "turn it down (not done: nozzle_c does not stand in the file)" in text

    def test_nothing_to_do_is_said(self):
        """The copy is there all the same."""
        text = said(print_fix, "a.ini", "out.ini", Fixed(content=b"", done=(), left=()))

        assert "nothing to put right" in text

    def test_the_document_holds_the_same(self):
        """Under the schema of its own."""
        document = fix_document("a.ini", "out.ini", self.FIXED)

        assert document["schema"] == "platewright/fix/1"
        assert document["changed"][0] == {
            "key": "walls",
            "line": 7,
            "before": 2,
            "after": 3,
            "rule": "walls",
        }
        assert document["left"][0]["because"] == "nozzle_c does not stand in the file"
        assert document["left"][0]["rule"] == "nozzle_c"
