"""The story of the job, from the file to the weekend; every line is one stage."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.handover.model import Plan
from planner.progress import silent

if TYPE_CHECKING:
    from pathlib import Path

    from planner.progress import Progress
