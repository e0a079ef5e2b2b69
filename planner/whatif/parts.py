"""Other parts and counts; every function takes a job and returns another."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping

    from planner.job.model import Job

STOCK = 10**9
"""More than anybody wants: nothing of what is in stock so often is printed."""


def spared(job: Job, spares: int | Mapping[str, int]) -> Job:
    """Return the job with so many spare copies of every kind of part, or of those named."""
    named = dict.fromkeys(job.parts, spares) if isinstance(spares, int) else spares
    parts = {
        name: replace(part, spares=named.get(name, part.spares)) for name, part in job.parts.items()
    }
    return replace(job, parts=parts)


def without(job: Job, names: Collection[str]) -> Job:
    """Return the job without printing these parts and assemblies: as if all were in stock."""
    return replace(
        job,
        parts={n: replace(p, stock=STOCK) if n in names else p for n, p in job.parts.items()},
        assemblies={
            n: replace(a, stock=STOCK) if n in names else a for n, a in job.assemblies.items()
        },
    )
