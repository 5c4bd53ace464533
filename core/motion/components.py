"""Strong components of a directed graph.

Ours, though scipy has them: the graphs here have tens of nodes, and loading scipy's sparse
matrices for this alone took a quarter of the time the window needs to open.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence


def strong_components(edges: Mapping[int, Sequence[int]]) -> list[list[int]]:
    """Nodes that reach each other, as sorted lists; a component comes after those it
    leads to.

    `edges` gives the nodes each node leads to; every node is a key. R. E. Tarjan,
    "Depth-first search and linear graph algorithms", SIAM Journal on Computing 1 (1972),
    without recursion.
    """
    found: dict[int, int] = {}  # node -> when first seen
    lowest: dict[int, int] = {}  # node -> the earliest node on the path it leads back to
    path: list[int] = []
    on_path: set[int] = set()
    made: list[list[int]] = []
    for root in edges:
        if root in found:
            continue
        work = [(root, iter(edges[root]))]
        found[root] = lowest[root] = len(found)
        path.append(root)
        on_path.add(root)
        while work:
            node, onwards = work[-1]
            for other in onwards:
                if other not in found:
                    found[other] = lowest[other] = len(found)
                    path.append(other)
                    on_path.add(other)
                    work.append((other, iter(edges[other])))
                    break
                if other in on_path:
                    lowest[node] = min(lowest[node], found[other])
            else:
                work.pop()
                if work:
                    before = work[-1][0]
                    lowest[before] = min(lowest[before], lowest[node])
                if lowest[node] == found[node]:
                    start = path.index(node)
                    made.append(sorted(path[start:]))
                    on_path.difference_update(path[start:])
                    del path[start:]
    return made
