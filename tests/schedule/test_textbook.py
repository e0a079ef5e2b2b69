"""Validation on published examples of scheduling identical machines (P||Cmax).

A weekend in which somebody is always there, starting takes no time and every plate fits every
printer is that problem. Optima proved by exhaustive search below.
"""

from __future__ import annotations

import random
from functools import cache

import pytest

from planner.schedule.bound import lower_bound
from planner.schedule.instance import instance_of
from planner.schedule.solve import plan_weekend
from tests.schedule.weekends import identical_machines, plate, weekend

# R. L. Graham, "Bounds on multiprocessing timing anomalies", SIAM J. Appl. Math. 17 (1969)
# 416-429: two jobs each of 2m-1 ... m+1 and three of m make longest-first end at 4m-1 and not
# at 3m, so its bound 4/3 - 1/(3m) is tight. Instance from memory; longest-first and optimum
# are checked below.
# That for m = 4, {7, 7, 6, 6, 5, 5, 4, 4, 4}, is the example for longest-first in M. Pinedo,
# "Scheduling: Theory, Algorithms, and Systems", section 5.1 (from memory).
TIGHT = [
    (m, sorted([*range(m + 1, 2 * m), *range(m, 2 * m), m, m], reverse=True)) for m in range(2, 9)
]

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


# The anomaly of the same paper (and Bell System Technical Journal 45 (1966) 1563-1581): nine
# tasks, 1 before 9 and 4 before 5 to 8. With the list 1..9 it ends at 12 on three machines, but
# later when that list is changed, all times are 1 shorter, a machine is added, or two rules are
# dropped. From memory; what the list rule gives is checked below.
ANOMALY = (3, 2, 2, 2, 4, 4, 4, 4, 9)
BEFORE = {9: (1,), 5: (4,), 6: (4,), 7: (4,), 8: (4,)}
CHANGES = [  # machines, times, before, list, end by the list, optimum: 1 and then 9 take so long
    (3, ANOMALY, BEFORE, (1, 2, 3, 4, 5, 6, 7, 8, 9), 12, 12),
    (3, ANOMALY, BEFORE, (1, 2, 4, 5, 6, 3, 9, 7, 8), 14, 12),
    (3, tuple(t - 1 for t in ANOMALY), BEFORE, (1, 2, 3, 4, 5, 6, 7, 8, 9), 13, 10),
    (4, ANOMALY, BEFORE, (1, 2, 3, 4, 5, 6, 7, 8, 9), 15, 12),
    (3, ANOMALY, {9: (1,), 7: (4,), 8: (4,)}, (1, 2, 3, 4, 5, 6, 7, 8, 9), 16, 12),
]


def proven_finish_s(machines: int, times: list[int]) -> float:
    """Return the finish of a plan, which its bound says is the best of all."""
    problem = identical_machines(times, machines)
    plan = plan_weekend(problem, effort=10, proof=100)
    assert not plan.unscheduled
    assert plan.lower_bound == plan.finish
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
    assert sum(times) == 3 * machines * machines  # so nothing ends sooner than 3m

    assert proven_finish_s(machines, times) == 3 * machines


@pytest.mark.parametrize(("machines", "times", "expected"), PRINTED)
def test_reaches_the_optimum_of_printed_examples(machines, times, expected):
    """The printed optimum is confirmed by exhaustive search, then reached."""
    assert optimum(machines, tuple(times)) == expected

    assert proven_finish_s(machines, times) == expected


@pytest.mark.parametrize("seed", range(6))
def test_proves_the_optimum_of_random_times(seed):
    """Ten jobs of 20 to 100 on two to five machines, confirmed by every assignment."""
    rng = random.Random(seed)
    machines, times = 2 + seed % 4, [rng.randint(20, 100) for _ in range(10)]

    assert proven_finish_s(machines, times) == optimum(machines, tuple(times))


def by_list(machines: int, times, before, order) -> int:
    """Return the end of Graham's list rule: a free machine takes the first task that is ready."""
    end: dict[int, int] = {}
    free = [0] * machines
    now = 0
    while len(end) < len(times):
        for i in range(machines):
            ready = [
                task
                for task in order
                if task not in end and all(end.get(b, now + 1) <= now for b in before.get(task, ()))
            ]
            if free[i] <= now and ready:
                free[i] = end[ready[0]] = now + times[ready[0] - 1]
        now += 1
    return max(end.values())


@pytest.mark.parametrize("change", CHANGES)
def test_the_anomaly_deceives_the_list_and_not_the_plan(change):
    """Gates are the rules of precedence; what should help, helps or does no harm."""
    machines, times, before, order, ends, expected = change
    assert by_list(machines, times, before, order) == ends
    names = [f"m{i}" for i in range(machines)]
    problem = weekend(
        [
            plate(
                str(task),
                dict.fromkeys(names, float(time)),
                gate=tuple(str(b) for b in before.get(task, ())),
            )
            for task, time in enumerate(times, 1)
        ],
        machines=dict.fromkeys(names, True),
    )
    plan = plan_weekend(problem, effort=10, proof=100)

    assert (plan.finish - problem.start).total_seconds() == expected
    assert plan.lower_bound == plan.finish


@pytest.mark.parametrize(("machines", "times"), [(m, t) for m, t, _ in PRINTED] + TIGHT)
def test_the_bound_is_mcnaughtons_where_somebody_is_always_there(machines, times):
    """Without windows the bound is max(longest, total / machines), rounded up.

    R. McNaughton, "Scheduling with deadlines and loss functions", Management Science 6 (1959)
    1-12: the optimum with pre-emption.
    """
    instance = instance_of(identical_machines(times, machines))

    bound = lower_bound(instance, instance.plates)

    assert bound.finish_s == max(*times, -(-sum(times) // machines))
