"""Weights for the ground in whole numbers, and what items and sites weigh by them."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.nest.bound.mass import Ground, Spectrum
    from planner.nest.bound.master import Weights
    from planner.nest.bound.raster import Shares

_FINE = 2**18
"""Weights are rounded to multiples of this share of the heaviest."""


@dataclass(frozen=True, slots=True, eq=False)
class Tried:
    """Weights as whole numbers, `everywhere` and `extra` (blocks,), with their spectra."""

    grounds: Sequence[Ground]
    worth: tuple[float, ...]
    everywhere: tuple[int, ...]
    extra: tuple[Shares, ...]
    spectra: tuple[tuple[Spectrum, Spectrum], ...]

    @staticmethod
    def of(
        grounds: Sequence[Ground], weights: Weights | None, before: Tried | None = None
    ) -> Tried:
        """Round weights, or the mean of them and those tried before; None stands for none."""
        if weights is None:
            everywhere = tuple(0 for _ in grounds)
            extra = tuple(np.zeros(ground.blocks, dtype=np.int64) for ground in grounds)
            worth: tuple[float, ...] = ()
        else:
            heaviest = max(
                even + float(more.max())
                for even, more in zip(weights.everywhere, weights.extra, strict=True)
            )
            fine = _FINE / heaviest
            everywhere = tuple(int(even * fine) for even in weights.everywhere)
            extra = tuple(np.floor(more * fine).astype(np.int64) for more in weights.extra)
            worth = tuple(float(value) * fine for value in weights.worth)
            if before is not None:
                everywhere = tuple(
                    (a + b) // 2 for a, b in zip(everywhere, before.everywhere, strict=True)
                )
                extra = tuple((a + b) // 2 for a, b in zip(extra, before.extra, strict=True))
        spectra = tuple(
            ground.spread(more.astype(np.float64))
            for ground, more in zip(grounds, extra, strict=True)
        )
        return Tried(grounds, worth, everywhere, extra, spectra)

    def covered(self, number: int, area_mm2: float, extra: int) -> Fraction:
        """Return what an item weighs on a site: by its area, and what it covers besides."""
        unit = Fraction(self.grounds[number].site.unit_mm2)
        return Fraction(area_mm2) * self.everywhere[number] + extra * unit

    def weight(self, number: int) -> Fraction:
        """Return what all of a site weighs."""
        ground = self.grounds[number]
        unit = Fraction(ground.site.unit_mm2)
        heavy = sum(
            int(more) * int(most)
            for more, most in zip(self.extra[number], ground.most, strict=True)
        )
        return Fraction(ground.site.area_mm2) * self.everywhere[number] + heavy * unit

    def lacks(self, kind: int, number: int, extra: int, area_mm2: float) -> bool:
        """Say whether a kind covers less than it is held to be worth."""
        return float(self.covered(number, area_mm2, extra)) < self.worth[kind] * (1 - 1e-7)
