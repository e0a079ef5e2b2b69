"""The point of a part from which all of its paths are laid out, so that it turns with the part."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from planner.solid.model import Posed

_LEAN = 0.2
_ASIDE_RAD = np.pi / 6.0
"""Share and turn of the way to the centre of volume: our own, to tell mirror images apart."""


def middle_mm(posed: Posed) -> tuple[float, float]:
    """Return a point near the middle of the part's bounding rectangle, off towards its centre.

    Lines of fill are symmetric to it and loops begin at their points farthest from it: turning
    the part by 90 degrees about the vertical turns all of them with it.
    """
    half = np.array(posed.size_mm[:2]) / 2.0
    x, y = _centre(posed) - half
    cosine, sine = _LEAN * np.cos(_ASIDE_RAD), _LEAN * np.sin(_ASIDE_RAD)
    lean = np.clip([cosine * x - sine * y, sine * x + cosine * y], -half, half)
    return float(half[0] + lean[0]), float(half[1] + lean[1])


def _centre(posed: Posed) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    """Centre of volume, x and y, from the tetrahedra between the origin and each triangle."""
    a, b, c = (posed.vertices_mm[posed.solid.triangles[:, corner]] for corner in range(3))
    volume = np.einsum("ij,ij->i", a, np.cross(b, c))
    total = volume.sum()
    if abs(total) < 1e-9:
        return np.array(posed.size_mm[:2]) / 2.0
    return np.asarray(volume @ (a + b + c)[:, :2] / (4.0 * total), dtype=np.float64)
