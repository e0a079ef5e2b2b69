"""The cells of a wall as a graph: one node per cell, one edge per shared side."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

    from networkx import Graph

Place = tuple[int, int]


def cell_graph(cells: Iterable[Place]) -> Graph:
    """Return the graph of cells (column, row): a piece of the square grid.

    >>> sorted(cell_graph([(1, 1), (2, 1), (4, 1)]).edges)
    [((1, 1), (2, 1))]
    """
    from networkx import Graph  # noqa: PLC0415 (slow to import)

    graph: Graph = Graph()
    graph.add_nodes_from(cells)
    graph.add_edges_from(
        ((column, row), beside)
        for column, row in graph
        for beside in ((column + 1, row), (column, row + 1))
        if beside in graph
    )
    return graph


def islands(graph: Graph) -> tuple[tuple[Place, ...], ...]:
    """Return the groups of cells that hang together by their sides: the largest group first.

    Cells are in reading order from below; of groups as large the one with the lower cell is first.
    """
    from networkx import connected_components  # noqa: PLC0415 (slow to import)

    groups = [
        tuple(sorted(group, key=lambda cell: (cell[1], cell[0])))
        for group in connected_components(graph)
    ]
    return tuple(sorted(groups, key=lambda group: (-len(group), group[0][1], group[0][0])))
