"""Parts the crank does not determine, taken along when another pose becomes the drawn one.

While the crank turns they are shown as drawn; but drawn anew beside parts that have moved,
their joints would lie apart. So they follow the crank in small steps, each time by the
least motion that closes their joints again (minimum-norm Gauss–Newton; Nocedal & Wright,
*Numerical Optimization*, 10.2, from memory).
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from core.errors import EditError
from core.motion.closed import normal
from core.motion.network import Place
from core.motion.residual import sketch_size
from core.motion.running import probe
from core.motion.solution import bridge
from core.motion.state import State
from core.motion.turn import Floats, Turn

#: Farthest the crank goes in one step (rad), and the most steps.
STEP_RAD, MOST_STEPS = math.radians(5.0), 288
#: Newton's steps for one step of the crank, and the farthest a part turns in one (rad).
ROUNDS, FARTHEST_RAD = 40, 0.3
#: Joints are closed to this share of the sketch's size, and to this one where rounding
#: allows no more.
CLOSED, ROUNDED = 1e-13, 1e-10


def followed(turn: Turn, crank_rad: float) -> dict[int, tuple[float, complex]]:
    """Turn (rad) and shift (mm) of every loose body, from the drawn pose to the pose at a
    crank angle that `turn` reaches; empty when nothing is loose.

    Raises
    ------
    EditError
        When loose parts cannot follow the crank there.
    """
    grid = turn.solved.grid
    plan = grid.plan
    if not plan.loose:
        return {}
    goal = float(grid.sheet(np.array([crank_rad]))[0])
    steps = min(max(1, math.ceil(abs(goal) / STEP_RAD)), MOST_STEPS)
    way = np.linspace(0.0, goal, steps + 1)[1:]
    # What is determined is solved for the whole way; what is loose, step after step.
    state = probe(grid.state, grid.tracks, way)
    bridge(grid, state)
    angle = {body: np.broadcast_to(state.angle(body), way.shape)
             for body in range(1, plan.network.bodies) if body not in plan.loose}
    pose = _Pose(grid.state)
    for at in range(steps):
        for body, angles in angle.items():
            shift = np.broadcast_to(state.shift[body], way.shape)
            pose.put(body, float(angles[at]), complex(shift[at]))
        if not pose.close():
            names = " and ".join(plan.network.parts_of(plan.loose))
            raise EditError(f"{names} cannot follow the crank to"
                            f" {math.degrees(crank_rad):.2f}°",
                            mend="turn the crank back, or take out a joint of theirs")
    return {body: (pose.angle[body], pose.shift[body]) for body in plan.loose}


class _Pose:
    """One pose of all bodies; the loose ones move by least steps."""

    def __init__(self, grid: State) -> None:
        net = grid.plan.network
        self.drawn, self.grid, self.size = grid.drawn, grid, sketch_size(grid)
        self.angle = [0.0] * net.bodies
        self.rotation = [1.0 + 0j] * net.bodies
        self.shift = [0j] * net.bodies
        self.column = {body: 3 * at for at, body in enumerate(grid.plan.loose)}
        self.pins = [(end, pin.ends[0]) for pin in net.pins for end in pin.ends[1:]
                     if self._loose(end.body, pin.ends[0].body)]
        self.lines = [line for line in net.lines
                      if self._loose(line.point.body, line.start.body)]
        self.laws = [law for law in net.laws if self._loose(*(body for body, _ in law.terms))]
        self.middle: dict[int, complex] = {}
        self.reach: dict[int, float] = {}
        for body in grid.plan.loose:
            places = np.array([self.drawn[place.slot] for place in self._places(body)] or [0j])
            self.middle[body] = complex(places.mean())
            self.reach[body] = float(np.abs(places - places.mean()).max()) or self.size

    def _loose(self, *bodies: int) -> bool:
        return any(body in self.column for body in bodies)

    def _places(self, body: int) -> Iterator[Place]:
        """Places of a loose body that joints take hold of."""
        for pair in (*self.pins, *((line.point, line.start) for line in self.lines)):
            yield from (place for place in pair if place.body == body)

    def put(self, body: int, angle: float, shift: complex) -> None:
        """Set the pose of a body."""
        self.angle[body], self.shift[body] = angle, shift
        self.rotation[body] = complex(math.cos(angle), math.sin(angle))

    def at(self, place: Place) -> complex:
        """Where a place is, mm."""
        return self.rotation[place.body] * self.drawn[place.slot] + self.shift[place.body]

    def close(self) -> bool:
        """Close all joints of loose bodies; False when that cannot be done."""
        worst = np.inf
        for _ in range(ROUNDS):
            value, slope = self._equations()
            before, worst = worst, float(np.abs(value).max(initial=0.0))
            if worst <= CLOSED * self.size or (
                    worst <= ROUNDED * self.size and worst >= before / 2):
                return True
            if not np.isfinite(worst):
                return False
            step = np.linalg.lstsq(slope, -value, rcond=1e-11)[0]
            turned = max(abs(step[at + 2]) / self.reach[body]
                         for body, at in self.column.items())
            step *= min(1.0, FARTHEST_RAD / turned) if turned else 1.0
            for body, at in self.column.items():
                self._move(body, complex(step[at], step[at + 1]),
                           float(step[at + 2]) / self.reach[body])
        return False

    def _centre(self, body: int) -> complex:
        return self.rotation[body] * self.middle[body] + self.shift[body]

    def _move(self, body: int, by: complex, turn: float) -> None:
        """Shift a body and turn it about its middle."""
        centre = self._centre(body) + by
        self.put(body, self.angle[body] + turn, 0j)
        self.shift[body] = centre - self.rotation[body] * self.middle[body]

    def _equations(self) -> tuple[Floats, Floats]:
        """Misfits (E,), mm, of the joints of loose bodies and their derivatives (E, 3·L) by
        shift and turn of each; turns as arcs of the body's own reach."""
        values: list[float] = []
        rows: list[Floats] = []

        def note(value: float, *terms: tuple[int, complex, float]) -> None:
            row = np.zeros(3 * len(self.column))
            for body, along, turn in terms:
                if body in self.column:
                    at = self.column[body]
                    row[at:at + 3] += along.real, along.imag, turn / self.reach[body]
            values.append(value)
            rows.append(row)

        def pushed(place: Place, axis: complex) -> tuple[int, complex, float]:
            """How a place goes along an axis as its body moves."""
            arm = self.at(place) - self._centre(place.body) if self._loose(place.body) else 0j
            return place.body, axis, (axis.conjugate() * 1j * arm).real

        for end, first in self.pins:
            off = self.at(end) - self.at(first)
            for axis in (1 + 0j, 1j):
                note((axis.conjugate() * off).real, pushed(end, axis), pushed(first, -axis))
        for line in self.lines:
            carrier = line.start.body
            across = self.rotation[carrier] * normal(self.grid, line.start, line.end)
            gap = across.conjugate() * (self.at(line.point) - self.at(line.start))
            note(gap.real, pushed(line.point, across), pushed(line.start, -across),
                 (carrier, 0j, gap.imag))
        for law in self.laws:
            scale = self.size / max(abs(float(factor)) for _, factor in law.terms)
            off_rad = sum(float(factor) * self.angle[body] for body, factor in law.terms)
            note(scale * off_rad,
                 *((body, 0j, scale * float(factor)) for body, factor in law.terms))
        return np.array(values), np.array(rows).reshape(len(values), 3 * len(self.column))
