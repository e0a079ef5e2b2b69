"""How little weighted ground an item covers, wherever it lies on a site.

The ground of a site weighs the same everywhere, plus something more in each block.  The item is
replaced by the cells that it surely covers, counted from its own low corner.  As it moves by
less than a cell, what its whole cells cover changes bilinearly, so the least is at one of four
grid positions; the rest of it counts with the least weight of the four cells that it may touch.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.fft import irfft2, next_fast_len, rfft2

from planner.nest.bound.raster import WHOLE

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from planner.nest.bound.raster import Raster, Shares
    from planner.nest.bound.site import Site

    Floats = NDArray[np.float64]
    Spectrum = NDArray[np.complex128]

_FAR = float(2**60)
_TOUCH = 1e-6


class Ground:
    """A site made ready for shifting items over it.

    `joints` (n, 4) are the blocks of four cells around a point, `joint` says which belongs to
    the point above and right of each cell.
    """

    def __init__(self, site: Site) -> None:
        rows, columns = site.block.shape
        self.site = site
        self.blocks = int(site.block.max()) + 1
        self.size = (next_fast_len(rows + 2, real=True), next_fast_len(columns + 2, real=True))
        self.joints, self.joint = _joints(site.block, self.blocks)
        self.shut = self.spectrum(site.shut.astype(np.float64)) if site.shut.any() else None
        self.most = np.zeros(self.blocks, dtype=np.int64)
        np.add.at(self.most, site.block.ravel(), site.most.ravel())

    def spectrum(self, cells: Floats) -> Spectrum:
        """Return the Fourier transform of an array of cells."""
        found: Spectrum = rfft2(cells, self.size)
        return found

    def spread(self, weights: Floats) -> tuple[Spectrum, Spectrum]:
        """Return the spectra of weights per block (n,): of each cell, and the least around it."""
        least = weights[self.joints].min(axis=1)
        return self.spectrum(weights[self.site.block]), self.spectrum(least[self.joint])


@dataclass(frozen=True, slots=True)
class Spot:
    """A grid position (row, column) and the one of its four corners where least is covered."""

    row: int
    column: int
    corner: tuple[int, int]


class Mover:
    """One turn of an item on a site."""

    def __init__(self, ground: Ground, shape: Raster, bare: Raster | None) -> None:
        self.ground, self._share = ground, shape.share
        site = ground.site
        spare = [room - size for room, size in zip(site.room_mm, shape.size_mm, strict=True)]
        self.fits = min(spare) >= -_TOUCH
        if not self.fits:
            return
        whole = shape.share == WHOLE
        self._whole = np.where(whole, WHOLE, 0)
        self._rest = np.where(whole, 0, shape.share)
        self._spectra = tuple(
            ground.spectrum(cells.astype(np.float64)).conj() for cells in (self._whole, self._rest)
        )
        steps = [max(0.0, s) / step for s, step in zip(spare, site.cell_mm, strict=True)]
        self._last = [int(np.floor(step + _TOUCH)) for step in steps]
        self._ends = [step - last <= _TOUCH for step, last in zip(steps, self._last, strict=True)]
        over = bare if site.shut_to_bare else shape
        self._barred = self._barred_at(over) if ground.shut is not None and over else None
        self.fits = self._barred is None or not bool(self._barred.all())

    def _barred_at(self, over: Raster) -> NDArray[np.bool_]:
        cells = (over.share == WHOLE).astype(np.float64)
        shut = self.ground.shut
        assert shut is not None
        lapped = np.rint(self._shifted(shut, self.ground.spectrum(cells).conj()))
        return self._least(lapped) >= 1

    def least(self, spectra: tuple[Spectrum, Spectrum]) -> tuple[int, Spot]:
        """Return the least weight covered (in weights times 256ths), and where.

        `spectra` are of whole-number weights, so the sums are whole numbers: rounding takes the
        noise of the transform off.
        """
        whole = np.rint(self._shifted(spectra[0], self._spectra[0]))
        rest = np.rint(self._shifted(spectra[1], self._spectra[1]))[
            : self._last[1] + 1, : self._last[0] + 1
        ]
        total = self._least(whole) + rest
        if self._barred is not None:
            total = np.where(self._barred, _FAR, total)
        row, column = divmod(int(total.argmin()), total.shape[1])
        corners = [
            (row + down, column + right)
            for down in range(1 if row == self._last[1] and self._ends[1] else 2)
            for right in range(1 if column == self._last[0] and self._ends[0] else 2)
        ]
        corner = min(corners, key=lambda place: whole[place])
        return int(total[row, column]), Spot(row, column, corner)

    def by_block(self, spot: Spot) -> Floats:
        """Return what a position surely covers, in 256ths of a cell: of each block, each joint.

        A joint is a set of blocks around one point; what counts there is the least of them.
        """
        whole = self._under(self.ground.site.block, spot.corner)
        rest = self._under(self.ground.joint, (spot.row, spot.column))
        return np.concatenate(
            [
                np.bincount(
                    under.ravel(),
                    cells[: under.shape[0], : under.shape[1]].ravel(),
                    minlength=length,
                )
                for under, cells, length in (
                    (whole, self._whole, self.ground.blocks),
                    (rest, self._rest, len(self.ground.joints)),
                )
            ]
        )

    def _under(self, ground: Shares, place: tuple[int, int]) -> Shares:
        rows, columns = self._share.shape
        return ground[place[0] : place[0] + rows, place[1] : place[1] + columns]

    def _shifted(self, ground: Spectrum, own: Spectrum) -> Floats:
        """Return the sum over the item's cells at each position, one row and column too many."""
        both: Floats = irfft2(ground * own, self.ground.size)
        return both[: self._last[1] + 2, : self._last[0] + 2]

    def _least(self, at: Floats) -> Floats:
        """Return the least of the four corners of each position, none of them beyond the end."""
        at = at.copy()
        if self._ends[0]:
            at[:, -1] = np.maximum(at[:, -2], at[:, -1])
        if self._ends[1]:
            at[-1, :] = np.maximum(at[-2, :], at[-1, :])
        return np.minimum(
            np.minimum(at[:-1, :-1], at[1:, :-1]), np.minimum(at[:-1, 1:], at[1:, 1:])
        )


def _joints(block: Shares, blocks: int) -> tuple[Shares, Shares]:
    """Return the different sets of blocks around the corners of cells, and each corner's."""
    padded = np.pad(block, ((0, 1), (0, 1)), mode="edge")
    around = np.stack([padded[:-1, :-1], padded[1:, :-1], padded[:-1, 1:], padded[1:, 1:]])
    around.sort(axis=0)
    code = ((around[0] * blocks + around[1]) * blocks + around[2]) * blocks + around[3]
    _, first, joint = np.unique(code, return_index=True, return_inverse=True)
    return around.reshape(4, -1)[:, first].T, joint.reshape(block.shape)
