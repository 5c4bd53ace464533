"""Which unknowns a set of equations can determine, and in which order.

Equations are lists of the unknowns they contain; numbers do not matter (generic rank).
A. L. Dulmage and N. S. Mendelsohn, "Coverings of bipartite graphs", Canadian Journal of
Mathematics 10 (1958); the blocks are the strong components of the matched graph.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence

from core.motion.components import strong_components

Equations = Sequence[Sequence[int]]


def match(equations: Equations, unknowns: int) -> list[int]:
    """The equation that determines each unknown (-1: none), earlier equations first.

    An equation left over is dependent (generically) on those before it: the matched
    sets are the independent sets of a transversal matroid, which greed fills best.
    """
    owner = [-1] * unknowns
    for number in range(len(equations)):
        came_from: dict[int, int] = {}
        queue = deque([number])
        while queue:
            equation = queue.popleft()
            free = -1
            for unknown in equations[equation]:
                if unknown not in came_from:
                    came_from[unknown] = equation
                    if owner[unknown] < 0:
                        free = unknown
                        break
                    queue.append(owner[unknown])
            if free >= 0:
                _augment(owner, came_from, free, number)
                break
    return owner


def _augment(owner: list[int], came_from: dict[int, int], free: int, start: int) -> None:
    """Hand unknowns along the path found: each equation takes the one it was seen from."""
    taken = {equation: unknown for unknown, equation in enumerate(owner) if equation >= 0}
    while True:
        equation = came_from[free]
        owner[free] = equation
        if equation == start:
            return
        free = taken[equation]


def loose_unknowns(equations: Equations, owner: Sequence[int]) -> set[int]:
    """Unknowns that the matched equations leave undetermined."""
    containing: dict[int, list[int]] = {}
    taken = {equation: unknown for unknown, equation in enumerate(owner) if equation >= 0}
    for equation in taken:
        for unknown in equations[equation]:
            containing.setdefault(unknown, []).append(equation)
    loose = {unknown for unknown, equation in enumerate(owner) if equation < 0}
    queue = deque(loose)
    while queue:
        for equation in containing.get(queue.popleft(), ()):
            other = taken[equation]
            if other not in loose:
                loose.add(other)
                queue.append(other)
    return loose


def first_blocks(equations: Equations, owner: Sequence[int]) -> list[list[int]]:
    """The smallest sets of unknowns that can be solved at once with nothing else known."""
    loose = loose_unknowns(equations, owner)
    sure = [unknown for unknown in range(len(owner)) if unknown not in loose]
    edges = {unknown: [other for other in equations[owner[unknown]] if other != unknown]
             for unknown in sure}
    return [block for block in strong_components(edges)
            if all(other in block for unknown in block for other in edges[unknown])]
