"""The comparison of a job with changes of it: terminal, JSON and the section of the page."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from planner.report import words
from planner.report.screen import flow, print_table, right, say
from planner.report.words import number

if TYPE_CHECKING:
    from rich.console import Console

    from planner.whatif.model import Row, WhatIf

ALWAYS = ("Done", "Won", "Odds", "Plates", "Visits", "Mass", "Cost")
IF_ANY = ("Left out", "Stop")
"""Columns that are left out where all of their cells are empty."""


def print_what_if(console: Console, found: WhatIf) -> None:
    """Print one row per change, the job as it is first."""
    heads, cells = _table(found)
    columns = (*flow("What if"), *right(*heads))
    rows = [[row.name, *own] for row, own in zip(found.rows, cells, strict=True)]
    print_table(console, f"What if: {found.name}", columns, rows)
    for line in remarks(found):
        say(console, line, "dim")
    for row in found.rows:
        if row.note:
            say(console, f"- {row.name}: {row.note}")
        if row.problem:
            say(console, f"- {row.name} cannot be planned: {row.problem}", "bold red")


def remarks(found: WhatIf) -> list[str]:
    """Say what the columns mean and how fair the comparison is."""
    by = "by the deadline" if found.deadline else "in the hours given"
    short = [
        (
            "Left out: copies with no place in the plan. Stop: findings that say so. Where one "
            "plan leaves out more than the other, hours won would say nothing: ?."
        )
    ]
    return [
        (
            f"Won: hours earlier than as it is. Odds: that all is there {by}, bad "
            "copies printed again if there is time. Mass and cost "
            f"(in {found.currency}) with spares."
        ),
        *(short if any(row.left_out or row.stops for row in found.rows) else []),
        (
            f"Every row, the first as well, was searched with --seconds {found.seconds:.3g}: a "
            "plan by itself is searched longer and may end earlier."
        ),
        (
            "Plans that end alike may differ by ten points of odds, for some have no room for a "
            "slip: --confidence looks for those that have."
        ),
    ]


def what_if_document(found: WhatIf) -> dict[str, Any]:
    """Return the comparison as plain JSON types (schema "platewright/what-if/1")."""
    zone = ZoneInfo(found.time_zone)
    return {
        "schema": "platewright/what-if/1",
        "name": found.name,
        "time_zone": found.time_zone,
        "currency": found.currency,
        "deadline": None if found.deadline is None else words.iso(found.deadline, zone),
        "seconds": number(found.seconds, 6),
        "rows": [_entry(row, zone) for row in found.rows],
    }


def what_if_view(found: WhatIf) -> dict[str, Any]:
    """Return what the section of the page shows."""
    heads, cells = _table(found)
    rows = [
        {"name": row.name, "cells": own, "note": row.note, "problem": row.problem}
        for row, own in zip(found.rows, cells, strict=True)
    ]
    return {"heads": heads, "rows": rows, "remarks": remarks(found)}


def _table(found: WhatIf) -> tuple[tuple[str, ...], list[list[str]]]:
    """Return the heads and the cells of all rows, without columns in which nothing stands."""
    rows = [_cells(found, row) for row in found.rows]
    shown = [
        at
        for at, head in enumerate((*ALWAYS, *IF_ANY))
        if head in ALWAYS or any(row[at] for row in rows)
    ]
    heads = tuple((*ALWAYS, *IF_ANY)[at] for at in shown)
    return heads, [[row[at] for at in shown] for row in rows]


def _cells(found: WhatIf, row: Row) -> list[str]:
    if row.problem:
        return ["no plan", *[""] * (len(ALWAYS) + len(IF_ANY) - 1)]
    zone = ZoneInfo(found.time_zone)
    return [
        "never" if row.finish is None else words.when(row.finish, zone),
        _won(row.won_s) if row is not found.own else "",
        "" if row.odds is None else words.share(row.odds),
        str(row.plates),
        str(row.visits),
        words.mass(row.filament_g),
        f"{row.cost:.2f}",
        str(row.left_out) if row.left_out else "",
        str(row.stops) if row.stops else "",
    ]


def _won(seconds: float | None) -> str:
    """Say hours won; "?" where one of the two leaves out more than the other."""
    if seconds is None:
        return "?"
    sign = "-" if seconds < 0 else "+"
    return sign + words.clock_hours(abs(seconds))


def _entry(row: Row, zone: ZoneInfo) -> dict[str, Any]:
    if row.problem:
        return {"name": row.name, "problem": row.problem}
    return {
        "name": row.name,
        "note": row.note,
        "finish": None if row.finish is None else words.iso(row.finish, zone),
        "won_s": None if row.won_s is None else number(row.won_s),
        "odds_by_deadline": None if row.odds is None else number(row.odds, 6),
        "plates": row.plates,
        "copies": row.copies,
        "left_out": row.left_out,
        "filament_g": number(row.filament_g),
        "cost": number(row.cost, 2),
        "visits": row.visits,
        "hands_on_s": number(row.hands_on_s),
        "stops": row.stops,
        "warns": row.warns,
    }
