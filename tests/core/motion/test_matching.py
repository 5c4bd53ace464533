"""Matching equations to unknowns, against a general graph library."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from scipy.sparse import csr_array
from scipy.sparse.csgraph import maximum_bipartite_matching

from core.motion.matching import first_blocks, loose_unknowns, match

UNKNOWNS = 8
systems = st.lists(st.lists(st.integers(0, UNKNOWNS - 1), min_size=1, max_size=4, unique=True),
                   max_size=12)


def rank(equations: list[list[int]]) -> int:
    """Size of a maximum matching (scipy.sparse.csgraph)."""
    if not equations:
        return 0
    grid = np.zeros((len(equations), UNKNOWNS))
    for row, equation in enumerate(equations):
        grid[row, equation] = 1
    return int((maximum_bipartite_matching(csr_array(grid), perm_type="column") >= 0).sum())


@given(systems)
def test_as_many_equations_are_used_as_can_be_and_the_earlier_ones(
    equations: list[list[int]]
) -> None:
    owner = match(equations, UNKNOWNS)
    used = sorted(equation for equation in owner if equation >= 0)
    assert len(used) == len(set(used)) == rank(equations)
    assert all(unknown in equations[equation] for unknown, equation in enumerate(owner)
               if equation >= 0)
    # An equation is left out only if those before it already determine what it says.
    for number in range(len(equations)):
        grows = rank(equations[:number + 1]) > rank(equations[:number])
        assert grows == (number in used)


@given(systems)
def test_loose_unknowns_are_those_some_matching_leaves_out(equations: list[list[int]]) -> None:
    owner = match(equations, UNKNOWNS)
    loose = loose_unknowns(equations, owner)
    for unknown in range(UNKNOWNS):
        without = [[other for other in equation if other != unknown] for equation in equations]
        can_do_without = rank([each for each in without if each]) == rank(equations)
        assert can_do_without == (unknown in loose)


@given(systems)
def test_first_blocks_can_be_solved_with_nothing_else_known(equations: list[list[int]]) -> None:
    owner = match(equations, UNKNOWNS)
    blocks = first_blocks(equations, owner)
    for block in blocks:
        for unknown in block:
            assert set(equations[owner[unknown]]) <= set(block)
    assert bool(blocks) == (len(loose_unknowns(equations, owner)) < UNKNOWNS)


def test_a_triangle_of_equations_is_one_block_and_a_chain_is_three() -> None:
    ring = [[0, 1], [1, 2], [2, 0]]
    assert first_blocks(ring, match(ring, 3)) == [[0, 1, 2]]
    chain = [[0], [0, 1], [1, 2]]
    assert first_blocks(chain, match(chain, 3)) == [[0]]
