"""Poses while a plan runs: one row of samples per body."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from core.model import Sketch
from core.motion.network import GROUND, Network, Place
from core.motion.plan import Chain, Plan
from core.motion.turn import Complexes, Floats

#: A place: one per sample, or the same for all.
Where = Complexes | complex


def drawn_points(net: Network, sketch: Sketch) -> list[complex]:
    """Drawn places (x + iy, mm) of the numbered points of a network."""
    parts = sketch.parts
    places = []
    for row, at in net.points:
        point = parts[row].points[at]
        places.append(point.place)
    return places


class State:
    """Rotation and shift of every body at a row of crank angles.

    Attributes
    ----------
    turn : (M,) rad, turn of the crank from the drawn pose.
    drawn : drawn places of the network's points, mm.
    rotation, shift : per body (M,) complex, or one number for all samples; 1 and 0 for
        the frame and for bodies not determined.
    rows : (2, bodies, M) where rotations and shifts are kept.
    margin : per block (M,) or None; at least 0 where the group can be put together, see
        `closed`.
    least : the least of each margin, infinity for None.
    closed : the samples go round a whole cycle.
    reference : solved samples all along the turn, whose branch of angles is followed;
        None when these samples are themselves such a row and hold the drawn pose last.
    """

    def __init__(self, plan: Plan, drawn: Sequence[complex], turn: Floats,
                 reference: State | None = None, spun: Complexes | None = None) -> None:
        bodies = plan.network.bodies
        self.plan, self.drawn, self.turn, self.reference = plan, drawn, turn, reference
        self.rotation: list[Where] = [1.0 + 0j] * bodies
        self.shift: list[Where] = [0j] * bodies
        self.frees: list[Where] = []
        self.margin: list[Floats | None] = [None] * len(plan.blocks)
        self.least = [np.inf] * len(plan.blocks)
        self._angle: dict[int, Floats] = {}
        self._pin: list[Where | None] = [None] * len(plan.source)
        self._order: NDArray[np.intp] | None = None
        self.closed = False
        self.rows = np.empty((2, bodies, len(turn)), np.complex128)
        self._place_crank(spun)

    def _place_crank(self, spun: Complexes | None) -> None:
        net = self.plan.network
        if net.hub is None or net.axle is None:
            return
        self._angle[net.crank] = self.turn
        self.rotation[net.crank] = np.exp(1j * self.turn) if spun is None else spun
        self.hang(net.crank, self.drawn[net.axle.slot], self.drawn[net.hub.slot])

    def set_rotation(self, bodies: Sequence[int], one: Where, factor: Where) -> None:
        """Turn bodies alike, by the product of two rows; kept in the first one's own row."""
        row = np.multiply(one, factor, out=self.rows[0, bodies[0]])
        for body in bodies:
            self.rotation[body] = row

    def hang(self, body: int, at: Where, drawn: complex) -> None:
        """Shift a turned body so that a drawn place of it is at `at`; kept in its row."""
        self.shift[body] = np.subtract(at, self.rotation[body] * drawn,
                                       out=self.rows[1, body])

    def set_margin(self, block: int, margin: Floats) -> None:
        """Note a group's margin."""
        self.margin[block], self.least[block] = margin, float(margin.min())

    def table(self, which: int) -> Complexes:
        """(bodies, M): all rotations (0) or shifts (1), in the rows kept for them."""
        table: Complexes = self.rows[which]
        for body, value in enumerate((self.rotation, self.shift)[which]):
            if not (isinstance(value, np.ndarray) and value.base is self.rows
                    and np.shares_memory(value, table[body])):
                table[body] = value
        return table

    def at(self, place: Place) -> Where:
        """Where a place of a determined body is."""
        drawn = self.drawn[place.slot]
        if place.body == GROUND:
            return drawn
        return self.rotation[place.body] * drawn + self.shift[place.body]

    def pin(self, number: int) -> Where:
        """Where a pin is, from the first body that gives its place."""
        known = self._pin[number]
        if known is None:
            source = self.plan.source[number]
            assert source is not None
            known = self._pin[number] = self.at(source)
        return known

    def base(self, chain: Chain) -> Where:
        """Where a chain starts; a free shift still unknown counts 0."""
        if chain.pin >= 0:
            return self.pin(chain.pin)
        if chain.place is not None:
            return self.at(chain.place)
        return self.frees[chain.free] if self.frees else 0j

    def end(self, chain: Chain) -> Where:
        """Where a chain ends, all its bodies being turned."""
        where = self.base(chain)
        for arm in chain.arms:
            where = where + self.rotation[arm.body] * (self.drawn[arm.tip]
                                                       - self.drawn[arm.tail])
        return where

    def set_angle(self, body: int, angle: Floats) -> None:
        """Turn a body by an angle known without ambiguity."""
        self._angle[body] = angle
        self.rotation[body] = np.exp(1j * angle)

    def angle(self, body: int) -> Floats:
        """Turn of a body from the drawn pose, rad, continuous from the drawn pose on."""
        known = self._angle.get(body)
        if known is None:
            known = self._angle[body] = self._continuous(body)
        return known

    @property
    def order(self) -> NDArray[np.intp]:
        """Samples by rising turn of the crank."""
        if self._order is None:
            self._order = np.argsort(self.turn, kind="stable")
        return self._order

    def _continuous(self, body: int) -> Floats:
        raw: Floats = np.angle(np.broadcast_to(self.rotation[body], self.turn.shape))
        if self.reference is None:
            order = self.order
            raw[order] = np.unwrap(raw[order])
            raw -= 2 * np.pi * np.round(raw[-1] / (2 * np.pi))
            return raw
        near = self.reference.between(self.reference.angle(body), self.turn)
        raw += 2 * np.pi * np.round((near - raw) / (2 * np.pi))
        return raw

    def between(self, values: Floats, turn: Floats) -> Floats:
        """Values of this row at other turns of the crank, by straight interpolation."""
        order = self.order
        return np.interp(turn, self.turn[order], values[order])
