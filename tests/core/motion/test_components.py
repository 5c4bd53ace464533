"""Strong components against those of scipy."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from scipy.sparse import csr_array
from scipy.sparse.csgraph import connected_components

from core.motion.components import strong_components

graphs = st.integers(1, 12).flatmap(lambda size: st.lists(
    st.lists(st.integers(0, size - 1), max_size=4), min_size=size, max_size=size))


@given(graphs)
def test_components_are_those_of_scipy_and_come_after_what_they_lead_to(
    graph: list[list[int]],
) -> None:
    ours = strong_components(dict(enumerate(graph)))
    matrix = np.zeros((len(graph), len(graph)))
    for node, others in enumerate(graph):
        matrix[node, others] = 1.0
    _, label = connected_components(csr_array(matrix), directed=True, connection="strong")
    theirs = {frozenset(np.flatnonzero(label == one).tolist()) for one in set(label)}
    assert {frozenset(block) for block in ours} == theirs
    done: set[int] = set()
    for block in ours:
        done.update(block)
        assert all(other in done for node in block for other in graph[node])


def test_a_long_chain_is_no_trouble() -> None:
    chain = {node: [node + 1] for node in range(5000)} | {5000: [0]}
    assert strong_components(chain) == [list(range(5001))]
