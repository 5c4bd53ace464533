"""The whole turn as arrays: where every part is at every crank angle."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from core.errors import MotionError
from core.model import Sketch, part_of

if TYPE_CHECKING:
    from core.motion.solution import Solution

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]


@dataclass(frozen=True)
class Limit:
    """A crank angle the crank cannot pass.

    `crank_rad` is exact to 1e-9; `side` is +1 when turning counter-clockwise stops
    there, −1 for clockwise; `parts` are the ids of the parts that bind. Where `lost`, they
    were not seen to bind, and it may go further: following them took too many steps, or
    they are drawn flat and may go two ways.
    """

    crank_rad: float
    side: int
    parts: tuple[str, ...]
    lost: bool = False


class Turn:
    """Poses of all parts over one full cycle, or at chosen crank angles.

    A point drawn at p₀ (complex x + iy, mm) is at ``rotation · p₀ + shift``.

    Attributes
    ----------
    crank_rad : (N,) increasing; crank angle in the sketch's own reading (it is
        ``radians(drive.drawn_deg)`` in the drawn pose). A "turn" drive starts at 0
        and leaves out the end; a "rock" drive runs from from_deg to to_deg inclusive.
    reached : (N,) bool; False where the crank cannot come from the drawn pose.
    part_ids : all parts, fixed ones too, in sketch order.
    rotation, shift : (P, N) complex; NaN where not reached. Fixed parts: 1 and 0; parts
        the crank does not determine likewise (they stay as drawn).
    angle_rad : (N, P) turn from the drawn pose, continuous, zero in the drawn pose; NaN
        where not reached. Worked out when first asked for.
    crank_turns : whole crank turns in the cycle (1 without gears).
    repeats : True when the motion closes on itself after the cycle.
    limits : where the crank locks (empty when it goes all round).
    residual_mm : the largest joint error at any reached step, joints of parts the crank
        does not determine left out. Worked out when first asked for.
    solution : how it was solved, for `core.motion` itself; None for a turn made by hand.
    """

    def __init__(self, *, sketch: Sketch, crank_rad: Floats, reached: NDArray[np.bool_],
                 part_ids: tuple[str, ...], rotation: Complexes, shift: Complexes,
                 angle_rad: Floats | None = None, crank_turns: int = 1,
                 repeats: bool = True, limits: tuple[Limit, ...] = (),
                 residual_mm: float | None = None,
                 solution: Solution | None = None) -> None:
        self.sketch, self.crank_rad, self.reached = sketch, crank_rad, reached
        self.part_ids, self.rotation, self.shift = part_ids, rotation, shift
        self.crank_turns, self.repeats, self.limits = crank_turns, repeats, limits
        self.solution = solution
        self._angle_rad, self._residual_mm = angle_rad, residual_mm

    @property
    def solved(self) -> Solution:
        """How it was solved. Raises MotionError for a turn made by hand."""
        if self.solution is None:
            raise MotionError("this turn was not solved", mend="solve the sketch first")
        return self.solution

    @cached_property
    def _row(self) -> dict[str, int]:
        return {part: row for row, part in enumerate(self.part_ids)}

    @property
    def angle_rad(self) -> Floats:
        """(N, P) turn from the drawn pose, rad; NaN where not reached."""
        if self._angle_rad is None:
            self._angle_rad = (self.solution.angles() if self.solution is not None
                               else np.unwrap(np.angle(self.rotation), axis=1).T)
        return self._angle_rad

    @property
    def residual_mm(self) -> float:
        """Largest joint error at any reached step, mm."""
        if self._residual_mm is None:
            self._residual_mm = (self.solution.residual_mm() if self.solution is not None
                                 else 0.0)
        return self._residual_mm

    def row(self, part_id: str) -> int:
        """Index of a part in the arrays; raises KeyError for an unknown id."""
        return self._row[part_id]

    def place(self, part_id: str, drawn: complex | Complexes) -> Complexes:
        """Where drawn places of a part are, complex mm.

        `drawn` of shape S (drawn pose, x + iy) gives shape (N, *S).
        """
        row = self._row[part_id]
        where = np.asarray(drawn, dtype=np.complex128)
        lift = (slice(None),) + (None,) * where.ndim
        placed: Complexes = self.rotation[row][lift] * where + self.shift[row][lift]
        return placed

    def path(self, ref: str) -> Floats:
        """Path of the point ``"part.point"``: (N, 2) mm, NaN where not reached."""
        at = self.place(part_of(ref), self.sketch.place(ref))
        return np.stack([at.real, at.imag], axis=-1)
