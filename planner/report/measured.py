"""What was measured of a toolpath, as a table: each figure with how far it can be trusted."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from planner.audit.words import with_unit
from planner.report.screen import flow, left, print_table
from planner.report.words import hours

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from rich.console import Console

    from planner.audit.model import AuditedFile

_SHARES = ("flow_share", "first_layer_fan", "infill")


def print_measured(console: Console, file: AuditedFile) -> None:
    """Print the figures of a toolpath; those that could not be measured say why."""
    rows = [[key, _shown(key, figure), _trust(figure)] for key, figure in file.measured.items()]
    columns = (*left("Measured", "Value"), *flow("Sure"))
    print_table(console, f"Measured in {file.file}", columns, rows)


def _trust(figure: Mapping[str, Any]) -> str:
    """Return the status, with the evidence where there is doubt."""
    status = str(figure["status"])
    return status if status == "firm" else f"{status}: {figure['evidence']}"


def _shown(key: str, figure: Mapping[str, Any]) -> str:
    value = figure["value"]
    if value is None:
        return "-"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if not isinstance(value, int | float):
        return str(value)
    return _number(key, float(value)) + _span(key, figure["spread"])


def _number(key: str, value: float) -> str:
    stem = key.partition(".")[0] if key.startswith("speed") else key.rpartition(".")[2]
    if stem.endswith("mm3_s"):
        return f"{value:.3g} mm³/s"
    if stem in ("moves_s", "dwell_s"):
        return hours(value)
    if stem in _SHARES:
        return f"{value * 100:.3g} %"
    if stem.endswith("_mm3"):
        return f"{value:.0f} mm³"
    return f"{value:.1f} g" if stem.endswith("_g") else with_unit(stem, round(value, 3))


def _span(key: str, spread: Sequence[float] | None) -> str:
    """Return from where to where a part reaches."""
    if spread is None or not key.endswith((".x_mm", ".y_mm", ".z_mm")):
        return ""
    return f" ({spread[0]:.1f} to {spread[1]:.1f})"
