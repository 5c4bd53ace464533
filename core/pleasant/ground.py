"""The turn that everything is judged on: what moves, and the torque of any loading.

Weights and springs do not change how a mechanism moves. So the turn is solved once; each
try is an effort on the same poses and rates.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from core.effort import effort
from core.effort.frames import MILLI, Frames, frames_of
from core.effort.layout import Layout, layout
from core.effort.loads import weight_of_one_kg
from core.effort.torque import sense_of
from core.errors import MotionError
from core.model import Sketch
from core.model.edits import Carry, twin_line
from core.motion import Rates, Turn, crank_motion, solve_turn, structure
from core.motion import rates as rates_of
from core.motion.turn import Complexes, Floats
from core.pleasant.proposal import Lanes

#: Steps to a crank turn while searching; what is handed out is evaluated at all steps.
SEARCH_STEPS = 120


@dataclass(frozen=True)
class Ground:
    """A turn that goes all the way, with its rates; see :func:`ground`."""

    turn: Turn
    rates: Rates

    @property
    def sketch(self) -> Sketch:
        """The sketch before any proposal."""
        return self.turn.sketch

    @cached_property
    def plan(self) -> Layout:
        """Its bodies."""
        return layout(self.sketch, structure(self.sketch))

    @cached_property
    def frames(self) -> Frames:
        """Poses and rates of its bodies at all steps."""
        steps = np.arange(self.turn.crank_rad.size)
        return frames_of(self.turn, self.rates, crank_motion(self.turn), self.plan, steps)

    @cached_property
    def sense(self) -> float:
        """+1 or −1: the driving direction."""
        return sense_of(self.turn)

    @cached_property
    def before(self) -> Lanes:
        """Lanes of the sketch as it is."""
        return self.lanes(self.sketch)

    @cached_property
    def coarse(self) -> Ground:
        """The same with fewer steps, for searching."""
        count = self.turn.crank_rad.size
        every = max(1, count // (SEARCH_STEPS * self.turn.crank_turns))
        if every == 1:
            return self
        pick = np.arange(0, count, every)
        if self.turn.crank_rad[-1] != self.turn.crank_rad[pick[-1]] and not self._round:
            pick = np.append(pick, count - 1)
        return Ground(*_thinned(self.turn, self.rates, pick))

    def loaded(self, sketch: Sketch) -> Ground:
        """The same motion of a sketch that is loaded otherwise."""
        return Ground(dressed(self.turn, sketch), self.rates)

    @property
    def _round(self) -> bool:
        drive = self.sketch.drive
        return drive is not None and drive.kind == "turn"

    def lanes(self, sketch: Sketch) -> Lanes:
        """Lanes of a sketch that moves just as this one but is loaded otherwise.

        Raises SketchError for a mass or material that cannot be.
        """
        turn = dressed(self.turn, sketch)
        return Lanes.of(turn.crank_rad, effort(turn, self.rates))

    def moments(self, part_id: str) -> Floats:
        """Torque lanes (4, N) of unit mass moments fixed to a part, by virtual power.

        Rows: of 1 kg at the sketch's origin (drawn pose), of a moment m·x and m·y of
        1 kg·mm, of a polar moment m·|p|² + I of 1 kg·mm²; N·mm each. A weight of m kg at
        p = x + iy asks for ``m·row0 + m·x·row1 + m·y·row2 + (m·|p|² + I)·row3``, gravity
        and inertia together: in these four the torque is exactly linear. Zeros for parts
        the crank does not move.
        """
        body = self.plan.body_of.get(part_id, 0)
        frames = self.frames
        if body == 0:
            return np.zeros((4, frames.steps))
        weight = weight_of_one_kg(self.sketch)
        speed, gain = frames.omega**2, frames.alpha
        spin, spin2 = frames.spin[body], frames.spin2[body]
        turned, shift1 = frames.rotation[body], frames.shift1[body]
        swing = 1j * spin * turned
        fast = speed * (1j * spin2 - spin * spin) * turned + gain * swing
        drift = speed * frames.shift2[body] + gain * shift1
        by_one = (-(np.conj(weight) * shift1).real
                  + MILLI * (drift.conj() * shift1).real)
        along = (-np.conj(weight) * swing
                 + MILLI * (fast.conj() * shift1).conj() + MILLI * drift.conj() * swing)
        polar = MILLI * (fast.conj() * swing).real
        lanes: Floats = self.sense * np.stack([by_one, along.real, -along.imag, polar])
        return lanes

    def places(self, part_id: str, drawn: complex) -> tuple[Complexes, Complexes]:
        """Where a drawn place of a part is over the turn and its derivative by the crank
        angle: (N,) complex mm and mm/rad; a fixed part's stays."""
        body = self.plan.body_of.get(part_id, 0)
        if body == 0:
            stays = np.full(self.frames.steps, drawn, dtype=np.complex128)
            return stays, np.zeros_like(stays)
        return self.frames.at(body, drawn), self.frames.rate(body, drawn)

    def moves(self, part_id: str) -> bool:
        """Whether the crank moves the part."""
        return self.plan.body_of.get(part_id, 0) != 0

    def originals(self) -> tuple[str, ...]:
        """Ids of moving parts that are nobody's mirror image, in sketch order."""
        images = {image for twin in self.sketch.twins for _, image in twin.parts}
        return tuple(part.id for part in self.sketch.parts
                     if not part.fixed and part.id not in images and self.moves(part.id))

    def images(self, part_id: str) -> list[tuple[str, Carry | None]]:
        """The part itself (None) and its mirror images, images of images too."""
        found: list[tuple[str, list[Carry]]] = [(part_id, [])]
        for name, carries in found:
            found += [(image, [*carries, twin_line(twin)]) for twin in self.sketch.twins
                      for original, image in twin.parts if original == name]
        return [(name, _chain(carries)) for name, carries in found]


def _chain(carries: list[Carry]) -> Carry | None:
    if not carries:
        return None
    whole = carries[0]
    for carry in carries[1:]:
        turn = carry.turn * (whole.turn.conjugate() if carry.mirrored else whole.turn)
        shift = whole.shift.conjugate() if carry.mirrored else whole.shift
        whole = Carry(turn=turn, shift=carry.turn * shift + carry.shift,
                      mirrored=whole.mirrored != carry.mirrored)
    return whole


def carried(carry: Carry | None, place: complex) -> complex:
    """A drawn place taken along to an image."""
    return place if carry is None else complex(*carry.place(place.real, place.imag))


def filled(lane: Floats) -> Floats:
    """A lane (N,) with what is unknown (dead points) taken from its neighbours."""
    bad = ~np.isfinite(lane)
    if not bad.any():
        return lane
    if bad.all():
        return np.zeros_like(lane)
    steps = np.arange(lane.size)
    return np.interp(steps, steps[~bad], lane[~bad])


def ground(what: Sketch | Turn, steps: int = 720) -> Ground:
    """A turn to judge on, of a sketch or already solved.

    Raises
    ------
    MotionError
        When it does not turn, locks on the way, or friction can jam it: no weight or
        spring mends that.
    SketchError
        For a mass or material that cannot be.
    """
    turn = what if isinstance(what, Turn) else solve_turn(what, steps=steps)
    if not turn.reached.all():
        at = (f" at {math.degrees(turn.limits[0].crank_rad):.0f}°" if turn.limits else "")
        raise MotionError(f"the crank locks{at}; no weight, spring or gear helps there",
                          mend="make it go all the way first, see the findings")
    found = Ground(turn, rates_of(turn))
    strain = effort(turn, found.rates)
    if strain.jams.any():
        where = math.degrees(float(turn.crank_rad[int(np.argmax(strain.jams))]))
        raise MotionError(f"with the most friction it jams at {where:.0f}°; no weight or"
                          " spring helps there",
                          mend="mend what jams first, see the findings")
    found.__dict__["before"] = Lanes.of(turn.crank_rad, strain)
    return found


def dressed(turn: Turn, sketch: Sketch) -> Turn:
    """The same poses as the turn of a sketch that is loaded otherwise."""
    return Turn(sketch=sketch, crank_rad=turn.crank_rad, reached=turn.reached,
                part_ids=turn.part_ids, rotation=turn.rotation, shift=turn.shift,
                angle_rad=turn.angle_rad if sketch.torsion_springs else None,
                crank_turns=turn.crank_turns, repeats=turn.repeats, limits=turn.limits,
                residual_mm=0.0, solution=None)


def _thinned(turn: Turn, rates: Rates, pick: NDArray[np.intp]) -> tuple[Turn, Rates]:
    """A turn and its rates at some of its steps."""
    thin = Turn(sketch=turn.sketch, crank_rad=turn.crank_rad[pick],
                reached=turn.reached[pick], part_ids=turn.part_ids,
                rotation=turn.rotation[:, pick], shift=turn.shift[:, pick],
                angle_rad=turn.angle_rad[pick], crank_turns=turn.crank_turns,
                repeats=turn.repeats, limits=turn.limits, residual_mm=0.0, solution=None)
    return thin, Rates(thin, rates.spin[:, pick], rates.spin2[:, pick],
                       rates.shift1[:, pick], rates.shift2[:, pick])
