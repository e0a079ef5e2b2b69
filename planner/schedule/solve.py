"""The weekend's plan: search, bound, visits, and the check of all of it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.errors import InputError
from planner.progress import silent
from planner.schedule.bound import lower_bound
from planner.schedule.check import check
from planner.schedule.clock import NEVER, local_time
from planner.schedule.faults import weekend_faults
from planner.schedule.instance import instance_of
from planner.schedule.model import WeekendPlan
from planner.schedule.prove.proof import lead, prove
from planner.schedule.reasons import (
    change_remarks,
    drying_remarks,
    left_on_remark,
    unscheduled,
)
from planner.schedule.search import best_board, can_be_printed
from planner.schedule.sets import sets_done, sets_missed
from planner.schedule.visits import left_g_of, placed, runs_of, visits_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.progress import Progress
    from planner.schedule.board import Board
    from planner.schedule.bound import Bound
    from planner.schedule.instance import Instance
    from planner.schedule.model import Weekend

PLACEMENTS = 15_000
"""Plates placed per unit of effort: about a tenth of a second's work."""
EFFORT = 20


def plan_weekend(
    weekend: Weekend,
    *,
    effort: int = EFFORT,
    seed: int = 0,
    proof: int = 0,
    first: Sequence[tuple[str, str]] = (),
    progress: Progress = silent,
) -> WeekendPlan:
    """Put the plates on printers inside attendance, as early as can be found.

    Objective, the first that differs decides: the greatest value of sets that are complete in
    time (a set counts once all its plates do); plates left out or late, urgent ones first
    (a plate left out counts twice a late one; one plate of a lower priority number outweighs
    all plates of higher numbers; late is also what ends after the last moment at which
    anybody could take it off); then the finish, which is the last end of a run; then fewer
    plates that nobody has time to take off; then earlier ends for lower priority numbers;
    then fewer hours in which printers run alone; then fewer changes of spools.

    A run begins with the hands-on time of a person, and the printer prints when that is over.
    A plate that cannot end by the deadline is still printed if somebody is there after the
    deadline, else left out. The check of a gate plate begins when it has been taken off, and
    its `check_s` passes only while somebody is there.

    `effort` counts units of `PLACEMENTS`, and `proof` as much work to raise the bound and to
    better the plan by proving, which is not begun where the plan is proven already. The same
    weekend, effort, proof and seed give the same plan on any machine. `first` is an earlier
    plan to begin from: (plate, machine) in the order of their starts; strange names are passed
    over. `lower_bound` is for the plates that
    have a place; `remarks` name the plates that stay on their printers in the end. Raises
    InputError if the plates contradict themselves, and RuntimeError if the plan breaks a
    rule, which is a fault of this program.
    """
    faults = weekend_faults(weekend)
    if faults:
        raise InputError(*faults)
    instance = instance_of(weekend)
    goal = _goal(instance)
    begin = _first(weekend, instance, first)
    if not begin and goal is not None:
        begin = lead(instance, goal, effort=proof)
    board = best_board(
        instance,
        placements=effort * PLACEMENTS,
        seed=seed,
        bound_s=NEVER if goal is None else goal.finish_s,
        advice=() if goal is None else goal.advice,
        first=begin,
        retry=proof > 0,
        progress=progress,
    )
    plan = plan_of(weekend, board, proof=proof, seed=seed, progress=progress)
    violations = check(weekend, plan)
    if violations:
        raise RuntimeError("the plan breaks its own rules: " + "; ".join(violations))
    return plan


def effort_for(seconds: float) -> int:
    """Return the effort that stands for `seconds` of search on a small computer; at least 1."""
    return max(1, round(seconds * 10))


def _first(
    weekend: Weekend, instance: Instance, first: Sequence[tuple[str, str]]
) -> list[tuple[int, int]]:
    """Return an earlier plan as plates and kinds of printers."""
    plates = {task.id: number for number, task in enumerate(weekend.tasks)}
    kinds = {
        weekend.machines[m].id: k for k, kind in enumerate(instance.kinds) for m in kind.machines
    }
    return [(plates[p], kinds[m]) for p, m in first if p in plates and m in kinds]


def _goal(instance: Instance) -> Bound | None:
    """Return the bound for all plates that have a printer and a spool at all."""
    return lower_bound(instance, [j for j in instance.plates if can_be_printed(instance, j)])


def plan_of(
    weekend: Weekend,
    board: Board,
    *,
    proof: int = 0,
    seed: int = 0,
    progress: Progress = silent,
) -> WeekendPlan:
    """Return what a filled board says, proven with the effort `proof`, as people read it."""
    bound = lower_bound(board.instance, placed(board))
    if bound is not None and proof:
        progress("proof", 0, 1, note="how much earlier any plan could end")
        proven = prove(board.instance, board, bound, effort=proof, seed=seed)
        board, bound = proven.board, proven.bound
        progress("proof", 1, 1)
    plates = placed(board)
    left_on = board.take_off_last()
    visits = visits_of(weekend, board)
    return WeekendPlan(
        runs=runs_of(weekend, board),
        visits=visits,
        unscheduled=unscheduled(weekend, board),
        finish=local_time(weekend.start, max(board.end)) if plates else None,
        lower_bound=None if bound is None else local_time(weekend.start, bound.finish_s),
        bound_by="" if bound is None else bound.words,
        spool_left_g=left_g_of(weekend, board),
        remarks=(
            *drying_remarks(weekend, board),
            *change_remarks(weekend, board),
            *(left_on_remark(weekend, board, plate) for plate in left_on),
        ),
        sets_done=sets_done(weekend, board),
        sets_missed=sets_missed(weekend, board),
    )
