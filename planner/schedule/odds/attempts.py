"""Drawing what happens: how long things take this time, and how often each plate fails."""

from __future__ import annotations

from dataclasses import replace
from math import ceil, log1p
from typing import TYPE_CHECKING, Any, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from random import Random

    from planner.schedule.instance import Instance
    from planner.schedule.odds.model import Rates

    Brackets = Mapping[int, tuple[float, float]]  # per kind of printer: see `draw`

TRIES_MOST = 25
"""So many failures in a row are drawn at most; even at 60 % each that is once in 350,000."""


class Drawn(NamedTuple):
    """One plate this time: factors of its time per kind, the shares of it at which it fails."""

    factors: Mapping[int, float]
    fails_at: tuple[float, ...]


def draw(
    instance: Instance,
    brackets: Sequence[Brackets],
    rates: Rates,
    planned_kind: Sequence[int],
    random: Random,
) -> list[Drawn]:
    """Draw the weekend. What is unknown about a printer is unknown for all its plates alike.

    So there is one draw per kind of printer, from a triangle over (-1, 1) with its peak at
    0 (the planned time), and it moves all plates of that kind within their own brackets:
    the least and the most of a plate's time as factors of the planned one.
    """
    leanings = [random.triangular(-1.0, 1.0, 0.0) for _ in instance.kinds]
    drawn = []
    for plate in instance.plates:
        factors = {
            kind: _within(brackets[plate].get(kind, (1.0, 1.0)), leanings[kind])
            for kind, _ in instance.options[plate]
        }
        kind = planned_kind[plate]
        seconds = dict(instance.options[plate])[kind] - instance.hands_on_s
        drawn.append(Drawn(factors, _failures(seconds * factors[kind], rates, random)))
    return drawn


def _within(bracket: tuple[float, float], leaning: float) -> float:
    low, high = bracket
    return 1.0 + leaning * (high - 1.0 if leaning > 0 else 1.0 - low)


def _failures(seconds: float, rates: Rates, random: Random) -> tuple[float, ...]:
    """Return the shares of the run at which the plate fails, one try after the other.

    Failures after the first layer come at a constant rate (a Poisson process): the time to
    the next is exponential, -ln(1 - u) / rate.
    """
    at: list[float] = []
    while len(at) < TRIES_MOST:
        first, later = random.random(), random.random()
        wait_s = -log1p(-later) / rates.per_hour * 3600.0 if rates.per_hour else seconds
        if first < rates.first_layer:
            at.append(min(1.0, rates.first_layer_s / seconds) if seconds else 1.0)
        elif wait_s < seconds:
            at.append(wait_s / seconds)
        else:
            break
    return tuple(at)


def with_failures(instance: Instance, drawn: Sequence[Drawn]) -> tuple[Instance, list[list[int]]]:
    """Return the instance with every try as a plate of its own, and the tries of each plate.

    The last try keeps the plate's number, so that what waits for the plate waits for it. A
    failed try is known when somebody has taken it off; only then can the next one begin.
    """
    tries: list[list[int]] = []
    rows: list[_Row] = [_row(instance, plate, drawn[plate].factors) for plate in instance.plates]
    for plate in instance.plates:
        whole, own = rows[plate], []
        for number, share in enumerate(drawn[plate].fails_at):
            first = number == 0
            own.append(len(rows))
            rows.append(
                whole._replace(
                    options=tuple(
                        (kind, instance.hands_on_s + ceil((s - instance.hands_on_s) * share))
                        for kind, s in whole.options
                    ),
                    milligrams=ceil(whole.milligrams * share),
                    gates=whole.gates if first else (own[-2],),
                    check_s=whole.check_s if first else 0,
                    is_gate=True,
                )
            )
        if own:
            rows[plate] = whole._replace(gates=(own[-1],), check_s=0)
        tries.append([*own, plate])
    columns: dict[str, Any] = dict(zip(_Row._fields, zip(*rows, strict=True), strict=True))
    return replace(instance, **columns), tries


class _Row(NamedTuple):
    """The fields of an `Instance` that the decoder reads, for one plate."""

    options: tuple[tuple[int, int], ...]
    milligrams: int
    spools_for: tuple[int, ...]
    gates: tuple[int, ...]
    is_gate: bool
    check_s: int


def _row(instance: Instance, plate: int, factors: Mapping[int, float]) -> _Row:
    hands_on_s = instance.hands_on_s
    return _Row(
        options=tuple(
            (kind, hands_on_s + ceil((s - hands_on_s) * factors[kind]))
            for kind, s in instance.options[plate]
        ),
        milligrams=instance.milligrams[plate],
        spools_for=instance.spools_for[plate],
        gates=instance.gates[plate],
        is_gate=instance.is_gate[plate],
        check_s=instance.check_s[plate],
    )
