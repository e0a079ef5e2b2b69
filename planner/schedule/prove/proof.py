"""How good a plan is, and a better one if proving finds it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from planner.schedule.board import Board
from planner.schedule.bound import heads_and_ends
from planner.schedule.prove.columns import MANY, column_bound
from planner.schedule.prove.exact import is_small, solve_exactly
from planner.schedule.prove.hours import filled_hours
from planner.schedule.search import best_board, can_be_printed, rank_of
from planner.schedule.starts import starts_of

if TYPE_CHECKING:
    from planner.schedule.bound import Bound
    from planner.schedule.instance import Instance
    from planner.schedule.prove.exact import Answer

COLUMN_STEPS = 20_000
"""Array operations per unit of effort: about a twentieth of a second's work."""
HOURS_STEPS = 60_000
"""The same for filling hours, whose operations are shorter."""
EXACT_WORK = 0.005
"""Units of the constraint solver's deterministic clock per unit of effort; one is 2 to 4 s."""


LARGE = 60_000
"""Plates x kinds of printers from which even laying out the grid takes long."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Proof:
    """A plan, and a finish that no plan for its plates can beat."""

    board: Board
    bound: Bound


def lead(instance: Instance, bound: Bound, *, effort: int) -> list[tuple[int, int]]:
    """Return a plan for a search of many plates to begin from: plates in order, with kinds.

    Nothing where plates are few, or where the classical orders do as well.
    """
    plates = [plate for plate in instance.plates if can_be_printed(instance, plate)]
    if effort <= 0 or len(plates) <= MANY or _is_large(instance):
        return []
    board = best_board(instance, placements=0, seed=0, bound_s=0)
    if board.finish_s <= bound.finish_s or any(board.end[plate] < 0 for plate in plates):
        return []
    return filled_hours(
        instance,
        plates,
        low_s=bound.finish_s,
        high_s=board.finish_s,
        steps=effort * HOURS_STEPS,
    )


def prove(instance: Instance, board: Board, bound: Bound, *, effort: int, seed: int) -> Proof:
    """Raise the bound for the plates that have a place towards the finish, or better the plan.

    The work is counted in `effort` and not in seconds. Fractions of schedules come first, then,
    if plates and printers are few, the constraint model. Neither is asked once the plan is proven.
    """
    plates = [plate for plate in instance.plates if board.end[plate] >= 0]
    proven = board.finish_s <= bound.finish_s
    if not plates or effort <= 0 or proven or _is_large(instance):
        return Proof(board=board, bound=bound)
    starts = starts_of(instance)
    all_heads, _ = heads_and_ends(instance, starts)
    heads = {plate: all_heads[plate] for plate in plates}
    finish_s = column_bound(
        instance,
        starts,
        heads,
        low_s=bound.finish_s,
        high_s=board.finish_s,
        steps=effort * COLUMN_STEPS,
    )
    bound = _raised(
        bound,
        finish_s,
        "the printers' hours, even if every printer took fractions of several schedules",
    )
    if board.finish_s <= bound.finish_s or not is_small(instance, plates):
        return Proof(board=board, bound=bound)
    answer = solve_exactly(
        instance,
        starts,
        heads,
        board,
        low_s=bound.finish_s,
        work=effort * EXACT_WORK,
        seed=seed,
    )
    bound = _raised(
        bound,
        answer.finish_s,
        "a search of all printers, orders and starts, what spools hold aside",
    )
    return Proof(board=_bettered(instance, board, answer), bound=bound)


def _is_large(instance: Instance) -> bool:
    return len(instance.options) * len(instance.kinds) > LARGE


def _raised(bound: Bound, finish_s: int, words: str) -> Bound:
    if finish_s <= bound.finish_s:
        return bound
    return replace(bound, finish_s=finish_s, words=words)


def _bettered(instance: Instance, board: Board, answer: Answer) -> Board:
    """Return the board, or the answer as the decoder makes it real if that is better."""
    best, rank = board, rank_of(board)
    for keep_spool in (True, False) if answer.order else ():
        missing = [plate for plate in instance.plates if plate not in set(answer.order)]
        trial = Board(instance, keep_spool=keep_spool)
        trial.fill([*answer.order, *missing], answer.kinds)
        placed = all(trial.end[plate] >= 0 for plate in answer.order)
        if placed and rank_of(trial) < rank:
            best, rank = trial, rank_of(trial)
    return best
