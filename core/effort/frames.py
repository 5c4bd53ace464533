"""The turn as the mechanics needs it: body poses, rates and the places of joints."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from core.effort.layout import Layout
from core.effort.masses import PartMass, mass_of, together
from core.model import Sketch, split_ref
from core.motion import Rates, Turn

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]

T = TypeVar("T", np.float64, np.complex128)

#: mm/s² times kg gives this many newtons.
MILLI = 1e-3


@dataclass(frozen=True)
class Frames:
    """Bodies (rows, order of the layout) over steps (columns) of a turn.

    `rotation`, `shift` (B, N) complex, a place p₀ of the drawn pose being at
    ``rotation·p₀ + shift`` mm. `spin`, `spin2` (B, N) and `shift1`, `shift2` (B, N) are
    derivatives by the crank angle; `omega`, `alpha` (N,) crank speed rad/s and
    acceleration rad/s². `angle` (B, N) rad from the drawn pose, zero where nothing asks
    for it (no torsion springs). `sense` (N,) is the way the crank is turned, +1 for
    counter-clockwise.
    """

    rotation: Complexes
    shift: Complexes
    angle: Floats
    spin: Floats
    spin2: Floats
    shift1: Complexes
    shift2: Complexes
    omega: Floats
    alpha: Floats
    sense: Floats

    @property
    def steps(self) -> int:
        """Number of steps N."""
        return int(self.omega.size)

    def take(self, steps: NDArray[np.intp]) -> Frames:
        """Only these steps."""
        names = self.__dataclass_fields__
        return replace(self, **{name: getattr(self, name)[..., steps] for name in names})

    def at(self, body: int, drawn: complex) -> Complexes:
        """Where a place of a body is, (N,) complex mm; `drawn` in the drawn pose."""
        place: Complexes = self.rotation[body] * drawn + self.shift[body]
        return place

    def rate(self, body: int, drawn: complex) -> Complexes:
        """Derivative of that place by the crank angle, (N,) complex mm/rad."""
        swing = 1j * self.spin[body] * self.rotation[body]
        rate: Complexes = swing * drawn + self.shift1[body]
        return rate


def frames_of(
    turn: Turn, rates: Rates, motion: tuple[Floats, Floats], plan: Layout,
    steps: NDArray[np.intp],
) -> Frames:
    """Body poses and rates at the given steps of a turn.

    `motion` is the crank speed and acceleration of every step of the turn, (N,) each.
    """
    rows = [turn.row(names[0]) for names in plan.bodies]
    whole = steps.size == turn.crank_rad.size

    def pick(rows_by_steps: NDArray[T]) -> NDArray[T]:
        chosen = rows_by_steps[rows]
        return chosen if whole else chosen[:, steps]

    omega, alpha = motion
    coiled = turn.sketch.torsion_springs
    angle = pick(turn.angle_rad.T) if coiled else np.zeros((len(rows), steps.size))
    return Frames(
        pick(turn.rotation), pick(turn.shift), angle, pick(rates.spin), pick(rates.spin2),
        pick(rates.shift1), pick(rates.shift2), omega[steps], alpha[steps],
        np.full(steps.size, sense_of(turn)),
    )


def sense_of(turn: Turn) -> float:
    """+1 when the drive turns counter-clockwise (or rocks), −1 for clockwise."""
    drive = turn.sketch.drive
    return -1.0 if drive is not None and drive.kind == "turn" and drive.rpm < 0 else 1.0


@dataclass(frozen=True)
class Weights:
    """Masses of the bodies of a layout: `kg`, `inertia_kgmm2` (B,) and `centre` (B,)
    complex mm, drawn pose. The frame's is zero."""

    kg: Floats
    centre: Complexes
    inertia_kgmm2: Floats


def weights_of(sketch: Sketch, plan: Layout) -> Weights:
    """Masses of the bodies of a layout; raises as :func:`core.effort.masses.mass_of`."""
    parts = {part.id: part for part in sketch.parts}
    masses = [PartMass(0.0, 0j, 0.0)]
    masses += [together([mass_of(parts[name], sketch.materials) for name in names])
               for names in plan.bodies[1:]]
    return Weights(np.array([m.kg for m in masses]), np.array([m.centre for m in masses]),
                   np.array([m.inertia_kgmm2 for m in masses]))


class Drawn:
    """Drawn places of all points of a sketch, complex mm, by reference."""

    def __init__(self, sketch: Sketch) -> None:
        self._points = {part.id: {point.id: point.place
                                  for point in part.points} for part in sketch.parts}

    def __call__(self, ref: str) -> complex:
        part, point = split_ref(ref)
        return self._points[part][point]


def cross(a: Complexes, b: Complexes) -> Floats:
    """z-component of the cross product of plane vectors given as complex numbers."""
    product: Floats = (a.conj() * b).imag
    return product


def dot(a: Complexes, b: Complexes) -> Floats:
    """Dot product of plane vectors given as complex numbers."""
    product: Floats = (a.conj() * b).real
    return product
