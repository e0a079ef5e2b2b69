"""How many copies to print: assemblies taken apart, stock subtracted, spares added."""

from __future__ import annotations

from dataclasses import replace
from math import exp, log, log1p
from typing import TYPE_CHECKING

from planner.job.model import Need

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping

    from networkx import DiGraph

    from planner.job.model import Assembly, Job, Part

TIE = 1e-12
"""Odds this close under the wanted ones count as reached: 0.9 is 0.9, however rounded."""


def needs(job: Job) -> tuple[Need, ...]:
    """Return what to print of every part, in the order in which the job declares them.

    gross = own quantity + what walls need + sum over parents of (their net x count);
    net = gross - stock, at least 0. Spares: the fewest that give the job's confidence of `net`
    good copies.
    """
    things = _things(job)
    gross = gross_quantities(
        {name: dict(each.contains) for name, each in job.assemblies.items()},
        quantity={name: each.quantity + _by_walls(job, name) for name, each in things.items()},
        stock={name: each.stock for name, each in things.items()},
    )
    return tuple(_need(job, name, gross) for name in job.parts)


def gross_quantities(
    contains: Mapping[str, Mapping[str, int]],
    *,
    quantity: Mapping[str, int],
    stock: Mapping[str, int],
) -> dict[str, int]:
    """Return how many of each thing are wanted before its own stock is subtracted.

    `contains` maps an assembly to its contents and must be free of circles; `quantity`
    and `stock` have an entry for every thing.
    """
    gross = dict(quantity)
    for name in _from_the_top(contains):
        net = max(0, gross[name] - stock[name])
        for inside, count in contains.get(name, {}).items():
            gross[inside] += net * count
    return gross


def from_the_top(job: Job) -> tuple[str, ...]:
    """Return parts and assemblies, each after every assembly that it is in."""
    return _from_the_top({name: each.contains for name, each in job.assemblies.items()})


def _from_the_top(contains: Mapping[str, Mapping[str, int]]) -> tuple[str, ...]:
    from networkx import topological_sort  # noqa: PLC0415 (slow to import)

    # The stubs say that topological_sort returns None.
    sort: Callable[[DiGraph], Iterable[str]] = topological_sort  # type: ignore[assignment]
    return tuple(sort(_graph(contains)))


def circle(contains: Mapping[str, Mapping[str, int]]) -> tuple[str, ...]:
    """Return a circle of assemblies, first name repeated at the end, or () if there is none.

    >>> circle({"bay": {"frame": 1}, "frame": {"bay": 2, "panel": 1}})
    ('bay', 'frame', 'bay')
    """
    from networkx import NetworkXNoCycle, find_cycle  # noqa: PLC0415 (slow to import)

    try:
        edges = [(edge[0], edge[1]) for edge in find_cycle(_graph(contains))]
    except NetworkXNoCycle:
        return ()
    return (*(start for start, _ in edges), edges[0][0])


def copies_for(good: int, *, failure_rate: float, confidence: float) -> tuple[int, float]:
    """Return the fewest copies that give `good` good ones, and the odds that they do.

    Copies fail independently, so the number of good ones among n is binomial and the
    number of copies until the k-th good one is negative binomial:
    P(n copies suffice) = sum for j = 0 .. n - k of C(k - 1 + j, j) p^k q^j, with p the
    chance of a good copy and q = 1 - p. Terms are built from one another as logarithms,
    so that p^k may be far below the smallest double.

    >>> copies_for(10, failure_rate=0.1, confidence=0.95)
    (13, 0.965839...)
    """
    if good == 0 or failure_rate == 0:
        return good, 1.0
    log_term = good * log1p(-failure_rate)
    odds, bad = exp(log_term), 0
    while odds < confidence - TIE:
        bad += 1
        log_term += log(failure_rate * (good - 1 + bad) / bad)
        odds += exp(log_term)
    return good + bad, min(odds, 1.0)


def odds_of_copies(good: int, printed: int, *, failure_rate: float) -> float:
    """Return the odds that at least `good` of `printed` copies are good; see `copies_for`.

    >>> round(odds_of_copies(10, 13, failure_rate=0.1), 6), odds_of_copies(3, 2, failure_rate=0.1)
    (0.965839, 0.0)
    """
    if printed < good:
        return 0.0
    if good == 0 or failure_rate == 0:
        return 1.0
    log_term = good * log1p(-failure_rate)
    odds = exp(log_term)
    for bad in range(1, printed - good + 1):
        log_term += log(failure_rate * (good - 1 + bad) / bad)
        odds += exp(log_term)
    return min(odds, 1.0)


def with_spares(need: Need, spares: int, *, failure_rate: float, why: str = "as asked") -> Need:
    """Return the need with another number of spares; nothing is spare of what is not needed."""
    spares = spares if need.needed else 0
    before = need.because.rpartition("; plus ")[0] if need.spares else need.because
    return replace(
        need,
        spares=spares,
        to_print=need.needed + spares,
        odds=odds_of_copies(need.needed, need.needed + spares, failure_rate=failure_rate),
        because=f"{before}; plus {spares} {_spare(spares)} ({why})" if spares else before,
    )


def _spare(count: int) -> str:
    return "spare" if count == 1 else "spares"


def _graph(contains: Mapping[str, Mapping[str, int]]) -> DiGraph:
    from networkx import DiGraph  # noqa: PLC0415 (slow to import)

    graph: DiGraph = DiGraph()
    for name, inside in contains.items():
        graph.add_node(name)
        graph.add_edges_from((name, each) for each in inside)
    return graph


def _things(job: Job) -> dict[str, Part | Assembly]:
    return {**job.parts, **job.assemblies}


def _by_walls(job: Job, name: str) -> int:
    return job.by_walls[name].count if name in job.by_walls else 0


def _need(job: Job, name: str, gross: Mapping[str, int]) -> Need:
    stock = job.parts[name].stock
    needed = max(0, gross[name] - stock)
    to_print, odds = copies_for(needed, failure_rate=job.failure_rate, confidence=job.confidence)
    need = Need(
        part=name,
        needed=needed,
        from_stock=min(stock, gross[name]),
        spares=to_print - needed,
        to_print=to_print,
        odds=odds,
        because=_because(job, name, gross, to_print - needed),
    )
    asked = job.parts[name].spares
    return need if asked is None else with_spares(need, asked, failure_rate=job.failure_rate)


def _because(job: Job, name: str, gross: Mapping[str, int], spares: int) -> str:
    """Return where the number comes from: "8 bay x 6 = 48; less 2 in stock; plus 1 spare"."""
    part = job.parts[name]
    if gross[name] == 0:
        return "not wanted"
    sources = [f"{part.quantity} by itself"] if part.quantity else []
    if _by_walls(job, name):
        sources.append(f"wall: {job.by_walls[name].because}")
    for assembly in job.assemblies.values():
        net = max(0, gross[assembly.name] - assembly.stock)
        count = assembly.contains.get(name, 0)
        if net and count:
            sources.append(f"{net} {assembly.name} x {count} = {net * count}")
    steps = [" + ".join(sources)]
    if part.stock:
        steps.append(f"less {min(part.stock, gross[name])} in stock")
    if spares:
        steps.append(f"plus {spares} {_spare(spares)} ({job.failure_rate:.3g} of copies fail)")
    return "; ".join(steps)
