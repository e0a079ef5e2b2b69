"""The invented plates: designed ones, each with a trait of its own, and random ones."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from tests.audit.measure import shapes
from tests.audit.measure.recipe import Recipe

_HOLED = shapes.drilled(34, 26, 5, [(9, 9, 4), (25, 17, 3)]).moved(30, 30)
_ROUND = shapes.cylinder(11, 5).moved(95, 45)
_STAIR = shapes.steps(36, 20, [2.4, 5.0, 7.6]).moved(40, 80)
_PAIR = (_HOLED, _ROUND)

DESIGNED = (
    Recipe(name="plain", shapes=_PAIR),
    Recipe(name="absolute", shapes=_PAIR, strand="absolute", pattern="grid", walls=2),
    Recipe(
        name="absolute without a reset",
        shapes=_PAIR,
        strand="absolute",
        reset=False,
        infill=0.15,
        inner_first=False,
        joined=True,
    ),
    Recipe(name="arcs", shapes=_PAIR, arcs=True, walls=4, infill=0.3),
    Recipe(name="inches", shapes=_PAIR, inches=True, pattern="triangles"),
    Recipe(name="inches and absolute", shapes=(_ROUND,), inches=True, strand="absolute", hop=0.4),
    Recipe(name="volumetric without a word", shapes=_PAIR, strand_unit="mm3", walls=2, top=5),
    Recipe(name="volumetric", shapes=_PAIR, strand_unit="M200", bottom=4, infill=0.25),
    Recipe(name="thick strand", shapes=_PAIR, diameter=2.85, width=0.5, layer=0.25, first=0.3),
    Recipe(
        name="spiral",
        shapes=(shapes.cylinder(18, 12).moved(60, 60),),
        spiral=True,
        bottom=3,
        walls=1,
        width=0.6,
    ),
    Recipe(
        name="one after another",
        in_turn=True,
        hop=0.5,
        shapes=(
            shapes.block(18, 18, 6).moved(20, 20),
            shapes.cylinder(9, 6).moved(90, 90),
            shapes.angle(24, 24, 6, 8).moved(140, 40),
        ),
    ),
    Recipe(
        name="variable layers",
        shapes=_PAIR,
        heights=(0.25,) + (0.2,) * 6 + (0.12,) * 8 + (0.16,) * 6 + (0.2,) * 8,
    ),
    Recipe(
        name="numbered",
        shapes=(_HOLED,),
        numbers=True,
        infill=0.1,
        speeds={**Recipe(name="").speeds, "sparse": 120.0},
    ),
    Recipe(name="raft", shapes=(_ROUND, _HOLED), raft=3),
    Recipe(name="ironing", shapes=(_STAIR,), ironing=True, walls=2),
    Recipe(name="concentric fill", shapes=_PAIR, pattern="concentric", solid_concentric=True),
    Recipe(name="alternating walls", shapes=_PAIR, alternating=True, walls=2),
    Recipe(name="nested islands", shapes=(shapes.nested(6.2).moved(60, 60),), walls=2),
    Recipe(name="every second layer", shapes=_PAIR, every=2, infill=0.2),
    Recipe(name="fuzzy", shapes=_PAIR, fuzz=0.2, outer_width=0.42),
    Recipe(name="firmware retraction", shapes=_PAIR, pull="G10", pattern="waves", walls=2),
    Recipe(name="lies", shapes=_PAIR, lies=True, infill=0.4, top=3, skirt=2),
    Recipe(
        name="support",
        shapes=(shapes.table(40, 24, 12, 12, 4).moved(40, 40),),
        support=True,
        walls=2,
    ),
    Recipe(name="brim", shapes=_PAIR, brim=8, first=0.28, first_width=0.5, offset=0.05),
    Recipe(name="stadium", shapes=(_STAIR, _ROUND), bead="stadium", width=0.48, walls=2),
    Recipe(
        name="pocket on supports of air",
        shapes=(shapes.hollow(30, 24, 8, 5, 2).moved(30, 30),),
        walls=2,
        infill=0.18,
    ),
    Recipe(
        name="relative all through", shapes=_PAIR, relative=True, modal=True, flow=0.96, coast=0.4
    ),
)


def random_recipe(seed):
    """Return a plate made of chance: shape, settings and ways of writing."""
    r = np.random.default_rng(seed)

    def pick(*choices):
        return choices[int(r.integers(len(choices)))]

    def chance(share):
        return bool(r.random() < share)

    overhang = chance(0.3)
    spiral = not overhang and chance(0.08)
    layer = pick(0.12, 0.16, 0.2, 0.2, 0.24, 0.28)
    width = round(float(r.uniform(0.4, 0.56)), 2)
    first = pick(layer, layer, 0.2, 0.25, 0.3)
    kinds = [_random_shape(r, layer, first) for _ in range(int(r.integers(1, 4)))]
    if overhang:
        kinds[0] = shapes.table(
            36, float(r.integers(18, 26)), _whole(10, layer, first), 12, _whole(3.2, layer, 0)
        )
    placed = tuple(
        kind.moved(40 + 62 * (k % 2), 40 + 62 * (k // 2), 0 if spiral else float(r.integers(0, 90)))
        for k, kind in enumerate(kinds)
    )
    if spiral:
        placed = (shapes.cylinder(float(r.integers(9, 20)), 8).moved(70, 70),)
    in_turn = len(placed) > 1 and chance(0.2)
    raft = 0 if in_turn or spiral or not chance(0.12) else 3
    every = 2 if chance(0.12) else 1
    return Recipe(
        name=f"random {seed}",
        shapes=placed,
        layer=layer,
        first=first,
        offset=pick(0.0, 0.0, 0.0, 0.04),
        width=width,
        outer_width=pick(None, None, round(width - 0.03, 2)),
        first_width=pick(None, None, round(width + 0.06, 2)),
        bead=pick("rectangle", "rectangle", "stadium"),
        flow=pick(1.0, 1.0, 0.95, 1.04),
        walls=1 if spiral else int(r.integers(1, 6)),
        top=int(r.integers(2, 7)),
        bottom=int(r.integers(2, 6)),
        infill=pick(0.1, 0.15, 0.2, 0.25, 0.3, 0.4, 1.0),
        pattern=pick("lines", "grid", "triangles", "waves", "concentric"),
        every=every,
        joined=chance(0.4),
        solid_concentric=chance(0.12),
        alternating=not spiral and chance(0.1),
        inner_first=chance(0.6),
        fuzz=0.18 if not spiral and chance(0.12) else 0.0,
        support=overhang and chance(0.7),
        support_gap=pick(1, 1, 2),
        brim=0 if raft or spiral or in_turn else pick(0, 0, 5, 10),
        skirt=pick(0, 0, 2),
        raft=raft,
        ironing=not spiral and chance(0.12),
        spiral=spiral,
        in_turn=in_turn,
        coast=pick(0.0, 0.0, 0.0, 0.3),
        strand=pick("relative", "absolute"),
        reset=chance(0.5),
        strand_unit=pick("mm", "mm", "mm", "mm3", "M200"),
        diameter=pick(1.75, 1.75, 1.75, 2.85),
        inches=chance(0.12),
        arcs=chance(0.3),
        pull=pick("E", "E", "G10", "none"),
        hop=pick(0.0, 0.0, 0.3),
        numbers=chance(0.15),
        lies=chance(0.3),
        modal=chance(0.2),
        first_nozzle=pick(None, 215.0),
    )


def _whole(height, layer, first):
    """Return the height that whole layers make."""
    return first + layer * round((height - first) / layer)


def _random_shape(r, layer, first):
    high = _whole(float(r.uniform(4, 8)), layer, first)
    wide, deep = float(r.uniform(16, 38)), float(r.uniform(14, 30))
    kind = int(r.integers(9))
    return (
        lambda: shapes.block(wide, deep, high),
        lambda: shapes.drilled(wide, deep, high, [(wide / 3, deep / 2, min(wide, deep) / 7)]),
        lambda: shapes.cylinder(min(wide, deep) / 2, high),
        lambda: shapes.ring(min(wide, deep) / 1.5, min(wide, deep) / 4, high),
        lambda: shapes.angle(wide, deep, high, 7.5),
        lambda: shapes.steps(wide, deep, [high - 2 * layer * 6, high - layer * 6, high]),
        lambda: shapes.pocket(wide, deep, high, 5.5, _whole(1.6, layer, first)),
        lambda: shapes.comb(4, 1.6, 5, deep, high),
        lambda: shapes.Cone(0, 0, wide / 2, wide / 2.6, high),
    )[kind]()


def numbered(seeds):
    """Random plates, one per seed."""
    return tuple(random_recipe(seed) for seed in seeds)


def changed(name, **changes):
    """Return a designed plate with some traits of its own."""
    recipe = next(recipe for recipe in DESIGNED if recipe.name == name)
    return replace(recipe, **changes)
