"""Two settings files side by side, and what a corrected copy changed, on a terminal and as JSON."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from planner.audit.words import with_unit
from planner.report.document import finding_entry
from planner.report.screen import flow, print_table, right, say
from planner.report.screen import left as heads

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rich.console import Console

    from planner.audit.compare import Comparison, Entry, Value
    from planner.handover.fix import Fixed

FIX_SCHEMA = "platewright/fix/1"


def print_comparison(console: Console, comparison: Comparison) -> None:
    """Print what differs, then what only one of the files says; units beside the values."""
    a, b = comparison.a, comparison.b
    say(console, f"A: {a}")
    say(console, f"B: {b}")
    rows = [
        [_name(entry), _shown(entry, entry.a), _shown(entry, entry.b)]
        for entry in comparison.different
    ]
    print_table(console, "Different", flow("Setting", "A", "B"), rows)
    _print_only(console, "Only in A", [(entry, entry.a) for entry in comparison.only_a])
    _print_only(console, "Only in B", [(entry, entry.b) for entry in comparison.only_b])
    console.print()
    differing = len(comparison.different)
    say(
        console,
        f"{differing} different, {len(comparison.only_a)} only in A, "
        f"{len(comparison.only_b)} only in B, {comparison.same} the same.",
    )


def print_fix(console: Console, path: str, out: str, fixed: Fixed) -> None:
    """Print the values that were replaced, and the findings that are left with the reason."""
    rows = [
        [
            str(done.line),
            done.key,
            with_unit(done.key, done.before),
            with_unit(done.key, done.after),
            done.rule,
        ]
        for done in fixed.done
    ]
    columns = (*right("Line"), *flow("Setting", "Was", "Is", "Rule"))
    nothing = f"{out}: a copy of {path}; there was nothing to put right in it."
    print_table(console, f"{out}: {path} with", columns, rows, if_empty=nothing)
    if fixed.left:
        below = [f"{left.finding.remedy} (not done: {left.because})" for left in fixed.left]
        rows = [[str(f.level), f.rule, f.found] for f in (left.finding for left in fixed.left)]
        print_table(console, "Left to you", (*heads(""), *flow("", "")), rows, below=below)


def fix_document(path: str, out: str, fixed: Fixed) -> dict[str, Any]:
    """Return what was done as plain types (schema "platewright/fix/1")."""
    return {
        "schema": FIX_SCHEMA,
        "file": path,
        "out": out,
        "changed": [asdict(done) for done in fixed.done],
        "left": [{**finding_entry(left.finding), "because": left.because} for left in fixed.left],
    }


def _print_only(
    console: Console, title: str, entries: Sequence[tuple[Entry, Value | None]]
) -> None:
    rows = [[_name(entry), _shown(entry, value)] for entry, value in entries]
    print_table(console, title, flow("Setting", "Value"), rows)


def _name(entry: Entry) -> str:
    return entry.key if entry.understood else f"{entry.key} (as written)"


def _shown(entry: Entry, value: Value | None) -> str:
    if value is None:
        return ""
    return with_unit(entry.key, value) if entry.understood else str(value)
