"""Which layers are of one kind: equal in all that decides how they are drawn.

A cell is a cut with its window of neighbours (what is skin) and the layer below (what is
bridge). A kind is a cell with the way its lines run and the support beside it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from planner.layers.skins import windows

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from manifold3d import CrossSection
    from numpy.typing import NDArray

    from planner.settings.model import Settings

    Groups = NDArray[np.int64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Kinds:
    """Numbers of cells and kinds, and for each the first layer that is of it.

    `kind` is that of each layer; `cell`, `odd` and `held` are those of each kind: odd layers
    run their lines the other way, `held` numbers the support regions from `columns`.
    """

    kind: Groups
    layer_of_kind: Groups
    cell: Groups
    odd: Groups
    held: Groups
    columns: Sequence[CrossSection]
    layer_of_cell: Groups
    spans: Sequence[tuple[int, int]]


def kinds(group: Groups, settings: Settings, held: Sequence[CrossSection] | None) -> Kinds:
    """Tell cells and kinds apart; `group` is the cut of each layer, `held` its support."""
    spans = windows(group, top=settings.top_layers, bottom=settings.bottom_layers).tolist()
    below = np.concatenate([[-1], group[:-1]]).tolist()
    count = len(group)
    column, regions = _numbered(held) if held is not None else ([-1] * count, [])
    cell, layer_of_cell = _first_of(
        (low, which, high, under)
        for (low, high), which, under in zip(spans, group.tolist(), below, strict=True)
    )
    kind, layer_of_kind = _first_of(
        (where, layer % 2, own)
        for layer, (where, own) in enumerate(zip(cell.tolist(), column, strict=True))
    )
    return Kinds(
        kind=kind,
        layer_of_kind=layer_of_kind,
        cell=cell[layer_of_kind],
        odd=layer_of_kind % 2,
        held=np.array(column)[layer_of_kind],
        columns=regions,
        layer_of_cell=layer_of_cell,
        spans=[tuple(spans[layer]) for layer in layer_of_cell.tolist()],
    )


def _first_of(keys: Iterable[tuple[int, ...]]) -> tuple[Groups, Groups]:
    """Give each key its number from 0 up, equal ones the same; and the first place of each."""
    numbers: dict[tuple[int, ...], int] = {}
    places: list[int] = []
    found: list[int] = []
    for place, key in enumerate(keys):
        if key not in numbers:
            numbers[key] = len(places)
            places.append(place)
        found.append(numbers[key])
    return np.array(found, dtype=np.int64), np.array(places, dtype=np.int64)


def _numbered(held: Sequence[CrossSection]) -> tuple[list[int], list[CrossSection]]:
    """Tell the support regions apart by identity; empty ones are -1."""
    regions: dict[int, tuple[int, CrossSection]] = {}
    column: list[int] = []
    for region in held:
        if region.is_empty():
            column.append(-1)
            continue
        regions.setdefault(id(region), (len(regions), region))
        column.append(regions[id(region)][0])
    return column, [region for _, region in regions.values()]
