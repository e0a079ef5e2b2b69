"""How far lines lie apart where they fill a layer, and what that says of strand and width.

Lines laid side by side are one spacing apart, and what they lay fills spacing x height.
The pair of spacing and unit of E for which E / (spacing x height x length) is nearest to 1 is
taken; what is left is the flow factor.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import log, pi
from typing import TYPE_CHECKING

import numpy as np

from planner.audit.measure.harvest import weighted

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from planner.audit.measure.harvest import Lines

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]

FARTHEST_MM = 1.3
"""Widest spacing looked for: lines of a nozzle under 1.2 mm."""
ALIKE = 0.04
"""Lines whose sections differ by more are of two widths, and lie half of each apart."""
_BIN_MM = 0.01
_MOST_POINTS = 4000

VOLUME = "mm³"
UNITS = (
    ("mm of 1.75 mm strand", pi * 1.75**2 / 4),
    ("mm of 2.85 mm strand", pi * 2.85**2 / 4),
    (VOLUME, 1.0),
)
"""What E may count, and the volume of one, in mm3."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Spacing:
    """Lines `spacing_mm` apart with `section_mm` of strand per mm; `weight` is a share."""

    spacing_mm: float
    section_mm: float
    weight: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Bead:
    """What one line is: `unit` of E, its volume, the spacing and the flow factor."""

    unit: str
    volume_mm3: float
    spacing_mm: float
    flow: float


def spacings(lines: Lines) -> tuple[Spacing, ...]:
    """Return the distances at which parallel lines of one layer lie, the commonest first."""
    from scipy.spatial import cKDTree  # noqa: PLC0415 (slow to import, and often not needed)

    points, unit, section = _samples(lines)
    if len(points) < 20:
        return ()
    tree = cKDTree(points)
    chosen = np.arange(0, len(points), max(1, len(points) // _MOST_POINTS))
    near = tree.query(points[chosen], k=12, distance_upper_bound=FARTHEST_MM, workers=1)[1]
    there = near < len(points)
    near = np.where(there, near, 0)
    away = points[near] - points[chosen][:, None, :]
    own = unit[chosen][:, None, :]
    along = np.abs((away * own).sum(axis=2))
    across = np.abs(away[..., 0] * own[..., 1] - away[..., 1] * own[..., 0])
    parallel = np.abs((unit[near] * own).sum(axis=2)) > 0.995
    alike = np.abs(section[near] / section[chosen][:, None] - 1.0) < ALIKE
    valid = there & parallel & alike & (along < 0.35) & (across > 0.06)
    nearest = np.where(valid, across, np.inf).min(axis=1)
    found = np.isfinite(nearest)
    return _peaks(nearest[found], section[chosen][found], len(chosen))


def _samples(lines: Lines) -> tuple[Floats, Floats, Floats]:
    """Points every 0.3 mm along straight stretches, directions, strand per mm."""
    dx = (lines.x1 - lines.x0).astype(np.float64)
    dy = (lines.y1 - lines.y0).astype(np.float64)
    length = np.hypot(dx, dy)
    kept = np.flatnonzero(length > 0.25)
    counts = np.maximum(np.rint(length[kept] / 0.3), 1).astype(np.int64)
    index = np.repeat(kept, counts)
    within = np.arange(len(index)) - np.repeat(np.cumsum(counts) - counts, counts)
    share = (within + 0.5) / np.repeat(counts, counts)
    points = np.column_stack(
        [lines.x0[index] + share * dx[index], lines.y0[index] + share * dy[index]]
    )
    unit = np.column_stack([dx, dy])[index] / length[index, None]
    section = lines.strand_mm[index] / lines.length_mm[index]
    return points, unit, section.astype(np.float64)


def _peaks(distance: Floats, section: Floats, total: int) -> tuple[Spacing, ...]:
    bins = np.bincount((distance / _BIN_MM).astype(np.int64), minlength=int(1.4 / _BIN_MM))
    smooth = np.convolve(bins, (1, 1, 1), "same")
    result: list[Spacing] = []
    for _ in range(4):
        top = int(np.argmax(smooth))
        if smooth[top] < max(10, 0.03 * total):
            break
        near = np.abs(distance - (top + 0.5) * _BIN_MM) < 2 * _BIN_MM
        middle = float(np.median(distance[near]))
        result.append(
            Spacing(
                spacing_mm=middle,
                section_mm=float(np.median(section[near])),
                weight=float(near.sum()) / total,
            )
        )
        smooth[max(0, top - 3) : top + 4] = 0
    return tuple(result)


def bead_of(
    found: Sequence[tuple[Spacing, float]],
    units: Sequence[tuple[str, float]] = UNITS,
) -> Bead | None:
    """Choose spacing and unit; `found` pairs each spacing with its layer's height in mm.

    A pair that misses by more than 20 % is only taken when nothing is nearer.
    """
    best, least = None, np.inf
    for spacing, height in found:
        for name, volume in units:
            flow = spacing.section_mm * volume / (spacing.spacing_mm * height)
            if flow <= 0:
                continue
            miss = abs(log(flow)) - 0.1 * spacing.weight
            if miss < least:
                best, least = (name, volume), miss
    if best is None:
        return None
    return _settled(found, *best)


def _settled(found: Sequence[tuple[Spacing, float]], unit: str, volume: float) -> Bead | None:
    """Take the spacing that most of the plates' fitting layers agree on."""
    fitting = [
        (s, s.section_mm * volume / (s.spacing_mm * height))
        for s, height in found
        if 0.6 < s.section_mm * volume / (s.spacing_mm * height) < 1.6
    ]
    if not fitting:
        fitting = [(s, s.section_mm * volume / (s.spacing_mm * h)) for s, h in found]
    # the true spacing has a flow near 1; walls beside fill may lie at another distance
    share = np.array([s.weight * np.exp(-8.0 * abs(log(flow))) for s, flow in fitting])
    widths = np.array([s.spacing_mm for s, _ in fitting])
    flows = np.array([flow for _, flow in fitting])
    score = [float(share[np.abs(widths - w) < 0.012].sum()) for w in widths]
    centre = widths[int(np.argmax(score))]
    near = np.abs(widths - centre) < 0.012
    return Bead(
        unit=unit,
        volume_mm3=volume,
        spacing_mm=weighted(widths[near], share[near], 0.5),
        flow=weighted(flows[near], share[near], 0.5),
    )
