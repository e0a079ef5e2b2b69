"""What comes of laying a posed part in layers; per layer and feature, so plates can add up."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf
from typing import TYPE_CHECKING

import numpy as np

from planner.settings.model import Feature

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]
    Bools = NDArray[np.bool_]

FEATURES: tuple[Feature, ...] = tuple(Feature)
"""Column order of every [layer, feature] array."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Paths:
    """The way of the head in every distinct kind of layer, one after the other.

    points_mm is (n, 2) in the part's frame; kind k owns the points from start[k] up to
    start[k + 1], and layer i is of kind `kind[i]`. `code` says of each point what the move
    that arrives there is for: a column of `FEATURES`, or their number for a bridge; the first
    point of a kind is where its layer is entered, the last one where it is left. `rests`
    marks arriving moves for which the strand is drawn back: they begin and end at rest.
    `section_mm2`, (kinds,), is the section of a line. `remarks` say what was simplified.
    """

    points_mm: Floats
    code: Ints
    rests: Bools
    start: Ints
    kind: Ints
    section_mm2: Floats
    remarks: tuple[str, ...] = ()

    @property
    def entry_mm(self) -> Floats:
        """Where each layer is entered, (layers, 2); NaN for an empty layer."""
        return self._ends(self.start[:-1])

    @property
    def exit_mm(self) -> Floats:
        """Where each layer is left, (layers, 2); NaN for an empty layer."""
        return self._ends(self.start[1:] - 1)

    def _ends(self, index: Ints) -> Floats:
        ends = np.full((len(index), 2), np.nan)
        full = np.diff(self.start) > 0
        ends[full] = self.points_mm[index[full]]
        return ends[self.kind]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Layering:
    """One part in layers, as its settings ask, on no printer in particular.

    Arrays are [layer] or [layer, feature] with features in the order of `FEATURES`:
    z_mm (top of each layer), area_mm2 (region of the cut), length_mm (of the paths),
    volume_mm3, moves (straight moves). Ways from layer to layer are in none of them, nor is
    raising the head on a way: that only costs time.
    `thinnest_mm` is the thinnest upright wall met in the cuts looked at (an
    upper estimate), or infinity where none is under a few line widths.
    """

    z_mm: Floats
    height_mm: Floats
    area_mm2: Floats
    length_mm: Floats
    volume_mm3: Floats
    moves: Floats
    thinnest_mm: float
    paths: Paths | None = None

    @property
    def layers(self) -> int:
        """Number of layers."""
        return len(self.z_mm)

    @property
    def filament_mm3(self) -> float:
        """Plastic that leaves the nozzle."""
        return float(self.volume_mm3.sum())

    @property
    def layer_area_sum_mm2(self) -> float:
        """Sum of the cut areas."""
        return float(self.area_mm2.sum())


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Ends:
    """Where a part's layers begin and end on the plate, and what the way there costs.

    entry_mm and exit_mm are (layers, 2) in the part's frame, NaN for an empty layer.
    `arrival_s`, (layers,), is the way from the layer below when the part is alone on its
    plate: the columns of travel hold it. A way of some
    length takes a trapezoid of speed from rest to rest and `pause_s` for drawing the strand
    back, raising the head, lowering it and pushing the strand on again; `raise_s` is the
    share of up and down in it. `lift_s` is the step up to the next layer, counted besides.
    The limits by axis are those of the bed's (x, y); infinite is none.
    """

    entry_mm: Floats
    exit_mm: Floats
    arrival_s: Floats
    speed_mm_s: float
    acceleration_mm_s2: float
    pause_s: float
    lift_s: float
    raise_s: float = 0.0
    axis_speed_mm_s: tuple[float, float] = (inf, inf)
    axis_acceleration_mm_s2: tuple[float, float] = (inf, inf)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PrintTime:
    """A layering timed on one printer; `by_layer_s` is [layer, feature].

    `layer_time_min_s` has not been applied to `by_layer_s`: it acts on whole plates
    (see `plate_seconds`). `middle_s` is for the part alone on a plate; `range_s` brackets it,
    `reasons` says why it is wide. Neither holds the printer's start and end. `slowest_s`,
    (layers,), is how long each layer takes at the slowest speed that still prints well: a
    layer that shall last longer waits for the rest. `ends` serve the ways between parts.
    """

    by_layer_s: Floats
    layer_time_min_s: float
    middle_s: float
    range_s: tuple[float, float]
    reasons: tuple[str, ...]
    slowest_s: Floats | None = None
    ends: Ends | None = None
