"""Connected components against scipy's."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from planner.solid.linked import components

NODES = 14
EDGES = st.lists(st.tuples(st.integers(0, NODES - 1), st.integers(0, NODES - 1)), max_size=20)


@given(edges=EDGES)
def test_components_agree_with_scipy(edges):
    """Validation: same nodes together, and each named by its lowest node."""
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    one, other = np.array(edges, dtype=np.int64).reshape(-1, 2).T
    links = coo_array((np.ones(len(one)), (one, other)), shape=(NODES, NODES))
    _, label = connected_components(links, directed=False)
    expected = [int(np.flatnonzero(label == own)[0]) for own in label]

    assert components(NODES, one, other).tolist() == expected


def test_a_long_chain_in_any_order_is_one():
    """Ten thousand links, shuffled."""
    chance = np.random.default_rng(5)
    nodes = chance.permutation(10_001)
    links = chance.permutation(10_000)

    found = components(10_001, nodes[links], nodes[links + 1])

    assert not found.any()
