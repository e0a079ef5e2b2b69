"""Local search over the order of the plates and the kind of printer each one asks for.

Late acceptance hill climbing: a change is kept if the plan is no worse than the present
one or than the one some steps ago. E. K. Burke and Y. Bykov, "The late acceptance
Hill-Climbing heuristic", European Journal of Operational Research 258 (2017) 70-78
(from memory). The amount of work is fixed beforehand and the random numbers are seeded,
so the same weekend always gives the same plan.
"""

from __future__ import annotations

from random import Random
from typing import TYPE_CHECKING, NamedTuple

from planner.progress import silent
from planner.schedule.board import ANY, Board, Key
from planner.schedule.clock import overlap_s

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from planner.progress import Progress
    from planner.schedule.instance import Instance

MEMORY = 40  # steps looked back; 20 to 100 made no difference on weekends of 40 to 100 plates
POLISH = 0.2  # share of the work that goes on after the bound is reached, for the tie-breaks

ROUNDS_PER_PLATE = 2000  # a handful of plates has few orders; more rounds only repeat them

LONG_CLIMB = 600
"""Rounds per plate from which two climbs from the start are surer than one, which may go astray."""

TARGET = 0
"""In place of a power: compare by what ends after the bound, see `Board.short_of`."""
NEAR, RETRIES, RETRIED_PLATES = 1.03, 3, 120
"""Beyond this much over the bound a weekend of at most so many plates is searched again, so often.

A plan that misses the last visit of a day by minutes ends a night later: few climbs then find the
one that fits, and each by luck.
"""
POWERS = (8, 1)
"""The two halves of the search: see `Board.key`. Either alone was worse on some weekends."""

LAST = 0.6
"""Share of the changes that begin on the printer that ends last, or with what is left out.

Of 0, 0.3 and 0.6 the last was best where printers differ, and no worse where they are alike.
"""

Rank = tuple[int, ...]
"""(weight left out or late, finish, plates nobody takes off, ends weighted by urgency,
seconds alone, spool changes)."""


class _Choice(NamedTuple):
    """What the decoder turns into a plan."""

    order: list[int]
    wishes: list[int]
    keep_spool: bool


class _Search:
    """The best board that was seen, and the choice that led to it."""

    def __init__(self, instance: Instance, seed: int) -> None:
        self.instance = instance
        self.random = Random(seed)  # noqa: S311  # a search, not a secret
        self.urgency = _urgency(instance)
        self.calm_until_s = _calm_until_s(instance)
        self.target_s = 0
        self.best_rank: Rank | None = None
        self.best = Board(instance, keep_spool=True)
        self.best_choice = _Choice([], [], keep_spool=True)

    def rate(self, choice: _Choice, power: int) -> tuple[Key, Board]:
        """Fill a board and remember it if it is the best so far."""
        board = Board(self.instance, keep_spool=choice.keep_spool)
        board.fill(choice.order, choice.wishes)
        key = board.short_of(self.target_s) if power == TARGET else board.key(power)
        shown = (key[0], board.finish_s)
        if self.best_rank is None or shown <= self.best_rank[:2]:
            rank = _rank(board, shown, self.urgency, self.calm_until_s)
            if self.best_rank is None or rank < self.best_rank:
                self.best, self.best_rank, self.best_choice = board, rank, choice
        return key, board

    def begin(self, advice: Iterable[tuple[int, int]], first: Sequence[tuple[int, int]]) -> None:
        """Try the first plan, then the classical orders, without and with the advice."""
        free = [ANY] * len(self.instance.options)
        if first:
            kinds = dict(first)
            named = [plate for plate, _ in first]
            order = [*named, *(plate for plate in self.instance.plates if plate not in kinds)]
            wishes = [kinds.get(plate, ANY) for plate in self.instance.plates]
            for keep in (True, False):
                self.rate(_Choice(order, wishes, keep), POWERS[0])
        advised = list(free)
        for plate, kind in advice:
            advised[plate] = kind
        for order in first_orders(self.instance):
            for wishes in [free, advised] if len(self.instance.kinds) > 1 else [free]:
                for keep in (True, False):
                    self.rate(_Choice(order, wishes, keep), POWERS[0])

    def climb(self, power: int, choice: _Choice, steps: Iterable[int]) -> None:
        """Climb from a choice; every step is one changed choice."""
        key, board = self.rate(choice, power)
        history, last = [key] * MEMORY, _on_last_printer(board)
        for step in steps:
            changed = self.neighbour(choice, last)
            trial, board = self.rate(changed, power)
            if trial <= key or trial <= history[step % MEMORY]:
                key, choice, last = trial, changed, _on_last_printer(board)
            history[step % MEMORY] = min(key, history[step % MEMORY])

    def neighbour(self, choice: _Choice, last: list[int]) -> _Choice:
        """Return a copy of the choice with one small change, mostly to a plate in `last`."""
        order, wishes, keep = list(choice.order), choice.wishes, choice.keep_spool
        draw, b = self.random.random(), self.random.randrange(len(order))
        plate = self.random.choice(last if last and draw < LAST else order)
        a, draw = order.index(plate), self.random.random()
        if draw < 0.45:
            order[a], order[b] = order[b], order[a]
            if wishes[plate] != wishes[order[a]] and draw < 0.3:
                wishes = list(wishes)
                wishes[plate], wishes[order[a]] = wishes[order[a]], wishes[plate]
        elif draw < 0.75 or len(self.instance.options[plate]) < 2:
            order.insert(b, order.pop(a))
        elif draw < 0.98:
            wishes = list(wishes)
            kinds = [kind for kind, _ in self.instance.options[plate]]
            wishes[plate] = self.random.choice([ANY, *kinds])
        else:
            keep = not keep
        return _Choice(order, wishes, keep)


def rank_of(board: Board) -> Rank:
    """Return what decides between finished plans: smaller is better."""
    instance = board.instance
    shown = board.cost(), board.finish_s
    return _rank(board, shown, _urgency(instance), _calm_until_s(instance))


def _rank(
    board: Board, shown: tuple[int, int], urgency: tuple[int, ...], calm_until_s: int
) -> Rank:
    hurry = board.finish_s > calm_until_s
    left_on = len(board.take_off_last()) if hurry else 0
    urgent_ends = sum(u * end for u, end in zip(urgency, board.end, strict=True) if u and end > 0)
    return (*shown, left_on, urgent_ends, alone_s(board), board.changes)


def _on_last_printer(board: Board) -> list[int]:
    """Return the plates of the printer that ends last, and those without a place."""
    printer = board.machine[max(board.instance.plates, key=board.end.__getitem__)]
    return [j for j, m in enumerate(board.machine) if m in {printer, -1}]


def best_board(
    instance: Instance,
    *,
    placements: int,
    seed: int,
    bound_s: int,
    advice: Iterable[tuple[int, int]] = (),
    first: Sequence[tuple[int, int]] = (),
    retry: bool = False,
    progress: Progress = silent,
) -> Board:
    """Return the best board found by placing that many plates, more kinds counting more.

    The classical orders are always tried in full. `advice` names a kind of printer for
    plates; `first` is a plan to begin from besides: plates in order, with kinds. Work stops
    early, but for a share for the tie-breaks, once nothing is left out that could be printed
    and the finish has come down to `bound_s`. With `retry` a plan that ends well after it is
    searched for again, which may take as much work once more and half of that.
    """
    search = _Search(instance, seed)
    search.begin(advice, first)
    if len(instance.options) < 2:
        return search.best
    per_round = sum(8 + len(options) for options in instance.options) // 8  # as measured
    rounds = min(placements // per_round, ROUNDS_PER_PLATE * len(instance.options))
    goal = (_unavoidable(instance), bound_s)
    start, climbs = search.best_choice, 2 if rounds >= LONG_CLIMB * len(instance.options) else 1
    parts = climbs * len(POWERS)
    for part, power in enumerate(POWERS * climbs):
        stretch = range(part * rounds // parts, (part + 1) * rounds // parts)
        begin = start if power == POWERS[0] else search.best_choice
        search.climb(power, begin, _until(search, goal, stretch, rounds, progress))
    if retry and len(instance.options) <= RETRIED_PLATES:
        _retry(search, start, goal, rounds // 2)
    progress("weekend", rounds, rounds, note=_hours(search))
    return search.best


def _retry(search: _Search, start: _Choice, goal: tuple[int, int], rounds: int) -> None:
    """Climb towards the bound itself while the best plan is far above it."""
    search.target_s = int(goal[1] * (1 + NEAR) / 2)
    for number in range(RETRIES):
        assert search.best_rank is not None  # there has been a search
        if search.best_rank[0] > goal[0] or search.best_rank[1] <= goal[1] * NEAR:
            return
        begin = start if number % 2 == 0 else search.best_choice
        search.climb(TARGET, begin, _until(search, goal, range(rounds), rounds, silent))


def _until(
    search: _Search, goal: tuple[int, int], steps: range, rounds: int, progress: Progress
) -> Iterator[int]:
    """Yield the steps, fewer once the goal is reached; tells the progress."""
    polish = int(len(steps) * POLISH)
    for step in steps:
        assert search.best_rank is not None  # the classical orders have been tried
        if all(now <= wanted for now, wanted in zip(search.best_rank, goal, strict=False)):
            polish -= 1
            if polish < 0:
                return
        if step % max(1, rounds // 50) == 0:
            progress("weekend", step, rounds, note=_hours(search))
        yield step


def _hours(search: _Search) -> str:
    return f"{search.best.finish_s / 3600:.1f} h"


def _unavoidable(instance: Instance) -> int:
    """Return the cost of the plates that no plan can print, for want of printer or spool."""
    never = {plate for plate in instance.plates if not can_be_printed(instance, plate)}
    return sum(2 * instance.weights[plate] for plate in never) + sum(
        cost for cost, members in instance.sets if never.intersection(members)
    )


def can_be_printed(instance: Instance, plate: int) -> bool:
    """Return whether the plate has a printer, and a spool or two with enough on them at first."""
    need_mg = instance.milligrams[plate]
    fullest: dict[int, list[int]] = {}
    for spool in instance.spools_for[plate]:
        alike = fullest.setdefault(instance.spool_alike[spool], [])
        alike.append(instance.spool_milligrams[spool])
    enough = any(sum(sorted(alike)[-2:]) >= need_mg for alike in fullest.values())
    return enough and bool(instance.options[plate])


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
        *_orders_by_set(instance, tail),
    ]


def _orders_by_set(instance: Instance, tail: list[int]) -> list[list[int]]:
    """Return orders that finish one set after the other: by value, and by value per hour.

    The second is the greedy rule for the knapsack problem: G. B. Dantzig, "Discrete-Variable
    Extremum Problems", Operations Research 5 (1957) 266-277 (from memory).
    """
    if not instance.sets:
        return []
    hours = [sum(tail[plate] for plate in members) for _, members in instance.sets]
    orders = []
    for per_hour in (False, True):
        rank = [len(instance.sets)] * len(instance.options)
        worth = [
            cost / max(1, work_s) if per_hour else cost
            for (cost, _), work_s in zip(instance.sets, hours, strict=True)
        ]
        ranked = sorted(range(len(worth)), key=lambda k: (-worth[k], k))
        for place, k in enumerate(ranked):
            for plate in instance.sets[k][1]:
                rank[plate] = min(rank[plate], place)
        orders.append(sorted(instance.plates, key=lambda j: (rank[j], -tail[j], j)))
    return orders


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


def _calm_until_s(instance: Instance) -> int:
    """Return up to which finish every plate is taken off for sure, to spare the asking.

    After the finish each printer is visited once at most, and a visit keeps another from
    beginning for less than twice the hands-on time.
    """
    printers = sum(len(kind.machines) for kind in instance.kinds)
    rush_s = 2 * printers * instance.hands_on_s
    stretches = [zip(*hands, strict=True) for hands in instance.hands]
    ends = (last - rush_s for own in stretches for first, last in own if last - rush_s >= first)
    return max(ends, default=-1)


def alone_s(board: Board) -> int:
    """Return for how many seconds printers run while nobody is there, summed over the runs."""
    presence = board.instance.presence
    return sum(
        end - start - overlap_s(presence, start, end)
        for start, end in zip(board.start, board.end, strict=True)
        if end > 0
    )
