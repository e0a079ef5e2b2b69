"""From the shape of a wall to what fills it: counts, fixings, level, drawings' geometry, order."""
