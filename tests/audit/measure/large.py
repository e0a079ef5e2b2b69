"""A large toolpath: a few layers of an invented plate, repeated upward."""

from __future__ import annotations

import re

from tests.audit.measure import shapes, writing
from tests.audit.measure.recipe import Recipe


def write_large(path, megabytes):
    """Write a file of about so many MB: plates of round parts, waves and lines as fill."""
    recipe = Recipe(
        name="large",
        shapes=tuple(
            shapes.drilled(46, 46, 4.0, [(23, 23, 9), (10, 10, 4), (36, 36, 4)]).moved(
                10 + 52 * (k % 4), 10 + 52 * (k // 4)
            )
            for k in range(12)
        ),
        walls=3,
        infill=0.2,
        pattern="waves",
        pull="none",
    )
    text, _ = writing.write(recipe)
    pieces = re.split(r"(?m)^(?=G0 [^\n]*Z)", text)
    head, layers = pieces[0], pieces[1:]
    middle = layers[6:8]
    wanted = int(megabytes * 1e6 - sum(map(len, pieces)))
    repeats = max(0, wanted // sum(map(len, middle)))
    with path.open("w") as file:
        file.write(head)
        for level, layer in enumerate([*layers[:8], *(middle * repeats), *layers[8:]]):
            z = 0.2 * (level + 1)
            file.write(re.sub(r"Z[0-9.]+", f"Z{z:.3f}", layer, count=1))
    return 8 + 2 * repeats + len(layers) - 8
