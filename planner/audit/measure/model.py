"""What was measured of a toolpath: each figure with its spread, evidence and status."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

    from planner.audit.model import Finding

Value = float | str | bool | None


class Status(StrEnum):
    """How far a figure can be trusted."""

    FIRM = "firm"
    AT_LEAST = "at least"
    AMBIGUOUS = "ambiguous"
    NOT_MEASURABLE = "not measurable"


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """One measured thing; `spread` is (lowest, highest) met, `value` None where not measurable."""

    value: Value
    evidence: str
    status: Status = Status.FIRM
    spread: tuple[float, float] | None = None


def unknown(why: str) -> Figure:
    """Return a figure that could not be measured."""
    return Figure(value=None, evidence=why, status=Status.NOT_MEASURABLE)


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredPart:
    """One part on the plate: its box (x, y, z from, to, in mm) and its own figures."""

    name: str
    box_mm: tuple[tuple[float, float], tuple[float, float], tuple[float, float]]
    figures: Mapping[str, Figure]


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """A whole toolpath: figures by neutral key, parts from left to right, faults."""

    figures: Mapping[str, Figure]
    parts: tuple[MeasuredPart, ...]
    faults: tuple[Finding, ...]
    assumptions: tuple[str, ...]
    not_understood: tuple[str, ...]
