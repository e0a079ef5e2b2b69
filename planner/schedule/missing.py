"""What filament is missing for a plate, how much, and what there is instead."""

from __future__ import annotations

from difflib import SequenceMatcher
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from planner.schedule.board import Board
    from planner.schedule.model import PlateTask, SpoolLevel, Weekend

    Level = tuple[SpoolLevel, float]  # a spool, and g on it

NEAR = 0.7
"""Likeness from which two words may be one misspelt (gray and grey: 0.75); our own choice."""


def no_spool(weekend: Weekend, board: Board, plate: int) -> str:
    """Say how many grams of what are missing, before or after the other plates; or nothing.

    A plate is fed from one spool, or from two alike, so the fullest that fit count. Where one
    of the same material in another colour, or of a name that is nearly the same, has enough,
    it is named.
    """
    task, fitting = weekend.tasks[plate], board.instance.spools_for[plate]
    if not fitting:
        other = _others(task, [(spool, spool.grams) for spool in weekend.spools], least_g=0.0)
        much = f"{_grams(task.grams)} are missing: " if task.grams else ""
        return f"{much}no spool of {_what(task)}{other}"
    need_mg = board.instance.milligrams[plate]
    for left_mg, when in (
        (board.instance.spool_milligrams, ""),
        (board.left_mg, " after the other plates"),
    ):
        fullest = _fullest_two(board, fitting, left_mg)
        if sum(left_mg[spool] for spool in fullest) < need_mg:
            left = [(s, mg / 1000) for s, mg in zip(weekend.spools, left_mg, strict=True)]
            left_g = sum(left[spool][1] for spool in fullest)
            other = _others(task, left, least_g=task.grams)
            return (
                f"{_grams(task.grams - left_g)} of {_what(task)} are missing: it needs "
                f"{_grams(task.grams)} {_on_the_fullest(weekend, fullest, when)} "
                f"{_grams(left_g)}{other}"
            )
    return ""


def _fullest_two(board: Board, fitting: tuple[int, ...], left_mg: Sequence[int]) -> tuple[int, ...]:
    """Return the two spools of one colour with most on them, or the one, if there is no other."""
    groups: dict[int, list[int]] = {}
    for spool in sorted(fitting, key=lambda spool: -left_mg[spool]):
        if left_mg[spool] or not groups:
            groups.setdefault(board.instance.spool_alike[spool], []).append(spool)
    pairs = (tuple(alike[:2]) for alike in groups.values())
    return max(pairs, key=lambda pair: sum(left_mg[spool] for spool in pair))


def _on_the_fullest(weekend: Weekend, spools: tuple[int, ...], when: str) -> str:
    names = " and ".join(weekend.spools[spool].id for spool in spools)
    if len(spools) == 1:
        return f"on one spool, and the fullest{when}, {names}, has"
    return f"on one spool or two alike, and the fullest two{when}, {names}, have"


def _what(task: PlateTask) -> str:
    return task.material if task.colour is None else f"{task.material} in {task.colour}"


def _others(task: PlateTask, left: list[Level], *, least_g: float) -> str:
    """Return what there is instead: the near spellings, or else the other colours."""
    other = [(s, g) for s, g in left if g >= least_g and g > 0 and not _fits(task, s)]
    names = _fullest((_named(s, task), g) for s, g in other if _is_near(s, task))
    if not names:
        names = _fullest((s.colour, g) for s, g in other if s.material == task.material)
    if not names:
        return ""
    return "; there is " + ", ".join(f"{name} ({_grams(g)})" for name, g in names)


def _fits(task: PlateTask, spool: SpoolLevel) -> bool:
    return spool.material == task.material and task.colour in {None, spool.colour}


def _is_near(spool: SpoolLevel, task: PlateTask) -> bool:
    return _alike(spool.material, task.material) and (
        task.colour is None or _alike(spool.colour, task.colour)
    )


def _alike(one: str, other: str) -> bool:
    """Return whether two names may mean the same.

    >>> _alike("grey", "gray"), _alike("PLA", "pla"), _alike("red", "grey")
    (True, True, False)
    """
    one, other = one.casefold(), other.casefold()
    return SequenceMatcher(None, one, other).ratio() >= NEAR


def _named(spool: SpoolLevel, task: PlateTask) -> str:
    if spool.material == task.material:
        return spool.colour
    return spool.material if task.colour is None else f"{spool.material} in {spool.colour}"


def _fullest(levels: Iterable[tuple[str, float]]) -> list[tuple[str, float]]:
    """Return each name once with its fullest spool, fullest first."""
    best: dict[str, float] = {}
    for name, left_g in levels:
        best[name] = max(left_g, best.get(name, 0.0))
    return sorted(best.items(), key=lambda item: (-item[1], item[0]))


def _grams(grams: float) -> str:
    """Return grams, rounded; never 0 where something is there.

    >>> _grams(819.6), _grams(0.04)
    ('820 g', '0.04 g')
    """
    return f"{grams:.0f} g" if grams >= 1 else f"{grams:.2g} g"
