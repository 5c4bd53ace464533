"""The walking leg of eleven numbers and two offsets.

Source: the published link lengths, read in several places. No figures of its step are
readable; the foot's places and the size of its path were calculated from the lengths
independently of this program, by intersecting circles.
"""

from __future__ import annotations

import numpy as np
import pytest
from linkages import walking_leg

from core.motion import pose_at, solve_turn

FEET = {0: (-43.1601, -91.7569), 90: (-7.6891, -90.3894), 180: (-33.7297, -73.5171),
        270: (-70.6706, -89.6428)}


@pytest.mark.parametrize("drawn", [0.0, 33.3, 200.0])
def test_the_foot_is_where_the_lengths_put_it(drawn: float) -> None:
    turn = pose_at(solve_turn(walking_leg(drawn)), np.radians(list(FEET)))
    assert turn.path("foot.F") == pytest.approx(np.array(list(FEET.values())), abs=5.1e-5)


def test_the_step_is_as_wide_high_and_flat_as_calculated() -> None:
    turn = solve_turn(walking_leg(), steps=3600)
    foot = turn.path("foot.F")
    assert turn.reached.all()
    assert np.ptp(foot, axis=0) == pytest.approx([67.908, 22.457], abs=6e-4)
    low = foot[:, 1].min()
    assert low == pytest.approx(-91.8339, abs=6e-5)
    for lift, span, length in ((1.0, 155.2, 57.47), (2.0, 187.6, 64.97)):
        near = foot[:, 1] <= low + lift
        assert near.mean() * 360 == pytest.approx(span, abs=0.15)
        assert np.ptp(foot[near, 0]) == pytest.approx(length, abs=0.06)


@pytest.mark.parametrize(("legs", "bob"), [(2, 1.737), (3, 0.318)])
def test_a_body_on_several_legs_bobs_as_calculated(legs: int, bob: float) -> None:
    height = solve_turn(walking_leg(), steps=3600).path("foot.F")[:, 1]
    lowest = np.min([np.roll(height, k * 3600 // legs) for k in range(legs)], axis=0)
    assert np.ptp(lowest) == pytest.approx(bob, abs=1.5e-3)
