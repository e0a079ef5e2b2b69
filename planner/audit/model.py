"""What an audit says: findings, each with its reason, its remedy and its source."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from planner.settings.model import Level


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One thing that is not as it should be.

    `rule` is a short stable name ("walls", "bed fit"); `part` names whom it concerns or is
    "" for the job; `where` is "file:line" or the mesh's name.
    """

    rule: str
    level: Level
    part: str
    where: str
    found: str
    expected: str
    why: str
    remedy: str
    source: str
