"""Wishes that ask something of something that is there, and those that do not."""

from __future__ import annotations

import pytest
from linkages import rod_four_bar

from core.errors import SketchError
from core.model import WantedAngle, WantedDwell, WantedPath, WantedPose
from core.model.wanted import Knot, WantedMotion
from core.motion import solve_turn
from core.wanted.attached import attached
from core.wanted.fit import fit
from core.wanted.measure import measure

SOUND = (
    WantedPath(id="path", point="rod.P", through=((60, 90), (70, 95))),
    WantedAngle(id="angle", part="rod", knots=(Knot(crank_deg=0, angle_deg=0),)),
    WantedPose(id="pose", at="rod.P", toward="rod.A", crank_deg=0, x=60, y=90, angle_deg=0),
    WantedDwell(id="rest", part="rocker", from_deg=0, to_deg=40),
)
EMPTY = (
    WantedPath(id="of nothing", through=((60, 90), (70, 95))),
    WantedPath(id="of a point that is gone", point="rod.Z", through=((60, 90), (70, 95))),
    WantedPath(id="without places", point="rod.P", through=()),
    WantedAngle(id="without knots", part="rod", knots=()),
    WantedAngle(id="along a line that is gone", part="rod", line=("rod.A", "rod.Z"),
                knots=(Knot(crank_deg=0, angle_deg=0),)),
    WantedPose(id="of one point", at="rod.P", crank_deg=0, x=60, y=90, angle_deg=0),
    WantedDwell(id="of a part that is gone", part="lever", from_deg=0, to_deg=40),
)


def test_wishes_of_things_there_count_in_their_order() -> None:
    mixed = (SOUND[0], *EMPTY, *SOUND[1:])
    sketch = rod_four_bar(20 + 15j, wanted=mixed)
    assert attached(sketch) == SOUND
    assert [met.wish for met in measure(solve_turn(sketch))] == [one.id for one in SOUND]


@pytest.mark.parametrize("wish", EMPTY, ids=lambda wish: wish.id)
def test_a_wish_that_asks_nothing_is_nothing_to_fit_to(wish: WantedMotion) -> None:
    with pytest.raises(SketchError, match="nothing is wanted"):
        fit(rod_four_bar(20 + 15j, wanted=(wish,)), starts=0)
