"""Local search over the order of the plates and the kind of printer each one asks for.

Late acceptance hill climbing: a change is kept if the plan is no worse than the present
one or than the one some steps ago. E. K. Burke and Y. Bykov, "The late acceptance
Hill-Climbing heuristic", European Journal of Operational Research 258 (2017) 70-78
(from memory). The amount of work is fixed beforehand and the random numbers are seeded,
so the same weekend always gives the same plan.
"""

from __future__ import annotations

from random import Random
from typing import TYPE_CHECKING

from planner.progress import silent
from planner.schedule.board import ANY, Board, Key
from planner.schedule.clock import overlap_s

if TYPE_CHECKING:
    from planner.progress import Progress
    from planner.schedule.instance import Instance

MEMORY = 40  # steps looked back; 20 to 100 made no difference on weekends of 40 to 100 plates
POLISH = 0.2  # share of the work that goes on after the bound is reached, for the tie-breaks

ROUNDS_PER_PLATE = 2000  # a handful of plates has few orders; more rounds only repeat them

Rank = tuple[int, int, int, int]
"""(weight left out or late, finish, ends weighted by urgency, seconds alone)."""


class _Search:
    """The present order and wishes, and the best board that was seen."""

    def __init__(self, instance: Instance, seed: int) -> None:
        self.instance = instance
        self.random = Random(seed)  # noqa: S311  # a search, not a secret
        self.urgency = _urgency(instance)
        self.best: Board | None = None
        self.best_rank: Rank = (0, 0, 0, 0)
        self.order: list[int] = []
        self.wishes: list[int] = [ANY] * len(instance.options)
        self.keep_spool = True

    def rate(self, order: list[int], wishes: list[int], *, keep_spool: bool) -> Key:
        """Fill a board and remember it if it is the best so far."""
        board = Board(self.instance, keep_spool=keep_spool)
        key = board.fill(order, wishes)
        if self.best is None or key[:2] <= self.best_rank[:2]:
            rank = (*key[:2], self._urgent_ends(board), alone_s(board))
            if self.best is None or rank < self.best_rank:
                self.best, self.best_rank = board, rank
        return key

    def begin(self) -> Key:
        """Try the classical orders and stay with the best one."""
        trials = [
            (self.rate(order, self.wishes, keep_spool=keep), number, keep, order)
            for number, order in enumerate(first_orders(self.instance))
            for keep in (True, False)
        ]
        key, _, self.keep_spool, self.order = min(trials)
        return key

    def neighbour(self) -> tuple[list[int], list[int], bool]:
        """Return a copy of the present choice with one small change."""
        order, wishes, keep = list(self.order), self.wishes, self.keep_spool
        draw = self.random.random()
        a, b = self.random.randrange(len(order)), self.random.randrange(len(order))
        if draw < 0.45:
            order[a], order[b] = order[b], order[a]
        elif draw < 0.8 or len(self.instance.options[order[a]]) < 2:
            order.insert(b, order.pop(a))
        elif draw < 0.98:
            wishes = list(wishes)
            kinds = [kind for kind, _ in self.instance.options[order[a]]]
            wishes[order[a]] = self.random.choice([ANY, *kinds])
        else:
            keep = not keep
        return order, wishes, keep

    def _urgent_ends(self, board: Board) -> int:
        return sum(u * end for u, end in zip(self.urgency, board.end, strict=True) if u and end > 0)


def best_board(
    instance: Instance, *, placements: int, seed: int, bound_s: int, progress: Progress = silent
) -> Board:
    """Return the best board found by that many placements of one plate on one kind of printer.

    The classical orders are always tried in full. Work stops early, but for a share
    for the tie-breaks, once nothing is left out that
    could be printed and the finish has come down to `bound_s`.
    """
    search = _Search(instance, seed)
    key = search.begin()
    assert search.best is not None  # there is at least one order, even of no plates
    if len(instance.options) < 2:
        return search.best
    per_round = sum(len(options) + 1 for options in instance.options)
    rounds = min(placements // per_round, ROUNDS_PER_PLATE * len(instance.options))
    history = [key] * MEMORY
    polish, unavoidable = int(rounds * POLISH), _unavoidable(instance)
    for step in range(rounds):
        if search.best_rank[0] <= unavoidable and search.best_rank[1] <= bound_s:
            polish -= 1
            if polish < 0:
                break
        order, wishes, keep = search.neighbour()
        trial = search.rate(order, wishes, keep_spool=keep)
        if trial <= key or trial <= history[step % MEMORY]:
            key, search.order, search.wishes, search.keep_spool = trial, order, wishes, keep
        history[step % MEMORY] = min(key, history[step % MEMORY])
        if step % max(1, rounds // 50) == 0:
            progress("weekend", step, rounds, note=f"{search.best_rank[1] / 3600:.1f} h")
    progress("weekend", rounds, rounds, note=f"{search.best_rank[1] / 3600:.1f} h")
    return search.best


def _unavoidable(instance: Instance) -> int:
    """Return the weight of the plates that no plan can print, for want of printer or spool."""
    return sum(
        2 * instance.weights[plate]
        for plate in instance.plates
        if not instance.options[plate] or not has_spool(instance, plate)
    )


def has_spool(instance: Instance, plate: int) -> bool:
    """Return whether any spool, as it is at first, has enough for the plate."""
    need_mg = instance.milligrams[plate]
    return any(instance.spool_milligrams[s] >= need_mg for s in instance.spools_for[plate])


def first_orders(instance: Instance) -> list[list[int]]:
    """Return the orders to begin from: as urgent, longest first, shortest first, by grams.

    Longest first is R. L. Graham's LPT rule, "Bounds on multiprocessing timing anomalies",
    SIAM J. Appl. Math. 17 (1969) 416-429. Plates that others wait for carry what follows.
    """
    tail = _tails(instance)
    urgent = instance.priorities
    return [
        sorted(instance.plates, key=lambda j: (urgent[j], -tail[j], j)),
        sorted(instance.plates, key=lambda j: (-tail[j], j)),
        sorted(instance.plates, key=lambda j: (tail[j], j)),
        sorted(instance.plates, key=lambda j: (-instance.milligrams[j], j)),
    ]


def _tails(instance: Instance) -> list[int]:
    """Return for each plate its shortest run plus the longest chain that waits for it."""
    waiting: list[list[int]] = [[] for _ in instance.plates]
    for plate, gates in enumerate(instance.gates):
        for gate in gates:
            waiting[gate].append(plate)
    tail = [0] * len(instance.options)
    for plate in reversed(instance.gates_first):
        own = min((seconds for _, seconds in instance.options[plate]), default=0)
        tail[plate] = own + max((tail[j] for j in waiting[plate]), default=0)
    return tail


def _urgency(instance: Instance) -> tuple[int, ...]:
    """Return how much sooner each plate is wanted than the least urgent one (0: not at all)."""
    levels = sorted(set(instance.priorities), reverse=True)
    return tuple(levels.index(priority) for priority in instance.priorities)


def alone_s(board: Board) -> int:
    """Return for how many seconds printers run while nobody is there, summed over the runs."""
    presence = board.instance.presence
    return sum(
        end - start - overlap_s(presence, start, end)
        for start, end in zip(board.start, board.end, strict=True)
        if end > 0
    )
