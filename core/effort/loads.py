"""What acts on the bodies besides the joints: gravity, inertia, springs, loads.

Inertia is taken as a load (d'Alembert), so that every body is in balance.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from core.effort.frames import MILLI, Complexes, Drawn, Floats, Frames, Weights, cross
from core.effort.layout import Layout
from core.model import Sketch, part_of

Share = Literal["gravity", "inertia", "springs", "loads"]
#: Turning per turn of the crank that counts as none.
STILL = 1e-9
SHARES: tuple[Share, ...] = ("gravity", "inertia", "springs", "loads")


@dataclass(frozen=True)
class Load:
    """A force (N, complex) at a place (complex mm) of a part and a moment (N·mm).

    `rate` is the derivative of the place by the crank angle, mm/rad. Each is (N,) or
    a single value for all steps.
    """

    share: Share
    part: str
    body: int
    force: Complexes | complex
    place: Complexes | complex
    rate: Complexes | complex
    moment: Floats | float


def loads_of(sketch: Sketch, plan: Layout, frames: Frames) -> list[Load]:
    """Springs, torsion springs, forces and torques on the parts of a layout.

    Loads on loose parts are left out, and so is the end of a spring that holds one.
    """
    drawn = Drawn(sketch)
    found: list[Load] = []

    def push(share: Share, ref: str, force: Complexes | complex) -> None:
        part = part_of(ref)
        if (body := plan.body_of.get(part)) is not None:
            at = drawn(ref)
            found.append(Load(share, part, body, force, frames.at(body, at),
                              frames.rate(body, at), 0.0))

    def twist(share: Share, part: str, moment: Floats | float) -> None:
        if (body := plan.body_of.get(part)) is not None:
            found.append(Load(share, part, body, 0j, 0j, 0j, moment))

    def place(ref: str) -> Complexes | complex:
        body = plan.body_of.get(part_of(ref))
        return drawn(ref) if body is None else frames.at(body, drawn(ref))

    for spring in sketch.springs:
        apart = np.asarray(place(spring.b) - place(spring.a), dtype=np.complex128)
        length = np.abs(apart)
        pull = spring.initial_tension_n + spring.rate_n_per_mm * (
            length - spring.free_length_mm)
        if not spring.pushes:
            pull = np.where(length > spring.free_length_mm, pull, 0.0)
        along = np.zeros_like(apart)
        np.divide(apart, length, out=along, where=length > 0.0)
        push("springs", spring.a, pull * along)
        push("springs", spring.b, -pull * along)
    for coil in sketch.torsion_springs:
        angles = [frames.angle[plan.body_of[part]] if part in plan.body_of else 0.0
                  for part in (coil.a, coil.b)]
        wound = np.degrees(angles[1] - angles[0]) - coil.free_deg
        twist("springs", coil.b, -coil.rate_nmm_per_deg * wound)
        twist("springs", coil.a, coil.rate_nmm_per_deg * wound)
    for force in sketch.forces:
        value = complex(force.fx_n, force.fy_n)
        body = plan.body_of.get(part_of(force.at), 0)
        turned = frames.rotation[body] * value if force.turns_with_part else value
        push("loads", force.at, turned)
    for torque in sketch.torques:
        body = plan.body_of.get(torque.part, 0)
        if torque.brakes and body:
            turning = frames.sense * frames.spin[body]
            way = np.where(np.abs(turning) < STILL, 0.0, -np.sign(turning))
            twist("loads", torque.part, abs(torque.torque_nmm) * way)
        else:
            twist("loads", torque.part, torque.torque_nmm)
    return found


def weight_of_one_kg(sketch: Sketch) -> complex:
    """Gravity in the sketch plane as a complex force on one kilogram, N."""
    gravity = sketch.gravity
    turned = np.radians(gravity.direction_deg)
    return complex(gravity.g_m_s2 * np.exp(1j * turned))


@dataclass(frozen=True)
class Carried:
    """Everything that acts on the bodies besides the joints.

    `force` (B, N) complex N at `centre` (B, N), the bodies' centres of mass, and `moment`
    (B, N) N·mm about it. `shares` (N,) N·mm: the crank torque, counter-clockwise, that
    each kind asks for by virtual power.
    """

    force: Complexes
    moment: Floats
    centre: Complexes
    shares: dict[Share, Floats]


def carry(
    sketch: Sketch, plan: Layout, frames: Frames, weights: Weights,
) -> Carried:
    """All loads at the bodies' centres of mass, and their shares of the crank torque.

    Method: virtual power. In a motion the crank torque does the work that the loads take:
    T = −Σ (F·∂r/∂φ + M·∂θ/∂φ), φ the crank angle.
    """
    arm = frames.rotation * weights.centre[:, None]
    centre = arm + frames.shift
    rate = 1j * frames.spin * arm + frames.shift1
    turning = 1j * frames.spin2 - frames.spin**2
    speeding = frames.omega**2 * (turning * arm + frames.shift2) + frames.alpha * rate
    kg = weights.kg[:, None]
    weight = kg * weight_of_one_kg(sketch)
    lag = -MILLI * kg * speeding
    lag_moment = -MILLI * weights.inertia_kgmm2[:, None] * (
        frames.spin2 * frames.omega**2 + frames.spin * frames.alpha)
    shares: dict[Share, Floats] = {
        "gravity": -(weight.conj() * rate).real.sum(axis=0),
        "inertia": -((lag.conj() * rate).real + lag_moment * frames.spin).sum(axis=0),
        "springs": np.zeros(frames.steps), "loads": np.zeros(frames.steps),
    }
    force, moment = lag + weight, lag_moment
    for load in loads_of(sketch, plan, frames):
        b = load.body
        force[b] += load.force
        moment[b] += load.moment
        if not np.isscalar(load.force) or load.force:
            off = np.asarray(load.place - centre[b])
            moment[b] += cross(off, np.asarray(load.force))
        work = (np.conj(load.force) * load.rate).real + load.moment * frames.spin[b]
        shares[load.share] = shares[load.share] - work
    return Carried(force, moment, centre, shares)
