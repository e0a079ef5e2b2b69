"""Drawing what happens: how long things take this time, and how often each plate fails."""

from __future__ import annotations

from dataclasses import replace
from math import ceil, log1p, sqrt
from random import Random
from typing import TYPE_CHECKING, Any, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from planner.schedule.instance import Instance
    from planner.schedule.odds.model import Rates

    Brackets = Mapping[int, tuple[float, float]]  # per kind of printer: see `weekends_drawn`
    Row = dict[str, Any]  # what an `Instance` holds of one plate, by field

TRIES_MOST = 25
"""So many failures in a row are drawn at most; even at 60 % each that is once in 350,000."""

OF_A_PLATE = (
    *("options", "milligrams", "spools_for", "gates", "is_gate", "check_s"),
    *("priorities", "weights"),
)
"""The fields of an `Instance` that have one entry per plate (and stand for nothing else)."""


class Drawn(NamedTuple):
    """One plate this time: factors of its time per kind, the shares of it at which it fails."""

    factors: Mapping[int, float]
    fails_at: tuple[float, ...]


def weekends_drawn(
    instance: Instance,
    brackets: Sequence[Brackets],
    rates: Rates,
    planned_kind: Sequence[int],
    *,
    seed: int,
    trials: int,
) -> Iterator[list[Drawn]]:
    """Draw weekends. What is unknown about a printer is unknown for all its plates alike.

    So there is one draw per kind of printer, from a triangle over (-1, 1) with its peak at
    0 (the planned time), and it moves all plates of that kind within their own brackets:
    the least and the most of a plate's time as factors of the planned one.

    The n-th weekend of a seed has the same luck whatever the rates and the order of the
    plan: two plans or two rates are compared on the same draws, not on different ones.
    """
    random = Random(seed)  # noqa: S311  (repeatable, not secret)
    for trial in range(trials):
        leanings = [_triangle(random.random()) for _ in instance.kinds]
        drawn = []
        for plate in instance.plates:
            luck = random.random(), random.random()
            factors = {
                kind: _within(brackets[plate].get(kind, (1.0, 1.0)), leanings[kind])
                for kind, _ in instance.options[plate]
            }
            kind = planned_kind[plate]
            whole_s = dict(instance.options[plate]).get(kind)
            if whole_s is None:  # a plate without a place in the plan
                drawn.append(Drawn(factors, ()))
                continue
            later = f"{seed} {trial} {plate}"
            seconds = (whole_s - instance.hands_on_s) * factors[kind]
            fails_at = _failures(seconds, rates, luck, later)
            drawn.append(Drawn(factors, fails_at))
        yield drawn


def _triangle(u: float) -> float:
    """Return the leaning below which a share `u` of a triangle over (-1, 1) lies.

    >>> _triangle(0.0), _triangle(0.5), _triangle(0.875)
    (-1.0, 0.0, 0.5)
    """
    return sqrt(2 * u) - 1 if u < 0.5 else 1 - sqrt(2 * (1 - u))


def _within(bracket: tuple[float, float], leaning: float) -> float:
    low, high = bracket
    return 1.0 + leaning * (high - 1.0 if leaning > 0 else 1.0 - low)


def _failures(
    seconds: float, rates: Rates, luck: tuple[float, float], later: str
) -> tuple[float, ...]:
    """Return the shares of the run at which the plate fails, one try after the other.

    Failures after the first layer come at a constant rate (a Poisson process): the time to
    the next is exponential, -ln(1 - u) / rate. `luck` is the first try's, `later` seeds
    what comes after a failure.
    """
    at: list[float] = []
    random: Random | None = None
    while len(at) < TRIES_MOST:
        share = _failure(seconds, rates, luck)
        if share is None:
            break
        at.append(share)
        random = random or Random(later)  # noqa: S311  (repeatable, not secret)
        luck = random.random(), random.random()
    return tuple(at)


def _failure(seconds: float, rates: Rates, luck: tuple[float, float]) -> float | None:
    """Return the share of the run after which one try fails, or None."""
    first, later = luck
    if first < rates.first_layer:
        return min(1.0, rates.first_layer_s / seconds) if seconds else 1.0
    wait_s = -log1p(-later) / rates.per_hour * 3600.0 if rates.per_hour else seconds
    return wait_s / seconds if wait_s < seconds else None


def with_failures(instance: Instance, drawn: Sequence[Drawn]) -> tuple[Instance, list[list[int]]]:
    """Return the instance with every try as a plate of its own, and the tries of each plate.

    The last try keeps the plate's number, so that what waits for the plate waits for it. A
    failed try is known when somebody has taken it off; only then can the next one begin.
    """
    tries: list[list[int]] = []
    rows = [_row(instance, plate, drawn[plate].factors) for plate in instance.plates]
    for plate in instance.plates:
        whole = rows[plate]
        own: list[int] = []
        for share in drawn[plate].fails_at:
            before = {"gates": (own[-1],), "check_s": 0} if own else {}
            own.append(len(rows))
            rows.append(
                {
                    **whole,
                    "options": _scaled(instance, whole["options"], share),
                    "milligrams": ceil(whole["milligrams"] * share),
                    "is_gate": True,
                    **before,
                }
            )
        if own:
            rows[plate] = {**whole, "gates": (own[-1],), "check_s": 0}
        tries.append([*own, plate])
    columns: dict[str, Any] = {name: tuple(row[name] for row in rows) for name in OF_A_PLATE}
    return replace(instance, **columns), tries


def _row(instance: Instance, plate: int, factors: Mapping[int, float]) -> Row:
    """Return what the instance holds of one plate, its times as they come this time."""
    row: Row = {name: getattr(instance, name)[plate] for name in OF_A_PLATE}
    hands_on_s = instance.hands_on_s
    row["options"] = tuple(
        (kind, hands_on_s + ceil((s - hands_on_s) * factors[kind]))
        for kind, s in instance.options[plate]
    )
    return row


def _scaled(
    instance: Instance, options: Sequence[tuple[int, int]], share: float
) -> tuple[tuple[int, int], ...]:
    """Return the options with a share of the printing time, hands-on time aside."""
    hands_on_s = instance.hands_on_s
    return tuple((kind, hands_on_s + ceil((s - hands_on_s) * share)) for kind, s in options)
