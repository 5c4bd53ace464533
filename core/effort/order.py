"""The order in which reactions can be found: small square systems, one after another."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

#: A joint as the bodies it joins: a pin (any number) or a joint of two bodies with its
#: number of scalar reactions.
Pinned = frozenset[int]
Paired = tuple[int, int, int]


def solving_order(bodies: int, pins: list[Pinned], pairs: list[Paired]) -> list[list[int]]:
    """Bodies in groups, outwards from the frame (0) and the crank (1).

    A group is as small as can be found such that its joints to itself and to earlier
    bodies have as many scalar reactions as it has equations (three per body): one body,
    two joined bodies, three, else all that hangs together. In the reverse order each
    group's reactions then follow from the later ones alone; as the system is block
    triangular, every block is regular when the whole is.

    Returns the groups without the frame, the crank first. Where joints share a load a
    group has more reactions than equations; it takes in the groups it hangs on, so that
    the load can be shared evenly among them, all but the crank.
    """
    left = set(range(2, bodies))
    beside: dict[int, set[int]] = {b: set() for b in range(bodies)}
    for joined in (*pins, *(frozenset(pair[:2]) for pair in pairs)):
        for b in joined:
            beside[b] |= joined - {b}
    own = {b: ([p for p in pins if b in p], [p for p in pairs if b in p[:2]])
           for b in range(bodies)}

    def reactions(group: frozenset[int]) -> int:
        """Scalar reactions between the group and earlier bodies and within it."""
        near_pins = {p for b in group for p in own[b][0]}
        count = 0
        for pin in near_pins:
            mine, earlier = len(pin & group), len(pin - left)
            count += pins.count(pin) * 2 * (mine - (0 if earlier else 1))
        near_pairs = {p for b in group for p in own[b][1]}
        for pair in near_pairs:
            if all(b in group or b not in left for b in pair[:2]):
                count += pairs.count(pair) * pair[2]
        return count

    order = [frozenset({1})]
    while left:
        found = next((group for size in (1, 2, 3) for group in _joined(left, beside, size)
                      if reactions(group) >= 3 * size), None)
        if found is None:
            found = _hanging(min(left), left, beside)
        wide = reactions(found) > 3 * len(found)
        left -= found
        if wide:
            order = _merged(order, found, beside)
        else:
            order.append(found)
    return [sorted(group) for group in order]


def _merged(
    order: list[frozenset[int]], wide: frozenset[int], beside: dict[int, set[int]]
) -> list[frozenset[int]]:
    """The order with one more group that takes in those it hangs on.

    A group between that hangs on one of these and carries another comes in too; what
    hangs on the whole moves behind it.
    """
    groups = [*order, wide]
    last = len(order)
    hangs: list[set[int]] = []  # by group, all the groups it hangs on, at any remove
    for k, group in enumerate(groups):
        near = {j for j in range(k) if groups[j] & _around(group, beside)}
        hangs.append(near.union(*(hangs[j] for j in near)))
    taken = {last} | {j for j in range(1, last) if groups[j] & _around(wide, beside)}
    while more := {j for j in range(1, last) if j not in taken and hangs[j] & taken
                   and any(j in hangs[k] for k in taken)}:
        taken |= more
    rest = [k for k in range(last) if k not in taken]
    whole = frozenset().union(*(groups[k] for k in taken))
    return ([groups[k] for k in rest if not hangs[k] & taken] + [whole]
            + [groups[k] for k in rest if hangs[k] & taken])


def _joined(
    left: set[int], beside: dict[int, set[int]], size: int
) -> Iterator[frozenset[int]]:
    """All sets of so many bodies left that are joined to each other."""
    def grow(group: frozenset[int]) -> Iterator[frozenset[int]]:
        if len(group) == size:
            yield group
            return
        for b in sorted(_around(group, beside) & left):
            yield from grow(group | {b})

    for first in sorted(left):
        yield from grow(frozenset({first}))


def _around(group: Iterable[int], beside: dict[int, set[int]]) -> set[int]:
    members = set(group)
    return {other for b in members for other in beside[b]} - members


def _hanging(first: int, left: set[int], beside: dict[int, set[int]]) -> frozenset[int]:
    """Everything left that hangs together with a body."""
    found = {first}
    while more := _around(found, beside) & left:
        found |= more
    return frozenset(found)
