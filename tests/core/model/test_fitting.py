"""Which points a fit may move: with all that is pinned to them."""

from __future__ import annotations

import pytest

from core.errors import EditError
from core.model import Sketch, edits
from core.model.edits import fitting
from tests.linkages import four_bar


@pytest.fixture
def sketch() -> Sketch:
    return four_bar(100, 30, 80, 90, 40, point=30 + 20j)


def test_at_first_every_point_may_move(sketch: Sketch) -> None:
    assert all(fitting.may_move(sketch, ref) for ref in sketch.places())


def test_a_locked_point_holds_what_is_pinned_to_it(sketch: Sketch) -> None:
    held = edits.change_point(sketch, "coupler.B", locked=True)
    assert not fitting.may_move(held, "rocker.B")
    with pytest.raises(EditError, match="locked"):
        fitting.let_move(held, "rocker.B", True)


def test_a_point_taken_out_takes_its_pinned_ones_along(sketch: Sketch) -> None:
    without = fitting.let_move(sketch, "frame.O", False)
    assert not fitting.may_move(without, "crank.O")
    assert fitting.may_move(without, "coupler.P")
    assert fitting.let_move(without, "crank.O", True).fit.free == ()


def test_something_is_always_left_to_move(sketch: Sketch) -> None:
    for ref in ("crank.A", "coupler.P", "frame.O", "frame.Q"):
        sketch = fitting.let_move(sketch, ref, False)
    assert fitting.may_move(sketch, "rocker.B")
    with pytest.raises(EditError, match="something to move"):
        fitting.let_move(sketch, "rocker.B", False)
