"""Whether the equations of a group settle it, whatever the lengths.

Matching counts which unknowns an equation of a body contains. In a group written in few
unknowns some of these cancel (two bodies that slide together along a third), and angle
laws may say what the loops say already. So the rank of the derivatives is taken too, at
random places that fit the joints: almost all places have the same, the greatest, rank
(generic rank, as in rigidity theory; B. Hendrickson, "Conditions for unique graph
realizations", SIAM Journal on Computing 21 (1992)).
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from core.motion.network import Network, Place
from core.motion.plan import Block, Plan
from core.motion.state import State
from core.motion.system import system

#: Singular values below this share of the largest count as 0.
RANK = 1e-9


def undecided(net: Network, source: Sequence[Place | None], block: Block) -> int:
    """How many unknowns of a group its own equations leave open; 0 when they settle it."""
    plan = Plan(net, (), (), tuple(source), (), (), 0)
    state = State(plan, _places(net), np.zeros(1))
    equations = system(state, block)
    unknown = np.zeros((equations.unknowns, 1))
    for link in block.links:
        if link.at.free >= 0 and not link.at.arms:
            at, drawn = equations.spins + 2 * link.at.free, state.drawn[link.slot]
            unknown[at:at + 2, 0] = drawn.real, drawn.imag
    matrix = equations.evaluate(unknown)[1][0]
    matrix[:, :equations.spins] /= equations.size
    scale: Any = np.abs(matrix).max(axis=1, initial=0.0, keepdims=True)
    matrix = matrix / np.where(scale > 0, scale, 1.0)
    return equations.unknowns - int(np.linalg.matrix_rank(matrix, rtol=RANK))


def _places(net: Network) -> list[complex]:
    """A random place for every numbered point; the points of a pin share theirs. Those of
    lines need not lie on them: derivatives are the same on a line beside."""
    chance = np.random.default_rng(20)
    first = list(range(len(net.points)))
    for pin in net.pins:
        ends = {first[end.slot] for end in pin.ends}
        first = [min(ends) if at in ends else at for at in first]
    places = chance.uniform(-1, 1, (2, len(first)))
    return [complex(*places[:, at]) for at in first]
