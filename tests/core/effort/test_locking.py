"""Friction lock: closed forms, a determinant, and cranking with a little less and more."""

from __future__ import annotations

import math

import msgspec
import numpy as np
import pytest
from grown import KINDS, grown
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from test_friction import drawer, stalling
from weighted import four_bar, part

from core.effort import friction_band
from core.effort.locking import MOST, locking, nearest_lock
from core.model import Force, Gravity, Pin, Sketch, Slide, Torque
from core.motion import rates, solve_turn

replace = msgspec.structs.replace


def test_a_rocker_locks_where_the_rod_touches_its_friction_circle() -> None:
    # Friction circle (any textbook of mechanisms): μ·r = h, the distance of the rod's line
    # from the rocker's pivot.
    turn = solve_turn(stalling(), steps=720)
    a, b, q = (turn.path(ref) @ np.array([1, 1j]) for ref in ("rod.A", "rod.B", "frame.Q"))
    distance = np.abs(((b - a).conj() * (q - a)).imag) / 60
    resists = rates(turn).spin[turn.row("rocker")] > 0
    found = locking(turn)
    share = np.where(resists, distance / (0.5 * 20), np.inf)
    near = turn.reached & (share < MOST)
    assert near.any()
    assert found.share[near] == pytest.approx(share[near], rel=1e-9)
    assert np.isinf(found.share[turn.reached & ~near]).all()
    assert np.isnan(found.share[~turn.reached]).all()
    nearest = found.nearest
    assert nearest is not None
    assert (nearest.joint, nearest.carried) == ("q", pytest.approx(1.0))
    assert nearest.coefficient == pytest.approx(distance[nearest.step] / 20)
    assert nearest.crank_rad == turn.crank_rad[nearest.step]


def test_a_drawer_pulled_off_centre_locks_at_the_known_coefficient() -> None:
    # 2·μ·a/ℓ = 1 (textbook wedging condition), ℓ = 30 mm, a = 60 mm.
    found = locking(solve_turn(drawer(60.0, (0.2, 0.3)), steps=120))
    assert found.nearest is not None
    assert found.nearest.joint == "way"
    assert found.nearest.coefficient == pytest.approx(0.25, rel=1e-9)
    assert locking(solve_turn(drawer(5.0, (0.2, 0.3)), steps=120)).nearest is None


@pytest.mark.parametrize("backwards", [False, True])
@pytest.mark.parametrize("sketch", [stalling(), four_bar(), drawer(60.0, (0.2, 0.3)),
                                    drawer(5.0, (0.2, 0.3))])
def test_the_nearest_lock_alone_is_the_nearest_of_all(sketch: Sketch, backwards: bool) -> None:
    turn = solve_turn(sketch, steps=180)
    assert nearest_lock(turn, None, backwards) == locking(turn, None, backwards).nearest


def wedged(slope_deg: float, mu: float) -> Sketch:
    """A crank lifts a block on an upright guide through a rod; the guide alone rubs. Away
    from its highest place the rod leans on the guide by the slope."""
    a = 40 * np.exp(1j * math.radians(slope_deg))
    top = 1j * (a.imag + math.sqrt(80**2 - a.real**2))
    return Sketch(
        parts=(part("frame", fixed=True, O=0j, L=20j, R=140j), part("crank", O=0j, A=a),
               part("rod", A=a, B=top), part("block", B=top)),
        pins=tuple(Pin(id=name, at=at, friction=(0, 0)) for name, at in (
            ("o", ("frame.O", "crank.O")), ("a", ("crank.A", "rod.A")),
            ("b", ("rod.B", "block.B")))),
        slides=(Slide(id="way", point="block.B", along=("frame.L", "frame.R"),
                      friction=(0.1, mu)),),
        forces=(Force(id="load", at="block.B", fx_n=0.0, fy_n=-30.0),),
        gravity=Gravity(g_m_s2=0.0),
        drive=replace(four_bar().drive, pin="o", part="crank", rpm=1e-6,
                      drawn_deg=slope_deg))


def test_a_block_wedges_at_the_angle_of_friction_of_its_rod() -> None:
    # The rod pushes at the angle β to the guide: along it F·cos β, friction μ·F·sin β.
    # They meet at μ = cot β (any textbook of mechanisms).
    turn = solve_turn(wedged(30.0, 1.5), steps=360)
    a, b = (turn.path(ref) @ np.array([1, 1j]) for ref in ("rod.A", "rod.B"))
    lean = np.abs((b - a).real) / np.abs((b - a).imag)
    up = np.cos(turn.crank_rad) > 0.05
    found = locking(turn)
    share = 1.0 / (lean * 1.5)
    near = up & (share < 0.99 * MOST)
    assert near.sum() > 20
    # A weightless rod and a load through its pin: no moment on the guide to bear as well.
    assert found.share[near] == pytest.approx(share[near], rel=1e-8)


def test_at_the_critical_share_a_determinant_written_out_by_hand_vanishes() -> None:
    """A four-bar in which all four pins rub, the balance of its three moving parts as nine
    equations, friction linear about the forces at a share just below the critical one."""
    sketch = four_bar(friction=(0.1, 0.9), gravity=Gravity(g_m_s2=0.0), torques=(
        Torque(id="load", part="rocker", torque_nmm=-2000.0),))
    sketch = replace(sketch, pins=tuple(replace(pin, diameter_mm=60.0, friction=None)
                                        for pin in sketch.pins))
    sketch = replace(sketch, drive=replace(sketch.drive, rpm=1e-5))
    turn = solve_turn(sketch, steps=180)
    nearest = locking(turn).nearest
    assert nearest is not None
    mu, step, ids = nearest.coefficient, nearest.step, [pin.id for pin in sketch.pins]
    spin = dict(zip(turn.part_ids, rates(turn).spin[:, step], strict=True))

    def determinant(mu: float, forces: dict[str, complex]) -> float:
        """Columns: x and y of each pin's force on the first of its moving parts, torque."""
        moving = [each.id for each in sketch.parts if not each.fixed]
        matrix = np.zeros((9, 9))
        matrix[3 * moving.index(sketch.drive.part) + 2, 8] = 1.0
        for k, pin in enumerate(sketch.pins):
            first, second = sorted((ref.split(".")[0] for ref in pin.at),
                                   key=lambda name: name not in moving)
            at = complex(turn.path(pin.at[0])[step] @ np.array([1, 1j]))
            slip = spin[first] - (spin[second] if second in moving else 0.0)
            grip = -mu * 30.0 * np.sign(slip) * forces[pin.id] / abs(forces[pin.id])
            for name, sign in ((first, 1.0), (second, -1.0)):
                if name in moving:
                    row = 3 * moving.index(name)
                    matrix[row, 2 * k] = matrix[row + 1, 2 * k + 1] = sign
                    matrix[row + 2, 2 * k] = sign * (-at.imag + grip.real)
                    matrix[row + 2, 2 * k + 1] = sign * (at.real + grip.imag)
        return float(np.linalg.det(matrix))

    def forces_at(share: float) -> dict[str, complex]:
        raised = replace(sketch, friction=(0.0, share * 0.9))
        load = friction_band(solve_turn(raised, steps=180), tolerance=1e-12).high
        moving = {each.id for each in sketch.parts if not each.fixed}
        found = {}
        for pin in sketch.pins:
            names = [ref.split(".")[0] for ref in pin.at]
            first = next(k for k, name in enumerate(names) if name in moving)
            found[pin.id] = complex(load[pin.id].force[step, first])
        return found

    assert len(ids) == 4
    below = forces_at(nearest.share * (1 - 1e-5))
    none = abs(determinant(0.0, below))
    assert abs(determinant(mu, below)) < 1e-3 * none
    assert determinant(mu * 0.98, below) * determinant(mu * 1.02, below) < 0.0


@given(st.lists(st.sampled_from(KINDS), min_size=1, max_size=4), st.integers(0, 2**31))
@settings(max_examples=20)
def test_a_random_mechanism_turns_with_a_little_less_friction_and_jams_with_more(
    groups: list[str], seed: int
) -> None:
    """A tenth less: nearer to the lock the band sometimes gives up a little too soon."""
    sketch = replace(grown(groups, seed), friction=(0.1, 0.8))
    turn = solve_turn(sketch, steps=90)
    assume(turn.reached.all())
    found = locking(turn)
    fine = np.isfinite(found.share)
    if not fine.any():
        return
    nearest = found.nearest
    assert nearest is not None
    assert nearest.share == np.min(found.share[fine])
    assert 0.0 < nearest.carried <= 1.0 + 1e-9

    def torque(share: float) -> float:
        other = replace(sketch, friction=(0.0, 0.8 * share))
        band = friction_band(solve_turn(other, steps=90))
        return float(band.high_nmm[nearest.step])

    less, more = torque(0.9 * nearest.share), torque(1.02 * nearest.share)
    assert math.isnan(more)
    assert less > torque(0.8 * nearest.share)
