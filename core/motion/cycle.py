"""How many crank turns it takes until everything is back: gears and belts."""

from __future__ import annotations

import math
from fractions import Fraction

import numpy as np

from core.motion.network import GROUND, Number
from core.motion.plan import Plan, Turned
from core.motion.state import State

#: More crank turns than this are not waited for.
MOST_TURNS = 64


def factors(plan: Plan) -> dict[int, Number]:
    """Turn of every body that is a fixed multiple of the crank's, as that multiple."""
    known: dict[int, Number] = {GROUND: Fraction(0), plan.network.crank: Fraction(1)}
    for step in plan.steps:
        if isinstance(step, Turned) and all(body in known for body, _ in step.terms):
            known[step.body] = sum((known[body] * factor for body, factor in step.terms),
                                   Fraction(0))
    return known


def turns_by_gears(plan: Plan) -> int | None:
    """Crank turns until all bodies geared to crank and frame are back; None: never."""
    turns = 1
    for factor in factors(plan).values():
        if not isinstance(factor, Fraction):
            return None
        turns = math.lcm(turns, factor.denominator)
    return turns


def gains(state: State) -> dict[int, Number]:
    """Whole turns each turning body makes in the cycle a closed row of samples covers.

    Bodies turned by groups come back, so theirs are whole numbers; those of bodies geared
    to them need not be.
    """
    plan = state.plan
    order = state.order[state.order != len(state.turn) - 1]
    cycle = Fraction(round((state.turn[order[-1]] - state.turn[order[0]]) / (2 * np.pi)))
    known = {body: factor * cycle for body, factor in factors(plan).items()}
    for step in plan.steps:
        if isinstance(step, Turned):
            known[step.body] = sum((known[body] * factor for body, factor in step.terms),
                                   Fraction(0))
            continue
        for body in {body for spin in step.spins for body in spin}:
            angle = state.angle(body)[order]
            ahead = angle[-1] - angle[0]
            # One step is missing to the full cycle; its change is less than half a turn.
            known[body] = Fraction(round(ahead / (2 * np.pi) * len(order) / (len(order) - 1)))
    return known


def more_turns(state: State) -> int | None:
    """By how many times the cycle must be longer until bodies geared to moving carriers
    are back too; None: never."""
    if not any(isinstance(step, Turned) and _geared(step) for step in state.plan.steps):
        return 1
    times = 1
    for gain in gains(state).values():
        if not isinstance(gain, Fraction):
            return None
        times = math.lcm(times, gain.denominator)
    return times


def groups_at_once(plan: Plan) -> int:
    """How many of the first groups are found at any crank angle by itself; those after
    them had to be followed there (Newton's method, gears on parts that swing)."""
    count = 0
    for step in plan.steps:
        if isinstance(step, Turned):
            if _geared(step):
                break
        elif step.kind == "newton":
            break
        else:
            count += 1
    return count


def _geared(step: Turned) -> bool:
    return any(not isinstance(factor, Fraction) or factor.denominator > 1
               for _, factor in step.terms)
