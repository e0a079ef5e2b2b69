"""How large a mesh may be; larger ones are refused, and while they are read if need be."""

from __future__ import annotations

MOST_BYTES = 300_000_000
MOST_TRIANGLES = 2_000_000
"""Larger meshes are refused: a part of 200 mm needs no finer one (invented)."""

MOST_VERTICES = 3 * MOST_TRIANGLES
"""Reached only where no triangle shares a corner with its neighbours."""

MOST_COORDINATE = 1e12
"""In any unit (in micrometres it is 1000 km); keeps products of coordinates finite (invented)."""
