"""The crank driven by a torque instead of a motion."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from core.effort.frames import MILLI, Floats, frames_of, weights_of
from core.effort.layout import layout
from core.effort.loads import carry
from core.model import Sketch
from core.motion import Turn, pose_at, rates, solve_turn, structure


@dataclass(frozen=True)
class FreeMotion:
    """Accelerations of a mechanism let go.

    `crank` rad/s²; `spin` part id -> rad/s²; `centre` part id -> acceleration of the
    centre of mass of the body the part belongs to, complex mm/s². Counter-clockwise
    positive; fixed parts zero.
    """

    crank: float
    spin: dict[str, float]
    centre: dict[str, complex]


def free_acceleration(
    sketch_or_turn: Sketch | Turn, crank_rad: float, drive_torque_nmm: float,
    crank_speed: float = 0.0,
) -> FreeMotion:
    """Accelerations when a torque drives the crank, without friction.

    Parameters
    ----------
    sketch_or_turn : the mechanism.
    crank_rad : crank angle at which to look.
    drive_torque_nmm : torque on the crank, counter-clockwise, N·mm.
    crank_speed : crank speed at that instant, rad/s, counter-clockwise.

    Returns
    -------
    FreeMotion

    Raises
    ------
    MotionError
        For a sketch that does not turn.

    Notes
    -----
    Equation of motion of a machine of one freedom (Eksergian): with the reduced inertia
    J(φ) = Σ m|∂r/∂φ|² + I(∂θ/∂φ)², J·φ̈ = T − T(φ, φ̇, φ̈ = 0), where the last is the
    torque that virtual power asks for at steady crank speed. NaN where the crank angle
    cannot be reached or nothing has mass.
    """
    turn = sketch_or_turn if isinstance(sketch_or_turn, Turn) else solve_turn(sketch_or_turn)
    sketch = turn.sketch
    here = pose_at(turn, np.array([crank_rad]))
    plan = layout(sketch, structure(sketch))
    still: tuple[Floats, Floats] = (np.array([crank_speed]), np.zeros(1))
    frames = frames_of(here, rates(here), still, plan, np.arange(1))
    weights = weights_of(sketch, plan)
    steady = carry(sketch, plan, frames, weights)
    arm = frames.rotation * weights.centre[:, None]
    rate = 1j * frames.spin * arm + frames.shift1
    inertia = MILLI * float(np.sum(weights.kg[:, None] * np.abs(rate) ** 2
                                   + weights.inertia_kgmm2[:, None] * frames.spin**2))
    asked = float(sum(part[0] for part in steady.shares.values()))
    crank = (drive_torque_nmm - asked) / inertia if inertia > 0.0 else np.nan
    spin = frames.spin2 * crank_speed**2 + frames.spin * crank
    turning = 1j * frames.spin2 - frames.spin**2
    speeding = crank_speed**2 * (turning * arm + frames.shift2) + crank * rate
    owners = plan.body_of.items()
    return FreeMotion(crank, {part: float(spin[b, 0]) for part, b in owners},
                      {part: complex(speeding[b, 0]) for part, b in owners})
