"""Validation on published examples of scheduling identical machines (P||Cmax).

A weekend in which somebody is always there, starting takes no time and every plate fits every
printer is that problem. Optima proved by exhaustive search below.
"""

from __future__ import annotations

from functools import cache

import pytest

from planner.schedule.bound import lower_bound
from planner.schedule.instance import instance_of
from planner.schedule.solve import plan_weekend
from tests.schedule.weekends import identical_machines

# R. L. Graham, "Bounds on multiprocessing timing anomalies", SIAM J. Appl. Math. 17 (1969)
# 416-429: two jobs each of 2m-1 ... m+1 and three of m make longest-first end at 4m-1 and not
# at 3m, so its bound 4/3 - 1/(3m) is tight. Instance from memory; longest-first and optimum
# are checked below.
TIGHT = [(m, sorted([*range(m + 1, 2 * m), *range(m, 2 * m), m, m], reverse=True)) for m in (2, 3)]
TIGHT += [(4, [7, 7, 6, 6, 5, 5, 4, 4, 4]), (5, [9, 9, 8, 8, 7, 7, 6, 6, 5, 5, 5])]

# {4,5,6,7,8}: worked example of the "Longest-processing-time-first scheduling" article of
# the open encyclopedia. 9..1: task set of exercise 31, chapter 12, in S. Sahni, "Data Structures,
# Algorithms, and Applications in C++"; the answers are ours, by exhaustive search.
PRINTED = [
    (2, [4, 5, 6, 7, 8], 15),
    (3, [4, 5, 6, 7, 8], 11),
    (2, list(range(9, 0, -1)), 23),
    (3, list(range(9, 0, -1)), 15),
    (4, list(range(9, 0, -1)), 12),
]


def finish_s(machines: int, times: list[int]) -> float:
    problem = identical_machines(times, machines)
    plan = plan_weekend(problem, effort=10)
    assert not plan.unscheduled
    return (plan.finish - problem.start).total_seconds()


def optimum(machines: int, times: tuple[int, ...]) -> int:
    """Return the best makespan by trying every assignment (loads sorted, so seen once)."""

    @cache
    def best(loads: tuple[int, ...], i: int) -> int:
        if i == len(times):
            return max(loads)
        trials = (
            tuple(sorted((*loads[:m], loads[m] + times[i], *loads[m + 1 :])))
            for m in range(machines)
        )
        return min(best(loads, i + 1) for loads in set(trials))

    return best((0,) * machines, 0)


def longest_first(machines: int, times: list[int]) -> int:
    """Return the makespan of Graham's rule, in four lines of its own."""
    loads = [0] * machines
    for time in sorted(times, reverse=True):
        loads[loads.index(min(loads))] += time
    return max(loads)


@pytest.mark.parametrize(("machines", "times"), TIGHT)
def test_reaches_the_optimum_where_longest_first_is_at_its_worst(machines, times):
    """Longest-first gives 4m-1 on these instances; the optimum is 3m."""
    assert longest_first(machines, times) == 4 * machines - 1
    assert optimum(machines, tuple(times)) == 3 * machines

    assert finish_s(machines, times) == 3 * machines


@pytest.mark.parametrize(("machines", "times", "expected"), PRINTED)
def test_reaches_the_optimum_of_printed_examples(machines, times, expected):
    """The printed optimum is confirmed by exhaustive search, then reached."""
    assert optimum(machines, tuple(times)) == expected

    assert finish_s(machines, times) == expected


@pytest.mark.parametrize(("machines", "times"), [(m, t) for m, t, _ in PRINTED] + TIGHT)
def test_the_bound_is_mcnaughtons_where_somebody_is_always_there(machines, times):
    """Without windows the bound is max(longest, total / machines), rounded up.

    R. McNaughton, "Scheduling with deadlines and loss functions", Management Science 6 (1959)
    1-12: the optimum with pre-emption.
    """
    instance = instance_of(identical_machines(times, machines))

    bound = lower_bound(instance, instance.plates)

    assert bound.finish_s == max(*times, -(-sum(times) // machines))
