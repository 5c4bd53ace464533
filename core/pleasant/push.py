"""What the hand feels of a torque at the crank, through its handle and steps."""

from __future__ import annotations

import math

import numpy as np

from core.model import Handle
from core.motion.turn import Floats
from core.pleasant.proposal import Lanes


def ratio_of(handle: Handle) -> float:
    """Turns of the handle for one of the crank."""
    return math.prod(step.ratio for step in handle.steps)


def push(handle: Handle, lanes: Lanes) -> Floats:
    """(N,) N, the most the hand must push along its circle, negative: hold back.

    The torque with most friction through the least efficiency of the steps; where even the
    one with least friction is negative the hand holds back, at most all of that.
    """
    arm = max(handle.radius_mm, 1e-9) * ratio_of(handle)
    worst = math.prod(step.efficiency[0] for step in handle.steps)
    pushing = np.maximum(lanes.high_nmm, 0.0) / (arm * max(worst, 1e-9))
    holding = np.minimum(lanes.low_nmm, 0.0) / arm
    found: Floats = np.where(-holding > pushing, holding, pushing)
    return found
