"""A toolpath file told on the terminal and as JSON."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from planner.report import words
from planner.report.screen import say
from planner.report.words import number

if TYPE_CHECKING:
    from rich.console import Console

    from planner.motion.toolpath.model import ToolpathEstimate


def toolpath_entry(estimate: ToolpathEstimate) -> dict[str, Any]:
    """Return what a toolpath takes as plain types, units in the keys."""
    facts = estimate.facts
    return {
        "file": str(estimate.path),
        "printer": estimate.printer,
        "filament_mm": number(estimate.filament_mm),
        "filament_m": number(estimate.filament_mm / 1000),
        "filament_mm3": number(estimate.filament_mm3),
        "filament_g": _or_none(estimate.filament_g),
        "time_s": number(estimate.time_s),
        "time_range_s": [number(value) for value in estimate.range_s],
        "time_remarks": list(estimate.reasons),
        "moves": estimate.moves,
        "laid_mm": number(estimate.laid_mm),
        "travel_mm": number(estimate.travel_mm),
        "retractions": estimate.retractions,
        "levels": estimate.levels,
        "extents_mm": _extents(estimate),
        "nozzle_c": facts.nozzle_c,
        "bed_c": facts.bed_c,
        "assumptions": list(facts.assumptions),
        "not_understood": [
            {"word": word, "count": count, "first_line": line}
            for word, count, line in facts.not_understood
        ],
    }


def print_toolpath(console: Console, estimate: ToolpathEstimate) -> None:
    """Print one toolpath in a few lines."""
    low_high = words.hours_range(estimate.range_s)
    mass = "" if estimate.filament_g is None else f"{words.mass(estimate.filament_g)}, "
    lines = [
        f"{estimate.path}: {words.hours(estimate.time_s)} ({low_high}) on {estimate.printer}",
        (
            f"  filament {mass}{estimate.filament_mm / 1000:.2f} m; {estimate.moves} moves, "
            f"{estimate.levels} heights, {estimate.retractions} retractions"
        ),
    ]
    if estimate.extents_mm is not None:
        box = " ".join(
            f"{axis} {low:.1f} to {high:.1f}"
            for axis, (low, high) in zip("xyz", _spans(estimate), strict=True)
        )
        lines.append(f"  laid within {box} mm")
    for line in lines:
        say(console, line)
    for note in (*estimate.reasons, *estimate.facts.assumptions):
        say(console, f"note: {note}", indent=2)


def _spans(estimate: ToolpathEstimate) -> list[tuple[float, float]]:
    assert estimate.extents_mm is not None
    low, high = estimate.extents_mm
    return list(zip(low, high, strict=True))


def _extents(estimate: ToolpathEstimate) -> list[list[float]] | None:
    if estimate.extents_mm is None:
        return None
    return [[number(value) for value in corner] for corner in estimate.extents_mm]


def _or_none(value: float | None) -> float | None:
    return None if value is None else number(value)
