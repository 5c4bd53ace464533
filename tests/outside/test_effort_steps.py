"""The gear step and the flywheel of the advisor against trying and against simulation.

Sources: every pair of teeth tried by itself (brute force); C = E / (I ω²) of a flywheel (J. E.
Shigley and others, *Mechanical Engineering Design*, ch. 16, from memory), held against the
motion itself, integrated by scipy's ``solve_ivp``.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from msgspec.structs import replace
from scipy.integrate import solve_ivp
from weighted import four_bar

from core.effort import effort
from core.effort.hand import hand
from core.making.gears import Gear, GearPair
from core.model import Handle, Sketch
from core.motion import Turn, rates, solve_turn
from core.pleasant import FlywheelRules, GearRules, Options, advise

RULES = GearRules(modules_mm=(2.0, 2.5, 3.0), largest_mm=150.0)


def stiff(limit: float) -> Sketch:
    made = four_bar(rpm=15.0, friction=(0.1, 0.3), handle=Handle(radius_mm=60.0, limit_n=limit))
    heavy = tuple(replace(p, mass=replace(p.mass, mass_kg=6 * p.mass.mass_kg))
                  if p.mass is not None else p for p in made.parts)
    return replace(made, parts=heavy)


def pair_of(driver: int, driven: int, module: float) -> GearPair:
    """Few teeth shifted outwards by what avoids undercut, the mate inwards as far as it can
    go without: what the advisor is to look among."""
    least = [Gear(z, module).least_shift for z in (driver, driven)]
    a, b = (Gear(z, module, shift=max(own, -max(other, 0.0)))
            for z, own, other in zip((driver, driven), least, least[::-1], strict=True))
    return GearPair(a, b)


def size_of(pair: GearPair) -> float:
    return 2 * max(pair.a.tip_mm, pair.b.tip_mm)


def sound(pair: GearPair) -> bool:
    """What is asked of a pair."""
    a, b = pair.a, pair.b
    return (not a.undercut and not b.undercut and not any(pair.interferes)
            and pair.contact_ratio >= 1.2 and size_of(pair) <= RULES.largest_mm
            and min(a.tip_land_mm, b.tip_land_mm) >= 0.4 * a.module_mm)


@pytest.mark.parametrize("limit", [8.0, 4.0])
def test_the_gear_step_brings_the_push_under_the_limit_and_no_smaller_one_does(
    limit: float
) -> None:
    sketch = stiff(limit)
    proposal = advise(sketch, Options(kinds=("gears",), gears=RULES)).proposals[0]
    before, after = (hand(turn, effort(turn)) for turn in map(
        solve_turn, (sketch, proposal.sketch)))
    worst = max(after.peak_n, after.hold_n)
    assert max(before.peak_n, before.hold_n) > limit
    assert worst <= limit
    assert after.over == ()
    (step,) = proposal.sketch.handle.steps
    assert proposal.turns == pytest.approx(step.driven / step.driver)
    made = pair_of(int(step.driver), int(step.driven), step.module_mm)
    assert sound(made)
    needed = worst * step.ratio / limit
    smaller = [
        pair for module in RULES.modules_mm for driver in range(7, 50)
        for driven in range(math.ceil(needed * driver), int(1.5 * needed * driver) + 1)
        if size_of(pair := pair_of(driver, driven, module)) < size_of(made) - 1e-9
        and sound(pair)]
    assert smaller == []


def test_no_gears_are_proposed_where_the_hand_is_light() -> None:
    advice = advise(stiff(500.0), Options(kinds=("gears",)))
    assert advice.proposals == ()
    assert "No gears needed" in advice.declined[0].words


def test_a_flywheel_holds_the_speed_as_far_as_is_told() -> None:
    """The crank with its flywheel, pushed with the mean torque, runs a few turns."""
    sketch = replace(four_bar(rpm=90.0, friction=(0.2, 0.2)), drive=replace(
        four_bar().drive, rpm=90.0))
    rules = FlywheelRules(fluctuation=0.1, most_kg=9.0, largest_mm=400.0)
    advice = advise(sketch, Options(kinds=("flywheel",), flywheel=rules))
    proposal = advice.proposals[0]
    wheel = next(p for p in proposal.sketch.parts if p.id not in {q.id for q in sketch.parts})
    radius = wheel.outline.radius_mm
    inertia = proposal.added_kg * radius**2 / 2  # of a disc, kg·mm²
    # Gravity, spring and friction as at a very slow crank; the parts' own inertia beside.
    turn = solve_turn(replace(sketch, drive=replace(sketch.drive, rpm=0.01)), steps=720)
    load, own = effort(turn).torque_high_nmm, reduced(turn)
    crank, mean = np.append(turn.crank_rad, 2 * math.pi), float(load.mean())
    energy = np.gradient(own, turn.crank_rad)

    def push(_: float, state: np.ndarray) -> list[float]:
        angle, speed = state
        asked, heavy, rise = (float(np.interp(angle % (2 * math.pi), crank, np.append(
            lane, lane[0]))) for lane in (load, own, energy))
        return [speed, (1e3 * (mean - asked) - rise * speed**2 / 2) / (inertia + heavy)]

    speed = 90.0 * 2 * math.pi / 60
    start = speed
    for _ in range(3):  # so that it runs at the drive's pace on the mean
        run = solve_ivp(push, (0.0, 4 * 60 / 90.0), [0.0, start], rtol=1e-8, max_step=0.005)
        start *= speed / float((run.y[0, -1] - run.y[0, 0]) / run.t[-1])
    swing = float(np.ptp(run.y[1])) / speed
    assert proposal.value_after <= 0.1 + 1e-9
    assert swing == pytest.approx(proposal.value_after, rel=0.05)


def reduced(turn: Turn) -> np.ndarray:
    """(N,) kg·mm²: twice the kinetic energy of all parts at a crank of 1 rad/s."""
    speed, whole = rates(turn), np.zeros(turn.crank_rad.size)
    for part in turn.sketch.parts:
        if part.mass is not None and not part.fixed:
            row = turn.row(part.id)
            at = turn.place(part.id, complex(part.mass.x, part.mass.y))
            velocity = 1j * speed.spin[row] * (at - turn.shift[row]) + speed.shift1[row]
            whole += (part.mass.mass_kg * np.abs(velocity) ** 2
                      + part.mass.inertia_kgmm2 * speed.spin[row] ** 2)
    return whole
