"""Measured figures as plain types, and as settings that other rules can be held against."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from planner.audit.measure.model import Status
from planner.settings.model import Feature

if TYPE_CHECKING:
    from collections.abc import Iterator

    from planner.audit.measure.model import Figure, Measured

SETTINGS = (
    *("layer_mm", "first_layer_mm", "line_width_mm", "first_layer_width_mm", "brim_mm"),
    *("walls", "top_layers", "bottom_layers", "infill", "support"),
    *("nozzle_c", "bed_c", "fan"),
)
"""Figures that are settings of the same name."""
_DIGITS = {"infill": 3, "nozzle_c": 1, "bed_c": 1, "fan": 3}


def measured_document(measured: Measured) -> dict[str, dict[str, Any]]:
    """Return all figures as plain types.

    Those of a part stand under "part 1.walls", its box under "part 1.x_mm" with its two ends
    as spread.
    """
    return dict(_entries(measured))


def _entries(measured: Measured) -> Iterator[tuple[str, dict[str, Any]]]:
    for key, figure in measured.figures.items():
        yield key, _plain(figure)
    for part in measured.parts:
        for axis, (low, high) in zip("xyz", part.box_mm, strict=True):
            yield (
                f"{part.name}.{axis}_mm",
                {
                    "value": round(high - low, 4),
                    "spread": [round(low, 4), round(high, 4)],
                    "evidence": "laid lines, half a line beyond their middle",
                    "status": str(Status.FIRM),
                },
            )
        for key, figure in part.figures.items():
            yield f"{part.name}.{key}", _plain(figure)


def _plain(figure: Figure) -> dict[str, Any]:
    value = figure.value
    spread = figure.spread
    return {
        "value": round(value, 6) if isinstance(value, float) else value,
        "spread": None if spread is None else [round(float(end), 6) for end in spread],
        "evidence": figure.evidence,
        "status": str(figure.status),
    }


def settings_of(measured: Measured) -> dict[str, Any]:
    """Return what was measured firmly, under the keys of `Settings`.

    Where parts differ the least is told for walls, skins and infill: rules ask for enough.
    """
    found = {
        key: _rounded(key, figure.value)
        for key in SETTINGS
        if (figure := measured.figures.get(key)) is not None
        and figure.value is not None
        and (figure.status is Status.FIRM or key == "line_width_mm")
    }
    for key in ("walls", "top_layers", "bottom_layers", "infill"):
        own = [
            float(figure.value)
            for part in measured.parts
            if (figure := part.figures[key]).status is Status.FIRM and figure.value is not None
        ]
        if own:
            found[key] = _rounded(key, min(own) if key == "infill" else int(min(own)))
    for feature in Feature:
        key = f"speed_mm_s.{feature.replace(' ', '_')}"
        figure = measured.figures.get(key)
        if figure is not None and figure.status is Status.FIRM:
            found[key] = _rounded(key, figure.value)
    return found


def _rounded(key: str, value: Any) -> Any:
    return round(value, _DIGITS.get(key, 3)) if isinstance(value, float) else value
