"""The lane of a path's error over the turn is the distance from the curve, without jumps
where matched pieces meet."""

from __future__ import annotations

import numpy as np
import pytest
from linkages import four_bar
from msgspec.structs import replace

from core.model import WantedPath
from core.motion import solve_turn
from core.wanted.curves import curve_of
from core.wanted.measure import measure

BAR = four_bar(100, 40, 120, 80, 40, point=60 + 50j)


@pytest.mark.parametrize(("scale", "shift"), [(1.0, 3 + 4j), (1.1, 0j), (0.9, 2 - 5j)])
def test_the_lane_is_the_distance_from_the_curve(scale: float, shift: complex) -> None:
    path = solve_turn(BAR, 24).path("coupler.P") @ np.array([1, 1j])
    path = path.mean() + scale * (path - path.mean()) + shift
    wish = WantedPath(id="path", point="coupler.P",
                      through=tuple((float(at.real), float(at.imag)) for at in path))
    turn = solve_turn(replace(BAR, wanted=(wish,)), 720)
    lane = measure(turn)[0].lane
    assert lane is not None
    curve = curve_of(wish)
    fine = curve.place(np.linspace(0.0, curve.last, 20_000))
    plain = np.abs(fine - (turn.path("coupler.P") @ np.array([1, 1j]))[:, None]).min(axis=1)
    assert lane == pytest.approx(plain, abs=0.02)
