"""Knots of a wanted angle: they keep their order, whatever is done with them."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.errors import EditError
from core.model.edits import angle_wishes as knots_of
from core.model.wanted import Knot, WantedAngle


def wish(*knots: tuple[float, float], closed: bool = True) -> WantedAngle:
    return WantedAngle(id="w", closed=closed, knots=tuple(
        Knot(crank_deg=crank, angle_deg=angle) for crank, angle in knots))


SWING = wish((10, 0), (100, 40), (200, 60), (300, 20))
ROUND = wish((0, 0), (90, 100), (180, 170), (360, 360))


def pairs(one: WantedAngle) -> list[tuple[float, float]]:
    return [(knot.crank_deg, knot.angle_deg) for knot in one.knots]


def test_a_knot_goes_where_it_is_put() -> None:
    assert pairs(knots_of.move_knot(SWING, 1, 120.0, -5.0))[1] == (120.0, -5.0)


def test_a_knot_stops_short_of_its_neighbours() -> None:
    assert pairs(knots_of.move_knot(SWING, 1, 250.0, 0.0))[1][0] == 199.0
    assert pairs(knots_of.move_knot(SWING, 0, -100.0, 0.0))[0][0] == -59.0


def test_the_ends_of_an_open_curve_go_as_far_as_they_like() -> None:
    one = wish((10, 0), (100, 40), closed=False)
    assert pairs(knots_of.move_knot(one, 0, -500.0, 0.0))[0][0] == -500.0


@given(st.integers(0, 3), st.floats(-1000, 1000), st.floats(-400, 400))
def test_moved_knots_stay_in_order_within_a_turn(index: int, crank: float,
                                                 angle: float) -> None:
    for one in (SWING, ROUND):
        cranks = [crank for crank, _ in pairs(knots_of.move_knot(one, index, crank, angle))]
        assert all(a < b for a, b in pairwise(cranks))
        assert cranks[-1] - cranks[0] <= 360.0


@pytest.mark.parametrize("index", [0, 3])
def test_the_first_knot_and_the_same_a_turn_later_move_as_one(index: int) -> None:
    old = ROUND.knots[index]
    moved = pairs(knots_of.move_knot(ROUND, index, old.crank_deg + 20.0, old.angle_deg - 5.0))
    assert moved[0] == (20.0, -5.0)
    assert moved[-1] == (380.0, 355.0)


def test_a_knot_is_added_in_its_place_of_the_turn() -> None:
    more, index = knots_of.add_knot(SWING, 150.0 + 720.0, 33.0)
    assert (index, pairs(more)[2]) == (2, (150.0, 33.0))
    more, index = knots_of.add_knot(SWING, 5.0, 1.0)
    assert (index, pairs(more)[-1]) == (4, (365.0, 1.0))


def test_a_knot_added_a_turn_later_to_a_part_that_goes_round_is_a_turn_lower() -> None:
    more, index = knots_of.add_knot(ROUND, 45.0 + 360.0, 410.0)
    assert (index, pairs(more)[1]) == (1, (45.0, 50.0))
    assert pairs(more)[-1] == (360.0, 360.0)


def test_two_knots_at_one_crank_angle_are_refused() -> None:
    with pytest.raises(EditError, match="already"):
        knots_of.add_knot(SWING, 100.4, 0.0)
    with pytest.raises(EditError, match="already"):
        knots_of.add_knot(SWING, 370.2, 0.0)
    with pytest.raises(EditError, match="two knots"):
        knots_of.set_knots(SWING, [*SWING.knots, Knot(crank_deg=10, angle_deg=9)])


def test_set_knots_come_in_order() -> None:
    assert pairs(knots_of.set_knots(SWING, reversed(SWING.knots))) == pairs(SWING)


def test_knots_are_taken_out_until_a_curve_needs_them() -> None:
    one = SWING
    for _ in range(2):
        one = knots_of.remove_knot(one, 0)
    assert pairs(one) == [(200, 60), (300, 20)]
    with pytest.raises(EditError, match="two knots"):
        knots_of.remove_knot(one, 0)
    with pytest.raises(EditError, match="no knot 9"):
        knots_of.remove_knot(SWING, 8)


@pytest.mark.parametrize("index", [0, 3])
def test_the_turn_begins_anew_when_its_first_knot_is_taken_out(index: int) -> None:
    assert pairs(knots_of.remove_knot(ROUND, index)) == [(90, 100), (180, 170), (450, 460)]


@pytest.mark.parametrize("share", [0.5, 1 / 3, 0.8])
def test_a_swing_to_and_fro_is_at_its_ends_when_it_should_be(share: float) -> None:
    one = knots_of.swinging(SWING, 350.0, -10.0, 30.0, share)
    at = dict(pairs(one))
    assert at[350.0] == -10.0
    assert (min(at.values()), max(at.values())) == (-10.0, 30.0)
    top = next(crank for crank, angle in at.items() if angle == 30.0)
    assert math.isclose((top - 350.0) % 360.0, 360.0 * share, abs_tol=0.011)


def test_a_hold_has_two_knots_and_room_beside_them() -> None:
    one = knots_of.held(SWING, 100.0, 40.0, 60.0)
    assert pairs(one) == [(10, 0), (70.0, 40.0), (130.0, 40.0), (200, 60), (300, 20)]


def test_a_hold_over_the_end_of_the_turn_comes_in_again_at_its_beginning() -> None:
    one = knots_of.held(SWING, 350.0, 5.0, 60.0)
    assert pairs(one) == [(20.0, 5.0), (100, 40), (200, 60), (300, 20), (320.0, 5.0)]
