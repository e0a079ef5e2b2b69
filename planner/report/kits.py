"""When each kit of the walls is complete and can go up: terminal and JSON."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from planner.handover.walls import stages_of
from planner.report.screen import flow, left, print_table, right, say
from planner.report.words import iso, plain, thing, when

if TYPE_CHECKING:
    from datetime import datetime, tzinfo

    from rich.console import Console

    from planner.handover.kits import KitReady
    from planner.handover.model import Plan

Document = dict[str, Any]

SHOWN = 30
"""Kits told on a terminal; JSON has all."""
PLATES_NAMED = 6
"""A kit that waits for more plates than this, and not just one, has the rest counted."""


def kits_entries(plan: Plan, zone: tzinfo) -> list[Document]:
    """Return the kits as plain JSON types; `complete_at` is null while something is missing."""
    return [
        {
            "number": one.kit.number,
            "name": one.kit.name,
            "wall": one.kit.wall or None,
            "cells": [list(cell) for cell in one.kit.cells],
            "parts": dict(one.kit.parts),
            "screws": one.kit.screws,
            "plates": list(one.plates),
            "complete_at": None if one.at is None else iso(one.at, zone),
            "missing": dict(one.missing),
        }
        for one in plan.kits
    ]


def print_kits(console: Console, plan: Plan, zone: tzinfo) -> None:
    """Print from when each kit can go up, and what it waits for."""
    if not plan.kits:
        return
    before: tuple[str, ...] = ()
    last = _last_taken_off(plan)
    rows = []
    for one in plan.kits[:SHOWN]:
        rows.append(
            [str(one.kit.number), kit_name(one), ready_words(one, zone, last), waits(one, before)]
        )
        before = one.plates
    columns = (*right("Kit"), *left("Mounts", "Complete"), *flow("Waits for, besides the above"))
    print_table(console, "Kits of the wall, in the order of mounting", columns, rows)
    if len(plan.kits) > SHOWN:
        say(console, f"and {len(plan.kits) - SHOWN} more: plan.json has them all", "dim")


def kits_view(plan: Plan, zone: tzinfo) -> list[Document]:
    """Return the kits in words, for a page."""
    before: tuple[str, ...] = ()
    last = _last_taken_off(plan)
    rows = []
    for one in plan.kits:
        rows.append(
            {
                "number": one.kit.number,
                "name": plain(kit_name(one)),
                "bag": plain(bag_words(one)),
                "ready": ready_words(one, zone, last),
                "waits": plain(waits(one, before)),
            }
        )
        before = one.plates
    return rows


def elevations(plan: Plan) -> list[str]:
    """Draw the walls of a plan, the kits marked where they begin; nothing without walls."""
    if plan.walls is None:
        return []
    from planner.report.wall.elevation.draw import elevation_svg  # noqa: PLC0415 (if there are any)
    from planner.report.wall.subject import subjects  # noqa: PLC0415 (if there are any)

    kits = [one.kit for one in plan.kits]
    told = (plan.walls.counted, plan.walls.mounting)
    return [elevation_svg(each) for each in subjects(*told, stages_of(plan.job), kits)]


def bag_words(one: KitReady) -> str:
    """Say what is in a bag."""
    screws = [thing(one.kit.screws, "screw")] if one.kit.screws else []
    return ", ".join([*(f"{count} {part}" for part, count in one.kit.parts), *screws])


def kit_name(one: KitReady) -> str:
    """Name a kit with its wall."""
    return f"{one.kit.wall}: {one.kit.name}" if one.kit.wall else one.kit.name


def ready_words(one: KitReady, zone: tzinfo, last: datetime | None = None) -> str:
    """Say when a kit is complete, and if that is after the `last` plate is taken off, where."""
    if one.at is None:
        return "not in this plan"
    waiting = last is not None and one.at > last
    return f"{when(one.at, zone)}, on the printer" if waiting else when(one.at, zone)


def _last_taken_off(plan: Plan) -> datetime | None:
    return max((visit.until for visit in plan.weekend.visits if visit.take_off), default=None)


def waits(one: KitReady, before: tuple[str, ...]) -> str:
    """Say which plates a kit waits for that those before it did not, or what it and they lack."""
    if one.missing:
        return "missing so far: " + ", ".join(f"{count} {part}" for part, count in one.missing)
    own = [plate for plate in one.plates if plate not in before]
    if len(own) <= PLATES_NAMED + 1:
        return ", ".join(own)
    more = thing(len(own) - PLATES_NAMED, "plate")
    return f"{', '.join(own[:PLATES_NAMED])} and {more} more"
