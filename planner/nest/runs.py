"""Several searches for one packing, each with a seed of its own; the best packing counts.

The first goes on here and tells how far it is; the others may go on in other processes.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from random import Random
from typing import TYPE_CHECKING, Protocol, TypeVar

from planner.nest.build import Task
from planner.nest.search import rank, search
from planner.nest.table import Table
from planner.progress import silent

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

    from planner.nest.build import Layout
    from planner.nest.model import Bed, Item
    from planner.nest.terms import Terms
    from planner.progress import Progress

SEEDS_APART = 2**32
"""The first run has the caller's seed, so that more runs are never worse than one."""

Given = TypeVar("Given")
Made = TypeVar("Made")


class Workers(Protocol):
    """Apply a function to every job, in order; on other cores where the caller has any."""

    def __call__(
        self, function: Callable[[Given], Made], jobs: Iterable[Given], /
    ) -> Iterator[Made]:
        """Yield one result per job, in the jobs' order."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """One search, as it travels to another process."""

    items: tuple[Item, ...]
    beds: tuple[Bed, ...]
    clearance_mm: float
    edge_mm: float
    terms: Terms
    always: frozenset[int]
    work: int
    bound: int
    seed: int


def task_of(run: Run) -> Task:
    """Make the task of a search ready."""
    table = Table(
        run.items,
        run.beds,
        clearance_mm=run.clearance_mm,
        edge_mm=run.edge_mm,
        terms=run.terms,
    )
    usable = [
        tuple(bed for bed in range(len(run.beds)) if table.fits_bed(item, bed))
        for item in range(len(run.items))
    ]
    random = Random(run.seed)  # noqa: S311  (repeatable, not secret)
    return Task(table, usable, random, always=run.always)


def layout_of(run: Run) -> Layout:
    """Do one search from nothing."""
    return search(task_of(run), run.work, bound=run.bound, progress=silent)


def best_layout(task: Task, run: Run, runs: int, *, progress: Progress, workers: Workers) -> Layout:
    """Do a run, whose task is ready, and others beside it; of equal packings the first counts."""
    seeds = [run.seed + number * SEEDS_APART for number in range(1, runs)]
    beside = workers(layout_of, [replace(run, seed=seed) for seed in seeds])  # begin now, if ever
    own = search(task, run.work, bound=run.bound, progress=progress)
    return min([own, *beside], key=lambda layout: rank(task, layout))
