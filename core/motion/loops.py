"""Four-bar and slider-crank loops: can they go round, and how well do they push."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from core.motion.network import GROUND, Network
from core.motion.plan import KNOWN, Block
from core.motion.solution import Solution
from core.motion.transmission import transmission_of
from core.motion.turn import Floats, Turn

#: Relative difference of lengths below which a four-bar is at a change point.
EVEN = 1e-9


@dataclass(frozen=True)
class FourBar:
    """Two links driven in a loop.

    Attributes
    ----------
    parts : the two links (or the link and the slider) solved together.
    kind : "crank and rocker", "double crank", "double rocker", "triple rocker", "change
        point", "slider-crank", or "two links" between pivots that no one pin joins.
    grashof : whether some link of the four can go all round; None when it is no four-bar.
    transmission_rad : (N,) angle between the two links, folded to 0…π/2; π/2 pushes best,
        at 0 it locks; of a slider the angle between link and slide's normal. NaN where
        not reached.
    worst_rad, crank_rad : its least value and the crank angle of it.
    lengths_mm : frame side, driving side, coupler, driven side; empty if no four-bar.
    """

    parts: tuple[str, ...]
    kind: str
    grashof: bool | None
    transmission_rad: Floats
    worst_rad: float
    crank_rad: float
    lengths_mm: tuple[float, ...] = ()


def four_bars(turn: Turn) -> tuple[FourBar, ...]:
    """All pairs of links solved together, and sliders pushed by a link, in solving order.

    Grashof's rule: the shortest and longest link together shorter than the other two
    (F. Grashof, *Theoretische Maschinenlehre*, 1883). Transmission angle after H. Alt.
    """
    if turn.solution is None:
        return ()
    return tuple(_loops(turn, turn.solution))


def _loops(turn: Turn, solution: Solution) -> Iterator[FourBar]:
    plan = solution.grid.plan
    before = {GROUND, plan.network.crank}
    for block in plan.blocks:
        if block.kind == "pair":
            hubs = [chain.pin for chain in (block.loops[0].left, block.loops[0].right)]
            rigid = _together(plan.network, hubs, before)
            if min(hubs) >= 0 and not rigid:
                yield _pair(turn, solution, block, hubs, before)
        elif block.kind == "ray" and \
                block.spin_of(block.guides[0].line.start.body) == KNOWN:
            yield _loop(turn, solution, block, "slider-crank", None)
        before.update(block.bodies)


def _together(net: Network, hubs: list[int], before: set[int]) -> bool:
    """Whether one body holds both pins."""
    one, two = ({end.body for end in net.pins[hub].ends} & before for hub in hubs)
    return bool(one & two)


def _pair(turn: Turn, solution: Solution, block: Block, hubs: list[int],
          before: set[int]) -> FourBar:
    net = solution.grid.plan.network
    loop, drawn = block.loops[0], solution.grid.state.drawn
    vectors: list[complex] = [0j, 0j]
    for chain, side in ((loop.left, 1), (loop.right, -1)):
        for arm in chain.arms:
            if block.spin_of(arm.body) != KNOWN:
                vectors[block.spin_of(arm.body)] += side * (drawn[arm.tip] - drawn[arm.tail])
    kind, grashof = "two links", None
    lengths: tuple[float, ...] = ()
    sides = _sides(net, drawn, hubs, before)
    if sides is not None:
        # The link on the driving side is the coupler, the one on the frame side is driven.
        first = 0 if sides[2] == hubs[0] else 1
        spin = [block.spin_of(chain.arms[0].body) for chain in (loop.left, loop.right)]
        coupler, driven = (abs(vectors[spin[at]]) for at in (first, 1 - first))
        kind, grashof = _grashof(sides[0], sides[1], coupler, driven)
        lengths = (sides[0], sides[1], coupler, driven)
    return _loop(turn, solution, block, kind, grashof, lengths)


def _sides(net: Network, drawn: Sequence[complex], hubs: list[int], before: set[int]
           ) -> tuple[float, float, int] | None:
    """Lengths of the frame side and of the driving side of a four-bar and the hub of the
    latter: two bodies that hold one hub each and share a pin. The frame is the frame
    side if it is one of them."""
    ends = [[end for end in net.pins[hub].ends if end.body in before] for hub in hubs]
    for pin in net.pins:
        at = {end.body: end for end in pin.ends}
        for one in ends[0]:
            for two in ends[1]:
                if one.body in at and two.body in at:
                    length_one, length_two = (
                        abs(drawn[at[end.body].slot] - drawn[end.slot]) for end in (one, two))
                    if one.body == GROUND:
                        return length_one, length_two, hubs[1]
                    return length_two, length_one, hubs[0]
    return None


def _grashof(ground: float, driving: float, coupler: float, driven: float
             ) -> tuple[str, bool]:
    shortest, *middle, longest = sorted((ground, driving, coupler, driven))
    spare = sum(middle) - shortest - longest
    if abs(spare) <= EVEN * longest:
        return "change point", True
    if spare < 0:
        return "triple rocker", False
    if shortest == ground:
        return "double crank", True
    return ("double rocker" if shortest == coupler else "crank and rocker"), True


def _loop(turn: Turn, solution: Solution, block: Block, kind: str, grashof: bool | None,
          lengths: tuple[float, ...] = ()) -> FourBar:
    lane = transmission_of(turn, solution, block)
    worst, crank = float("nan"), float("nan")
    if turn.reached.any():
        at = int(np.nanargmin(lane))
        worst, crank = float(lane[at]), float(turn.crank_rad[at])
    parts = solution.grid.plan.network.parts_of(block.bodies)
    return FourBar(parts, kind, grashof, lane, worst, crank, lengths)
