"""Modes, feeds and the limits a file sets, as values in force in each line."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi
from typing import TYPE_CHECKING

import numpy as np

from planner.motion.toolpath import codes, notes
from planner.motion.toolpath.page import merged
from planner.motion.toolpath.register import pick, spread
from planner.motion.toolpath.state import AXES

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from planner.motion.toolpath.page import Events, Page
    from planner.motion.toolpath.register import Held
    from planner.motion.toolpath.roles import Roles

    Ints = NDArray[np.int64]
    Bools = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Modes:
    """One number or one per line: 0 or 1 for `relative` and `strand_relative`, feeds in mm/s.

    `unit` is mm per unit, `strand_unit` mm of filament per unit of E before that,
    `flow_share` what M221 makes of it. `feed_mm_s` is NaN before any feed.
    """

    unit: Held
    relative: Held
    strand_relative: Held
    strand_unit: Held
    flow_share: Held
    feed_mm_s: Held
    plane: Held


def modes_of(page: Page, roles: Roles) -> Modes:
    """Fill the modes forward. Raises InputError for numbers that no mode can have."""
    unit = page.hold("unit", page.words("G", {20: 25.4, 21: 1.0}))
    relative = page.hold("relative", page.words("G", {90: 0.0, 91: 1.0}))
    by_word = page.hold("strand relative", page.words("M", {82: 0.0, 83: 1.0}))
    follows = page.hold(
        "strand follows", merged(page.words("G", {90: 0.0, 91: 1.0}), page.words("M", {82: 0.0}))
    )
    return Modes(
        unit=unit,
        relative=relative,
        strand_relative=np.maximum(by_word, follows),
        strand_unit=page.hold("strand unit", _strand_units(page)),
        flow_share=page.hold("flow share", _percent(page, codes.FLOW_PERCENT)),
        feed_mm_s=_feed(page, roles, unit),
        plane=page.hold("plane", page.words("G", {17: 17.0, 18: 18.0, 19: 19.0})),
    )


def _feed(page: Page, roles: Roles, unit: Held) -> Held:
    lines, values = page.sheet.column("F")
    own = ~roles.machine[lines] & ~np.isnan(values)
    lines, values = lines[own], values[own]
    feed = page.hold("feed", (lines, values * pick(unit, lines) / 60.0))
    return feed * page.hold("feed share", _percent(page, codes.FEED_PERCENT))


def _percent(page: Page, code: int) -> Events:
    lines, values = page.sheet.given("S", page.sheet.lines_of("M", code))
    refuse_outside(page, f"M{code} S", lines, values, least=1.0, most=1000.0)
    return lines, values / 100.0


def _strand_units(page: Page) -> Events:
    """M200 D: E in mm3 of a strand of that diameter; D0 turns it off."""
    lines, values = page.sheet.given("D", page.sheet.lines_of("M", codes.VOLUMETRIC))
    refuse_outside(page, "M200 D", lines, values, least=0.0, most=10.0)
    area = pi * np.square(values) / 4.0
    return lines, np.divide(1.0, area, out=np.ones_like(area), where=area > 0.0)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LineLimits:
    """Limits in force in each line; infinite where the file has set none.

    Tuples are per axis: x, y, z, strand; `gain` is by kind of move: laying, travel, strand.
    """

    gain_mm_s2: tuple[Held, Held, Held]
    gain_by_axis_mm_s2: tuple[Held, Held, Held, Held]
    speed_by_axis_mm_s: tuple[Held, Held, Held, Held]
    step_mm_s: tuple[Held, Held, Held, Held]
    deviation_mm: Held


def limits_in(page: Page) -> LineLimits:
    """Fill the limits forward. Raises InputError for limits that no machine can have."""
    laying, travel, strand = _gains(page)
    deviation = page.sheet.given("J", page.sheet.lines_of("M", codes.CORNER))
    refuse_outside(page, "M205 J", *deviation, least=0.0, most=10.0)
    if len(page.sheet.lines_of("M", codes.SPEED_BY_AXIS)):
        page.note(notes.AXIS_SPEED, page.sheet.lines_of("M", codes.SPEED_BY_AXIS)[0])
    return LineLimits(
        gain_mm_s2=(
            page.hold("gain laying", laying),
            page.hold("gain travel", travel),
            page.hold("gain strand", strand),
        ),
        gain_by_axis_mm_s2=_by_axis(page, "gain", codes.GAIN_BY_AXIS, least=1e-3),
        speed_by_axis_mm_s=_by_axis(page, "speed", codes.SPEED_BY_AXIS, least=1e-3),
        step_mm_s=_by_axis(page, "step", codes.CORNER, least=0.0),
        deviation_mm=page.hold("deviation", deviation),
    )


def _gains(page: Page) -> tuple[Events, Events, Events]:
    """M204: S for laying and travel, P laying, T travel, R the strand alone."""
    lines = page.sheet.lines_of("M", codes.GAIN)
    both = page.sheet.given("S", lines)
    laying, travel, strand = (page.sheet.given(letter, lines) for letter in "PTR")
    for letter, events in zip("SPTR", (both, laying, travel, strand), strict=True):
        refuse_outside(page, f"M204 {letter}", *events, least=1e-3, most=1e6)
    page.add("gain", len(both[0]) + len(laying[0]))
    return merged(both, laying), merged(both, travel), strand


def _by_axis(page: Page, what: str, code: int, *, least: float) -> tuple[Held, Held, Held, Held]:
    lines = page.sheet.lines_of("M", code)
    x, y, z, strand = (
        _one_axis(page, what, f"M{code} {axis}", page.sheet.given(axis, lines), least=least)
        for axis in AXES
    )
    return x, y, z, strand


def _one_axis(page: Page, what: str, word: str, events: Events, *, least: float) -> Held:
    axis = word[-1]
    refuse_outside(page, word, *events, least=least, most=1e7)
    if axis in {"X", "Y"}:
        page.add(what, len(events[0]))
    return page.hold(f"{what} {axis}", events)


def refuse_outside(
    page: Page, word: str, lines: Ints, values: NDArray[np.float64], *, least: float, most: float
) -> None:
    """Raise InputError for the first value outside its bounds."""
    bad = np.flatnonzero(~((values >= least) & (values <= most)))
    if len(bad):
        page.sheet.refuse(
            lines[bad[0]],
            found=f"{word}{values[bad[0]]:g}",
            expected=f"a number from {least:g} to {most:g}",
            remedy="correct the value, or leave the word out",
        )


def by_line(held: Held, lines: Ints) -> NDArray[np.float64]:
    """Values of a mode at some lines, as an array in any case."""
    return spread(pick(held, lines), len(lines))
