"""Grain of a part's own stays with the part, however it is moved, turned or stretched."""

from __future__ import annotations

import cmath
import math

import numpy as np
import pytest
from linkages import linkage

from core.model import Part, Polygon, Sketch, edits
from core.motion import solve_turn
from core.motion.redimension import drag_parts, drag_point, rebase

GRAIN = 25.0  # degrees to the left of its line A to B


def grained(**more) -> Sketch:
    made = linkage({"frame": {"O": 0j, "Q": 100 + 0j}, "crank": {"O": 0j, "A": 30j},
                    "coupler": {"A": 30j, "B": 90 + 80j}, "rocker": {"B": 90 + 80j,
                                                                     "Q": 100 + 0j}},
                   ["frame.O crank.O", "crank.A coupler.A", "coupler.B rocker.B",
                    "frame.Q rocker.Q"])
    line = math.degrees(cmath.phase(90 + 50j))
    return edits.change(made, "parts", "coupler", grain_deg=line + GRAIN, **more)


def to_line(part: Part) -> float:
    """Angle from the line A to B to the grain, degrees."""
    a, b = (part.point(name).place for name in "AB")
    return math.degrees(math.remainder(math.radians(part.grain_deg) - cmath.phase(b - a),
                                       math.pi))


def test_a_dragged_end_takes_the_grain_along() -> None:
    sketch = grained()
    for x, y in ((100, 60), (60, 110), (120, 90)):
        assert to_line(drag_point(sketch, "coupler.B", x, y).part("coupler")) == (
            pytest.approx(GRAIN, abs=1e-9))


def test_a_shifted_part_keeps_its_grain() -> None:
    moved = drag_parts(grained(), ["coupler"], 7, -9)
    assert to_line(moved.part("coupler")) == pytest.approx(GRAIN, abs=1e-9)


def test_a_pose_drawn_anew_turns_it() -> None:
    turn = solve_turn(grained())
    for crank in np.linspace(0.3, 6.0, 7):
        assert to_line(rebase(turn, float(crank)).part("coupler")) == (
            pytest.approx(GRAIN, abs=1e-6))


def test_a_mirrored_copy_has_mirrored_grain() -> None:
    made, (name,) = edits.mirror(grained(), ("coupler",), 0.0, 0.0, 90.0, twin=False)
    assert to_line(made.part(name)) == pytest.approx(-GRAIN, abs=1e-9)


def test_a_free_outline_stays_where_it_is_drawn_and_its_grain_too() -> None:
    sketch = grained(outline=Polygon(outer=((0, 20), (100, 70), (90, 90), (-5, 40))))
    before = sketch.part("coupler").grain_deg
    assert drag_point(sketch, "coupler.B", 100, 60).part("coupler").grain_deg == before


def test_a_part_without_grain_of_its_own_gets_none() -> None:
    sketch = edits.change(grained(), "parts", "coupler", grain_deg=None)
    for part in drag_point(sketch, "coupler.B", 100, 60).parts:
        assert part.grain_deg is None
