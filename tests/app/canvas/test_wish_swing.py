"""The picture of a wanted swing."""

from __future__ import annotations

import numpy as np
import pytest
from mousework import four_bar_sketch

from app.canvas.camera import Camera
from app.canvas.paint_swings import swing_arc
from app.canvas.wish_hits import wishes_under
from core.model import Sketch, WantedSwing
from core.model.edits import add, change
from core.wanted import starts


@pytest.fixture
def swinging(canvas) -> Sketch:
    session = canvas.session
    session.adopt_file(four_bar_sketch(), None)
    wish = starts.swing_now(session.turn, "rocker", "swing")
    session.commit("Want its swing", add(session.committed, "wanted", wish))
    canvas.set_camera(Camera(4.0, 0j, 1000.0, 700.0))
    return session.committed


def test_the_arc_is_where_the_end_of_the_part_goes_at_every_crank_angle(canvas, swinging):
    session = canvas.session
    (wish,) = swinging.wanted
    path = session.turn.place("rocker", swinging.place(wish.line[1]))
    for crank in (0.0, 2.0, 4.0):
        session.set_crank(crank)
        centre, arc = swing_arc(canvas.frame(), wish)
        assert centre == pytest.approx(50 + 0j)
        ends = sorted((arc[0], arc[-1]), key=lambda z: z.real)
        assert ends[0] == pytest.approx(path[path.real.argmin()], abs=0.6)  # whole degrees
        assert ends[1] == pytest.approx(path[path.real.argmax()], abs=0.6)  # whole degrees
        assert np.abs(arc - centre) == pytest.approx(abs(arc[0] - centre))


def test_a_click_on_the_arc_selects_the_swing(hand, canvas, swinging):
    _, arc = swing_arc(canvas.frame(), swinging.wanted[0])
    assert wishes_under(canvas.frame(), complex(arc[len(arc) // 2])) == [("wish", "swing")]
    assert not wishes_under(canvas.frame(), complex(arc[0]) - 5j)
    session = canvas.session
    session.set_crank(3.0)  # the rocker stands elsewhere
    hand.click(complex(arc[0]) + 0.3)
    assert session.selection == {("wish", "swing")}
    canvas.grab()  # painted with both ends


def test_a_swing_of_no_direction_has_no_arc(canvas, swinging):
    bare = change(swinging, "wanted", "swing", line=())
    loose = WantedSwing(id="loose", from_deg=0, to_deg=30)
    assert swing_arc(canvas.frame(), bare.wanted[0]) is None
    assert swing_arc(canvas.frame(), loose) is None
