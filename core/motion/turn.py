"""The whole turn as arrays: where every part is at every crank angle."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from core.model import Sketch, split_ref

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]


@dataclass(frozen=True)
class Limit:
    """A crank angle the crank cannot pass.

    `crank_rad` is exact to 1e-9; `side` is +1 when turning counter-clockwise stops
    there, −1 for clockwise; `parts` are the ids of the parts that bind.
    """

    crank_rad: float
    side: int
    parts: tuple[str, ...]


@dataclass(frozen=True)
class Turn:
    """Poses of all parts over one full cycle.

    A point drawn at p₀ (complex x + iy, mm) is at ``rotation · p₀ + shift``.

    Attributes
    ----------
    crank_rad : (N,) increasing; crank angle in the sketch's own reading (it is
        ``radians(drive.drawn_deg)`` in the drawn pose). A "turn" drive starts at 0
        and leaves out the end; a "rock" drive runs from from_deg to to_deg inclusive.
    reached : (N,) bool; False where the crank cannot come from the drawn pose.
    part_ids : all parts, fixed ones too, in sketch order.
    rotation, shift : (P, N) complex; NaN where not reached. Fixed parts: 1 and 0.
    angle_rad : (N, P) turn from the drawn pose, continuous, zero in the drawn pose.
    crank_turns : whole crank turns in the cycle (1 without gears).
    repeats : True when the motion closes on itself after the cycle.
    limits : where the crank locks (empty when it goes all round).
    residual_mm : the largest joint error at any reached step.
    """

    sketch: Sketch
    crank_rad: Floats
    reached: NDArray[np.bool_]
    part_ids: tuple[str, ...]
    rotation: Complexes
    shift: Complexes
    angle_rad: Floats
    crank_turns: int
    repeats: bool
    limits: tuple[Limit, ...]
    residual_mm: float
    _row: dict[str, int] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "_row", {p: i for i, p in enumerate(self.part_ids)})

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
        return self.rotation[row][lift] * where + self.shift[row][lift]

    def path(self, ref: str) -> Floats:
        """Path of the point ``"part.point"``: (N, 2) mm, NaN where not reached."""
        part, point = split_ref(ref)
        drawn = self.sketch.part(part).point(point)
        at = self.place(part, complex(drawn.x, drawn.y))
        return np.stack([at.real, at.imag], axis=-1)
