"""The weekend as a constraint model: to better a plan, and to prove that none ends sooner.

The model drops rules that only cost time (the visits that take plates off, what each spool
holds), so its bound holds for every plan; its plan is made real by the decoder, which keeps
all rules.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from planner.schedule.clock import NEVER
from planner.schedule.prove.grid import starts_of_run

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from planner.schedule.board import Board
    from planner.schedule.instance import Instance
    from planner.schedule.starts import Starts

PLACES_MOST = 150
"""Plates x printers beyond which the model says nothing in the time it is given."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """A finish that no plan can beat [s]; an order and kinds of printers to try, if any."""

    finish_s: int
    order: tuple[int, ...]
    kinds: tuple[int, ...]


def is_small(instance: Instance, plates: Sequence[int]) -> bool:
    """Return whether the model is small enough to be worth its time."""
    return _places(instance, plates) <= PLACES_MOST


def _places(instance: Instance, plates: Sequence[int]) -> int:
    return sum(
        len(instance.kinds[kind].machines)
        for plate in plates
        for kind, _ in instance.options[plate]
    )


def solve_exactly(
    instance: Instance,
    starts: Starts,
    heads: Mapping[int, int],
    board: Board,
    *,
    low_s: int,
    work: float,
    seed: int,
) -> Answer:
    """Better a board on which the plates of `heads` have places, or prove that it is best.

    One worker with a limit of deterministic work: the same input gives the same answer.
    """
    from ortools.sat.python import cp_model  # noqa: PLC0415  # slow to import

    made = _Model(cp_model, instance, starts, heads, (low_s, board.finish_s))
    made.hint(board)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = seed
    solver.parameters.max_deterministic_time = work
    status = solver.solve(made.model)
    if status not in {cp_model.OPTIMAL, cp_model.FEASIBLE}:
        return Answer(finish_s=low_s, order=(), kinds=())
    start_s = {plate: solver.value(variable) for plate, variable in made.start.items()}
    kinds = [-1] * len(instance.options)
    for (plate, kind, _), chosen in made.on.items():
        if solver.boolean_value(chosen):
            kinds[plate] = kind
    return Answer(
        finish_s=max(low_s, int(solver.best_objective_bound)),
        order=tuple(sorted(start_s, key=lambda plate: (start_s[plate], plate))),
        kinds=tuple(kinds),
    )


class _Model:
    """Variables and rules; `start[plate]` and `on[plate, kind, machine]`."""

    def __init__(
        self,
        cp: Any,
        instance: Instance,
        starts: Starts,
        heads: Mapping[int, int],
        finish_s: tuple[int, int],
    ) -> None:
        self.model = cp.CpModel()
        self._cp, self._instance, self._starts = cp, instance, starts
        self._last = finish_s[1]
        self.start: dict[int, Any] = {}
        self.end: dict[int, Any] = {}
        self.on: dict[tuple[int, int, int], Any] = {}
        self._runs: dict[int, list[Any]] = {}
        self._loads: dict[int, list[Any]] = {}
        for plate, head_s in heads.items():
            self._add_plate(plate, head_s)
        self._finish = self.model.new_int_var(*finish_s, "finish")
        self.model.add_max_equality(self._finish, list(self.end.values()))
        for machine, runs in self._runs.items():
            self.model.add_no_overlap(runs)
            self.model.add(sum(self._loads[machine]) <= self._finish)
        self._add_people()
        for plate in heads:
            self._add_gates(plate)
        self._break_symmetry()
        self.model.minimize(self._finish)

    def _add_plate(self, plate: int, head_s: int) -> None:
        model, instance = self.model, self._instance
        start = model.new_int_var(head_s, self._last, f"start {plate}")
        end = model.new_int_var(0, self._last, f"end {plate}")
        self.start[plate], self.end[plate] = start, end
        for kind, run_s in instance.options[plate]:
            doors = starts_of_run(self._starts, instance.kinds[kind], run_s, head_s)
            domain = self._cp.Domain.from_intervals([list(door) for door in doors])
            for machine in instance.kinds[kind].machines:
                on = model.new_bool_var(f"{plate} on {machine}")
                self.on[plate, kind, machine] = on
                model.add_linear_expression_in_domain(start, domain).only_enforce_if(on)
                run = model.new_optional_interval_var(start, run_s, end, on, "")
                self._runs.setdefault(machine, []).append(run)
                self._loads.setdefault(machine, []).append(run_s * on)
        model.add_exactly_one(on for (own, _, _), on in self.on.items() if own == plate)

    def _add_people(self) -> None:
        """Let hands-on times share the people; who is away is busy."""
        instance, hands_on_s = self._instance, self._instance.hands_on_s
        if not hands_on_s:
            return
        model, horizon = self.model, self._last + hands_on_s
        busy = [model.new_fixed_size_interval_var(at, hands_on_s, "") for at in self.start.values()]
        if len(instance.people) == 1:
            model.add_no_overlap(busy)
            return
        for own in instance.people:
            clock = 0
            for begin, end in (*own, (NEVER, NEVER)):
                away_s = min(begin, horizon) - clock
                if away_s > 0:
                    busy.append(model.new_fixed_size_interval_var(clock, away_s, ""))
                clock = end
        model.add_cumulative(busy, [1] * len(busy), len(instance.people))

    def _add_gates(self, plate: int) -> None:
        """Hold a plate back until its gates can have been taken off and checked."""
        wait_s = self._instance.hands_on_s + self._instance.check_s[plate]
        for gate in self._instance.gates[plate]:
            if gate in self.end:
                self.model.add(self.start[plate] >= self.end[gate] + wait_s)

    def _break_symmetry(self) -> None:
        """Give the i-th longest plate one of the first i printers of each kind that are alike."""
        longest = sorted(
            self.start, key=lambda j: (-min(s for _, s in self._instance.options[j]), j)
        )
        for kind, made in enumerate(self._instance.kinds):
            able = [j for j in longest if (j, kind, made.machines[0]) in self.on]
            for place, plate in enumerate(able):
                for machine in made.machines[place + 1 :]:
                    self.model.add(self.on[plate, kind, machine] == 0)

    def hint(self, board: Board) -> None:
        """Start from a plan; printers that are alike are named in the order of their longest."""
        name: dict[int, int] = {}
        longest = sorted(
            self.start, key=lambda j: (-min(s for _, s in self._instance.options[j]), j)
        )
        for plate in longest:
            machine = board.machine[plate]
            alike = next(k.machines for k in self._instance.kinds if machine in k.machines)
            taken = set(name.values())
            name.setdefault(machine, next((m for m in alike if m not in taken), machine))
        for plate, start in self.start.items():
            self.model.add_hint(start, board.start[plate])
            self.model.add_hint(self.end[plate], board.end[plate])
        for (plate, _, machine), on in self.on.items():
            self.model.add_hint(on, name[board.machine[plate]] == machine)
        self.model.add_hint(self._finish, board.finish_s)
