"""What must hang before what: a panel goes up after its neighbours to the left and below."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

    from networkx import DiGraph

    Place = tuple[int, int]


def mounting_graph(cells: Iterable[Place]) -> DiGraph:
    """Return the cells (column, row) with an arc from each to those that follow on it.

    A cell without a neighbour to the left or below starts its island by itself.

    >>> graph = mounting_graph([(1, 1), (2, 1), (1, 2)])
    >>> sorted(graph.edges)
    [((1, 1), (1, 2)), ((1, 1), (2, 1))]
    """
    from networkx import DiGraph  # noqa: PLC0415 (slow to import)

    graph: DiGraph = DiGraph()
    graph.add_nodes_from(sorted(cells))
    for column, row in list(graph):
        for before in ((column - 1, row), (column, row - 1)):
            if before in graph:
                graph.add_edge(before, (column, row))
    return graph


def mounting_order(cells: Iterable[Place]) -> tuple[Place, ...]:
    """Return the cells course by course from below, each from the left, as the graph allows.

    >>> mounting_order([(2, 2), (1, 2), (2, 1), (1, 1)])
    ((1, 1), (2, 1), (1, 2), (2, 2))
    """
    from networkx import lexicographical_topological_sort  # noqa: PLC0415 (slow to import)

    graph = mounting_graph(cells)
    return tuple(lexicographical_topological_sort(graph, key=lambda cell: (cell[1], cell[0])))
