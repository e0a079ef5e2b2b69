"""Findings on a terminal: the gravest first, and what says the same of several parts once."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.text import Text

from planner.audit.order import grouped
from planner.audit.words import listed
from planner.report import words
from planner.report.screen import heading, say
from planner.report.words import plain

if TYPE_CHECKING:
    from collections.abc import Iterable

    from rich.console import Console

    from planner.audit.model import Finding, Group

STYLES = {"stop": "bold red", "warn": "bold yellow", "note": "bold blue"}


def print_findings(
    console: Console,
    findings: Iterable[Finding],
    *,
    brief_notes: bool = False,
    sources: bool = False,
) -> None:
    """Print findings, each with its reason, its remedy and its place.

    With `brief_notes` the notes take one line per rule; their reasons are in the other
    reports. With `sources` it is also said on what each rule rests.
    """
    findings = list(findings)
    if not findings:
        say(console, "Findings: none.")
        return
    heading(console, f"Findings: {counts(findings)}")
    groups = grouped(findings)
    notes = [group for group in groups if brief_notes and str(group.level) == "note"]
    for group in groups:
        if group not in notes:
            _print_group(console, group, sources=sources)
    for rule in dict.fromkeys(note.rule for note in notes):
        say(console, _brief([note for note in notes if note.rule == rule]))


def counts(findings: Iterable[Finding]) -> str:
    """Count the findings of each level: "1 stop, 0 warn, 3 note"."""
    levels = [str(finding.level) for finding in findings]
    return ", ".join(f"{levels.count(level)} {level}" for level in words.LEVELS)


def _print_group(console: Console, group: Group, *, sources: bool) -> None:
    level = str(group.level)
    concerns = f"{listed(group.parts)}: " if group.parts else ""
    text = Text()
    text.append(f"{level:<5}", STYLES[level])
    text.append(plain(f"{concerns}{group.rule}"), "bold")
    text.append(plain(f": found {group.found}; expected {group.expected}"))
    do = Text("Do:  ", "bold")
    do.append(plain(group.remedy), "not bold")
    source = f"; source: {group.source}" if sources else ""
    say(console, text)
    say(console, f"Why: {group.why}", indent=5)
    say(console, do, indent=5)
    say(console, f"{', '.join(group.wheres)}{source}", "dim", indent=5)
    console.print()


def _brief(notes: list[Group]) -> Text:
    """Say in one line whom a rule concerns, or what was found where that is the whole job."""
    whom = sorted({name for note in notes for name in note.parts or (note.found,)})
    text = Text()
    text.append("note ", STYLES["note"])
    text.append(plain(notes[0].rule), "bold")
    text.append(plain(f": {', '.join(whom)}"))
    return text
