"""Derivatives of the motion by drawn places, against central differences of whole turns,
against a complex step of the textbook four-bar, and against each other."""

from __future__ import annotations

import cmath
import math
from collections.abc import Mapping

import msgspec
import numpy as np
import pytest
import weighted
from grown import KINDS, grown
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from linkages import eight_bar, four_bar, parallelogram, triad, walking_leg

from core.errors import MotionError
from core.model import Sketch, join_ref
from core.motion import Sensitivity, Turn, pose_at, rates, sensitivity, solve_turn
from core.motion.redimension.nodes import nodes

replace = msgspec.structs.replace
STEPS = 60
Move = dict[str, complex]


def random_move(sketch: Sketch, random: np.random.Generator) -> Move:
    """All points moved at random, pinned ones alike, sliding ones staying on their lines."""
    net = nodes(sketch)
    speed = random.normal(size=len(net.place)) + 1j * random.normal(size=len(net.place))
    for node, start, end in net.lines:
        share = (net.place[node] - net.place[start]) / (net.place[end] - net.place[start])
        speed[node] = speed[start] + share.real * (speed[end] - speed[start])
    return {ref: complex(speed[node]) for ref, node in net.of.items()}


def moved(sketch: Sketch, move: Mapping[str, complex], by: float) -> Sketch:
    return replace(sketch, parts=tuple(replace(part, points=tuple(
        replace(point, x=point.x + by * move.get(join_ref(part.id, point.id), 0j).real,
                y=point.y + by * move.get(join_ref(part.id, point.id), 0j).imag)
        for point in part.points)) for part in sketch.parts))


def firm(sketch: Sketch, turn: Turn) -> np.ndarray:
    """Steps where nothing is about to lock: no rate is large."""
    speed = rates(turn)
    good = turn.reached & (np.abs(speed.spin).max(axis=0) < 8.0)
    return good & (np.abs(speed.spin2).max(axis=0) < 60.0)


def differences_agree(sketch: Sketch, seed: int = 0, by: float = 1e-4,
                      crank_rad: np.ndarray | None = None) -> int:
    """Compare at firm steps; the number of those."""
    move = random_move(sketch, np.random.default_rng(seed))
    turn = solve_turn(sketch, STEPS)
    ahead, behind = (solve_turn(moved(sketch, move, way), STEPS) for way in (by, -by))
    if crank_rad is not None:
        turn, ahead, behind = (pose_at(each, crank_rad) for each in (turn, ahead, behind))
    if not turn.crank_turns == ahead.crank_turns == behind.crank_turns:
        return 0
    good = firm(sketch, turn) & ahead.reached & behind.reached
    found = sensitivity(turn, [move])
    for part in sketch.parts:
        angle = (ahead.angle_rad - behind.angle_rad)[good, turn.row(part.id)] / (2 * by)
        assert np.allclose(found.angle(part.id)[good, 0], angle, rtol=1e-4, atol=3e-5)
        for point in part.points:
            ref = join_ref(part.id, point.id)
            there, back = (each.path(ref)[good] @ [1, 1j] for each in (ahead, behind))
            assert np.allclose(found.place(ref)[good, 0], (there - back) / (2 * by),
                               rtol=1e-4, atol=3e-3)
    return int(good.sum())


@pytest.mark.parametrize("sketch", [
    pytest.param(four_bar(100, 40, 120, 80, 40, point=60 + 50j), id="four-bar"),
    pytest.param(walking_leg(70), id="walking leg"),
    pytest.param(triad(), id="triad, by Newton's method"),
    pytest.param(eight_bar(), id="eight-bar"),
    *(pytest.param(make(), id=make.__name__.replace("_", " ")) for make in weighted.MAKES),
])
def test_places_and_angles_change_as_whole_turns_of_moved_sketches_do(sketch: Sketch) -> None:
    assert differences_agree(sketch, 3) > 10
    assert differences_agree(sketch, 4, crank_rad=np.array([0.3, 2.0, 4.1, 5.2])) > 0


@pytest.mark.parametrize("kind", KINDS)
def test_every_joint_kind_agrees_with_differences(kind: str) -> None:
    assert sum(differences_agree(grown([kind], seed), seed) for seed in range(6)) > 20


@given(st.lists(st.sampled_from(KINDS), min_size=2, max_size=5), st.integers(0, 2**31))
@settings(max_examples=40)
def test_groups_on_groups_agree_with_differences(kinds: list[str], seed: int) -> None:
    try:
        assume(differences_agree(grown(kinds, seed), seed) > 0)
    except MotionError:
        assume(False)


@given(st.lists(st.sampled_from(KINDS), min_size=1, max_size=4), st.integers(0, 2**31),
       st.floats(-700, 700))
@settings(max_examples=15)
def test_cranks_that_rock_agree_wherever_they_are_drawn(kinds: list[str], seed: int,
                                                        drawn_deg: float) -> None:
    sketch = grown(kinds, seed, drawn_deg=drawn_deg)
    sketch = replace(sketch, drive=replace(sketch.drive, kind="rock", from_deg=drawn_deg - 50,
                                           to_deg=drawn_deg + 20))
    between = np.radians(drawn_deg + np.random.default_rng(seed).uniform(-50, 20, 9))
    try:
        assume(differences_agree(sketch, seed, crank_rad=between) > 0)
    except MotionError:
        assume(False)


def four_bar_point(x: np.ndarray, turn: float) -> complex:
    """The coupler point of a four-bar, analytic in the drawn coordinates `x` (O, A, B, Q,
    P as x and y one after the other): x + iy of the place a crank turn on.

    The circle–circle construction written with x and y apart, so that a complex step
    (Squire & Trapp, SIAM Review 40, 1998, from memory) goes through it.
    """
    (ox, oy), (ax, ay), (bx, by), (qx, qy), (px, py) = x.reshape(5, 2)
    c, s = math.cos(turn), math.sin(turn)
    mx = ox + c * (ax - ox) - s * (ay - oy)
    my = oy + s * (ax - ox) + c * (ay - oy)
    r2, q2 = (bx - ax) ** 2 + (by - ay) ** 2, (bx - qx) ** 2 + (by - qy) ** 2
    dx, dy = qx - mx, qy - my
    d2 = dx * dx + dy * dy
    along = (d2 + r2 - q2) / (2 * d2)
    up = np.sqrt(r2 / d2 - along * along)
    nx, ny = mx + along * dx - up * dy, my + along * dy + up * dx
    ux, uy = ((bx - ax) * (px - ax) + (by - ay) * (py - ay)) / r2, (
        (bx - ax) * (py - ay) - (by - ay) * (px - ax)) / r2
    return np.array([mx + ux * (nx - mx) - uy * (ny - my),
                     my + uy * (nx - mx) + ux * (ny - my)])


def test_a_coupler_point_agrees_with_the_complex_step_to_rounding() -> None:
    sketch = four_bar(100, 40, 120, 80, 40, point=60 + 50j)
    refs = [("frame.O", "crank.O"), ("crank.A", "coupler.A"), ("coupler.B", "rocker.B"),
            ("frame.Q", "rocker.Q"), ("coupler.P",)]
    moves = [dict.fromkeys(held, way) for held in refs for way in (1 + 0j, 1j)]
    places = np.array([[sketch.place(held[0]).real, sketch.place(held[0]).imag]
                       for held in refs]).ravel()
    turn = solve_turn(sketch, 24)
    found = sensitivity(turn, moves).place("coupler.P")
    home = math.radians(sketch.drive.drawn_deg)
    for step, crank in enumerate(turn.crank_rad):
        for at in range(10):
            x = places.astype(complex)
            x[at] += 1e-30j
            wanted = four_bar_point(x, crank - home).imag / 1e-30
            assert abs(found[step, at] - complex(*wanted)) < 1e-11
        now = four_bar_point(places, crank - home)
        assert abs(complex(*now) - complex(*turn.path("coupler.P")[step])) < 1e-9


def whole(sketch: Sketch, speed: complex, spin: float) -> Move:
    return {ref: speed + 1j * spin * at for ref, at in sketch.places().items()}


@pytest.mark.parametrize("make", weighted.MAKES)
def test_moving_the_whole_sketch_carries_every_place_along(make: object) -> None:
    sketch = make()  # type: ignore[operator]
    turn = solve_turn(sketch, STEPS)
    for speed, spin in ((0.7 - 0.2j, 0.0), (0j, 0.3)):
        found = sensitivity(turn, [whole(sketch, speed, spin)])
        for part in sketch.parts:
            assert np.nanmax(np.abs(found.angle(part.id)), initial=0.0) < 1e-9
            for point in part.points:
                ref = join_ref(part.id, point.id)
                now = turn.path(ref) @ [1, 1j]
                off = found.place(ref)[:, 0] - speed - 1j * spin * now
                assert np.nanmax(np.abs(off), initial=0.0) < 1e-7


def test_growing_the_whole_sketch_grows_every_place() -> None:
    sketch = walking_leg(20)
    turn = solve_turn(sketch, STEPS)
    found = sensitivity(turn, [dict(sketch.places())])
    assert np.abs(found.place("foot.F")[:, 0] - turn.path("foot.F") @ [1, 1j]).max() < 1e-9


def test_drawing_the_same_mechanism_in_its_next_pose_only_turns_the_crank() -> None:
    """The move along the motion itself leaves the mechanism as it is, a little later."""
    sketch = walking_leg(20)
    turn = solve_turn(sketch, STEPS)
    home = pose_at(turn, np.radians([20.0]))
    speed = rates(home)
    move = {ref: complex(speed.slope(ref)[0][0]) for ref in sketch.places()}
    found, late = sensitivity(turn, [move]), rates(turn)
    assert np.abs(found.place("foot.F")[:, 0] - late.slope("foot.F")[0]).max() < 1e-9


def test_nothing_moves_in_the_drawn_pose_but_what_is_moved() -> None:
    sketch = walking_leg(20)
    home = pose_at(solve_turn(sketch, STEPS), np.radians([20.0]))
    move = random_move(sketch, np.random.default_rng(1))
    found: Sensitivity = sensitivity(home, [move])
    for ref, speed in move.items():
        assert abs(found.place(ref)[0, 0] - speed) < 1e-10


def test_a_line_on_a_part_turns_as_its_ends_go() -> None:
    sketch = four_bar(100, 40, 120, 80, 40, point=60 + 50j)
    turn = solve_turn(sketch, STEPS)
    found = sensitivity(turn, [random_move(sketch, np.random.default_rng(5))])
    tail, tip = ("coupler.A", "coupler.P")
    way = (turn.path(tip) - turn.path(tail)) @ [1, 1j]
    speed = (found.place(tip) - found.place(tail))[:, 0]
    assert np.allclose(found.direction(tail, tip)[:, 0], (speed / way).imag, atol=1e-12)


def test_a_flat_parallelogram_has_the_derivatives_of_its_neighbours() -> None:
    sketch = parallelogram(40)
    turn = solve_turn(sketch, 360)
    found = sensitivity(turn, [whole(sketch, 1 + 0j, 0.0), dict(sketch.places())])
    assert np.abs(found.place("coupler.B")[:, 0] - 1).max() < 1e-6
    grows = turn.path("coupler.B") @ [1, 1j]
    assert np.abs(found.place("coupler.B")[:, 1] - grows).max() < 1e-4


def test_what_the_crank_does_not_reach_has_no_derivative() -> None:
    sketch = four_bar(100, 90, 60, 50, 10)
    turn = solve_turn(sketch, STEPS)
    assert not turn.reached.all()
    found = sensitivity(turn, [random_move(sketch, np.random.default_rng(2))])
    assert np.isnan(found.place("coupler.B")[~turn.reached]).all()
    assert np.isfinite(found.place("coupler.B")[turn.reached]).all()


def test_unknown_points_and_unsolved_turns_are_refused() -> None:
    sketch = four_bar(100, 40, 120, 80, 40)
    with pytest.raises(KeyError):
        sensitivity(solve_turn(sketch, STEPS), [{"coupler.Z": 1 + 0j}])
    still = Turn(sketch=sketch, crank_rad=np.zeros(1), reached=np.ones(1, bool),
                 part_ids=("frame",), rotation=np.ones((1, 1), complex),
                 shift=np.zeros((1, 1), complex))
    with pytest.raises(MotionError, match="solve"):
        sensitivity(still, [])
    assert cmath.isfinite(sensitivity(solve_turn(sketch, STEPS), [{}]).place("coupler.A").sum())
