"""The comparison of a job with changes of it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """The job, or one change of it, as it was planned.

    `note` says what was changed and what to mind. `won_s` is by how much the last plate ends
    earlier than the job's, None where one of the two leaves copies out that the other prints.
    `odds` are those of everything in number by the deadline. `left_out` counts copies on no
    plate or on plates without a time. `stops` and `warns` count findings. `problem` says why
    there is no plan, all else is empty then.
    """

    name: str
    note: str = ""
    finish: datetime | None = None
    won_s: float | None = None
    odds: float | None = None
    plates: int = 0
    copies: int = 0
    left_out: int = 0
    filament_g: float = 0.0
    cost: float = 0.0
    visits: int = 0
    hands_on_s: float = 0.0
    stops: int = 0
    warns: int = 0
    problem: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class WhatIf:
    """The job's own row first; every row was searched for `seconds`."""

    name: str
    time_zone: str
    currency: str
    deadline: datetime | None
    seconds: float
    rows: tuple[Row, ...]

    @property
    def own(self) -> Row:
        """The row of the job as it is."""
        return self.rows[0]
