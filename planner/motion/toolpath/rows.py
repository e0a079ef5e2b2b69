"""The moves of a piece as rows: from where, to where, how much strand, how fast; arcs in chords."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from planner.motion.toolpath import codes, notes
from planner.motion.toolpath.curves import curves
from planner.motion.toolpath.modes import by_line

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from planner.motion.toolpath.arcs import Arcs
    from planner.motion.toolpath.modes import Modes
    from planner.motion.toolpath.page import Page
    from planner.motion.toolpath.positions import Positions
    from planner.motion.toolpath.roles import Roles

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]
    Bools = NDArray[np.bool_]

_PULL_MM, _PULL_MM_S = 1.0, 35.0
"""A firmware's own retraction where the file does not set it; common practice, no source."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Rows:
    """Moves in order: arrays (n,) and (3, n); `line` counts from 0 in the piece."""

    line: Ints
    start_mm: Floats
    end_mm: Floats
    length_mm: Floats
    strand_mm: Floats
    deposit_mm: Floats
    speed_mm_s: Floats

    def __len__(self) -> int:
        return len(self.line)

    def some(self, index: Ints | Bools) -> Rows:
        """Return chosen rows."""
        return Rows(
            line=self.line[index],
            start_mm=self.start_mm[:, index],
            end_mm=self.end_mm[:, index],
            length_mm=self.length_mm[index],
            strand_mm=self.strand_mm[index],
            deposit_mm=self.deposit_mm[index],
            speed_mm_s=self.speed_mm_s[index],
        )


def rows_of(
    page: Page, roles: Roles, modes: Modes, positions: Positions, strand: tuple[float, float]
) -> tuple[Rows, tuple[float, float]]:
    """Return the moves, and the strand's position and furthest position after them.

    Raises InputError for a move without a feed, and for arcs without a centre.
    """
    pulls, pulled_mm, pull_mm_s = _pulls(page)
    line = np.flatnonzero(roles.moves | page.sheet.flags([pulls]))
    start, end = positions.at(line - 1), positions.at(line)
    fed, deposit, strand = _deposit(line, positions, strand)
    rows = Rows(
        line=line,
        start_mm=start,
        end_mm=end,
        length_mm=np.sqrt(np.square(end - start).sum(axis=0)),
        strand_mm=fed,
        deposit_mm=deposit,
        speed_mm_s=np.array(by_line(modes.feed_mm_s, line)),
    )
    if len(pulls):
        place = np.searchsorted(line, pulls)
        rows.strand_mm[place] = pulled_mm
        rows.speed_mm_s[place] = pull_mm_s
    motion = by_line(roles.motion, line)
    arcs = np.isin(motion, codes.ARCS) & roles.moves[line]
    idle = (rows.length_mm == 0.0) & (rows.strand_mm == 0.0) & ~arcs
    if idle.any():
        rows, motion, arcs = rows.some(~idle), motion[~idle], arcs[~idle]
    _settle_feeds(page, rows, motion)
    return (_chords(page, modes, rows, motion, arcs) if arcs.any() else rows), strand


def _deposit(
    line: Ints, positions: Positions, strand: tuple[float, float]
) -> tuple[Floats, Floats, tuple[float, float]]:
    """Strand fed by each row, what of it is new, and the strand's new position and furthest one."""
    fed = np.zeros(len(line))
    fed[np.searchsorted(line, positions.fed_line)] = positions.fed_mm
    place = strand[0] + np.cumsum(fed)
    furthest = np.maximum.accumulate(np.append(strand[1], place))
    after = (float(place[-1]), float(furthest[-1])) if len(line) else strand
    return fed, np.diff(furthest), after


def _pulls(page: Page) -> tuple[Ints, Floats, Floats]:
    """Lines where the firmware pulls (G10) or pushes (G11) the strand: which, mm, mm/s.

    G10 with P or L is a tool's offset, no pull; a pull that follows a pull does nothing.
    """
    sheet = page.sheet
    setting = sheet.lines_of("M", codes.PULL_SETTING)
    length = page.hold("pull length", sheet.given("S", setting))
    lines, feeds = sheet.given("F", setting)
    speed = page.hold("pull speed", (lines, feeds / 60.0))
    lines, values = page.words("G", {codes.PULL: 1.0, codes.PUSH: 0.0})
    own = np.isnan(sheet.at("P", lines)) & np.isnan(sheet.at("L", lines))
    lines, values = lines[own], values[own]
    changes = np.diff(values, prepend=page.registers["pulled"]) != 0.0
    page.hold("pulled", (lines, values))
    lines, values = lines[changes], values[changes]
    if len(lines) and np.isnan(by_line(length, lines)).any():
        page.note(notes.PULL, lines[0])
    mm = np.nan_to_num(by_line(length, lines), nan=_PULL_MM)
    return (
        lines,
        np.where(values > 0.0, -mm, mm),
        np.nan_to_num(by_line(speed, lines), nan=_PULL_MM_S),
    )


def _settle_feeds(page: Page, rows: Rows, motion: Floats) -> None:
    """Let rapid moves before any feed run free; refuse (or note) other moves without one."""
    rapid = motion == 0.0
    if rapid.any():
        page.note(notes.RAPID, rows.line[rapid][0])
        rows.speed_mm_s[rapid & np.isnan(rows.speed_mm_s)] = np.inf
    missing = ~(rows.speed_mm_s > 0.0)
    if page.lenient and missing.any():
        first = page.sheet.first_line + int(rows.line[missing][0])
        page.facts.setdefault("no feed", float(first))
        rows.speed_mm_s[missing] = np.inf
        return
    for place in np.flatnonzero(missing)[:1]:
        feed = rows.speed_mm_s[place] * 60.0
        page.sheet.refuse(
            rows.line[place],
            found="a move before any feed" if np.isnan(feed) else f"a feed of {feed:g} mm/min",
            expected="a feed above 0, such as F1800",
            remedy="add the feed, or check that the file is complete from its first line",
        )


def _chords(page: Page, modes: Modes, rows: Rows, motion: Floats, arcs: Bools) -> Rows:
    """Replace each arc by its chords, which share its length, strand and deposit evenly."""
    own = np.flatnonzero(arcs)
    curve = curves(page, modes, rows.some(own), motion[own] == 2.0)
    counts = np.ones(len(rows), dtype=np.int64)
    counts[own] = curve.chords
    index = np.repeat(np.arange(len(rows)), counts)
    cut = rows.some(index)
    cut.length_mm[:] = _lengths(rows, own, curve)[index]
    bent = np.flatnonzero(arcs[index])
    step = (np.arange(len(index)) - np.repeat(np.cumsum(counts) - counts, counts))[bent]
    count = counts[index[bent]]
    _bend(cut, bent, curve, which=np.searchsorted(own, index[bent]), step=step, count=count)
    share = 1.0 / counts[index]
    return replace(
        cut,
        length_mm=cut.length_mm * share,
        strand_mm=cut.strand_mm * share,
        deposit_mm=cut.deposit_mm * share,
    )


def _lengths(rows: Rows, own: Ints, curve: Arcs) -> Floats:
    """Lengths along the way: of a helix, sqrt((r x sweep)^2 + rise^2)."""
    length = rows.length_mm.copy()
    radius = 0.5 * (curve.radius_mm + curve.end_radius_mm)
    rise = rows.end_mm[2, own] - rows.start_mm[2, own]
    length[own] = np.hypot(radius * curve.sweep_rad, rise)
    return length


def _bend(cut: Rows, bent: Ints, curve: Arcs, *, which: Ints, step: Ints, count: Ints) -> None:
    """Put the ends of chords `bent` on their arcs; the ends of the arcs stay as they are."""
    z, rise = cut.start_mm[2, bent], cut.end_mm[2, bent] - cut.start_mm[2, bent]
    for ends, reached, kept in (
        (cut.start_mm, step, step == 0),
        (cut.end_mm, step + 1, step + 1 == count),
    ):
        share = reached / count
        points = np.vstack([curve.at(which, share), z + share * rise])
        ends[:, bent[~kept]] = points[:, ~kept]
