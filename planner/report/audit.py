"""An audit on a terminal: a table of what to act on, the stops first, a remedy under each."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.text import Text

from planner.audit.order import grouped
from planner.audit.words import listed, with_unit
from planner.report.findings import STYLES, counts, print_findings
from planner.report.measured import print_measured
from planner.report.screen import flow, heading, left, print_table, right, say
from planner.report.words import LEVELS, plain, thing

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rich.console import Console

    from planner.audit.model import AuditedFile, Group

SHOWN = 3
"""So many places, keys or rules are named; all are told with the reasons, and in the JSON."""


def print_audit(console: Console, files: Sequence[AuditedFile], *, why: bool = False) -> None:
    """Print the findings of all files together, then what was read, not understood or checked.

    With `why` each finding has its reason and source, and nothing is only counted.
    """
    findings = [finding for file in files for finding in file.findings]
    if len(files) > 1:
        _print_files(console, files)
    if why or not findings:
        print_findings(console, findings, sources=True)
    else:
        _print_groups(console, f"Findings: {counts(findings)}", grouped(findings))
    for file in files:
        if file.measured:
            print_measured(console, file)
        _print_read(console, file, every=why)
        _print_gaps(console, file, every=why)


def _print_groups(console: Console, title: str, groups: Sequence[Group]) -> None:
    rows = [[str(group.level), _about(group), group.found, group.expected] for group in groups]
    columns = (*left(""), *flow("Rule", "Found", "Expected"))
    print_table(console, title, columns, rows, below=[_remedy(group) for group in groups])


def _about(group: Group) -> str:
    return f"{group.rule}: {_few(group.parts)}" if group.parts else group.rule


def _remedy(group: Group) -> Text:
    """Return what to do, and where unless the remedy says it."""
    text = Text("Do: ", STYLES[str(group.level)])
    text.append(plain(group.remedy), "not bold")
    if group.wheres and not all(where in group.remedy for where in group.wheres):
        text.append(plain(f" ({_few(group.wheres)})"), "dim")
    return text


def _print_files(console: Console, files: Sequence[AuditedFile]) -> None:
    rows = [[file.file, file.kind, *_counted(file)] for file in files]
    columns = (*flow("File"), *left("Kind"), *right(*(level.title() for level in LEVELS)))
    print_table(console, f"{len(files)} files", columns, rows)


def _counted(file: AuditedFile) -> list[str]:
    levels = [str(finding.level) for finding in file.findings]
    return [str(levels.count(level)) for level in LEVELS]


def _print_read(console: Console, file: AuditedFile, *, every: bool) -> None:
    """Say what was understood of a settings file, so that it can be held against what was meant."""
    if file.kind != "settings" or not file.read:
        return
    if not every:
        console.print()
        count = thing(len(file.read), "setting")
        say(console, f"Read in {file.file}: {count}; --why lists them with their lines.")
        return
    rows = [
        ["" if each.line is None else str(each.line), key, with_unit(key, each.value), each.note]
        for key, each in sorted(file.read.items(), key=lambda item: (item[1].line or 0, item[0]))
    ]
    columns = (*right("Line"), *flow("Setting", "Read as"))
    noted = any(each.note for each in file.read.values())
    if noted:
        columns = (*columns, *flow("From"))
    rows = rows if noted else [row[:-1] for row in rows]
    print_table(console, f"Read in {file.file}: {len(file.read)}", columns, rows)


def _print_gaps(console: Console, file: AuditedFile, *, every: bool) -> None:
    """Say what of a file no rule was held against; nothing is left out in silence."""
    for what, items in (
        ("Not understood", file.not_understood),
        ("Not checked", file.not_checked),
    ):
        if items:
            heading(console, f"{what} in {file.file}: {len(items)}")
            say(console, "; ".join(items) if every else _few(items, glue="; "))


def _few(items: Sequence[str], glue: str = "") -> str:
    """Name a few and count the rest."""
    more = len(items) - SHOWN
    named = (*items[:SHOWN], f"{more} more") if more > 0 else tuple(items)
    return glue.join(named) if glue else listed(named)
