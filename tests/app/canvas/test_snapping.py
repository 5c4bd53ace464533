"""What the cursor means."""

from __future__ import annotations

import cmath
import math

import pytest
from mousework import part
from PySide6.QtCore import QPointF

from app.canvas.paint_paper import grid_step_mm
from app.gestures.base import At
from app.gestures.snapping import snap
from app.gestures.twinning import with_partners
from core.model import Sketch
from core.model.edits import mirror


@pytest.fixture
def meant(canvas, session, four_bar):
    """Snap at a place of the four-bar's canvas (4 pixels a mm)."""
    def meant(place: complex, **more):
        keys = {name: more.pop(name) for name in ("shift", "alt", "ctrl") if name in more}
        return snap(canvas.frame(), At(QPointF(), place, **keys), **more)
    return meant


def test_a_point_near_by_is_met_exactly(meant):
    found = meant(-10.9 + 60.8j)
    assert found.place == pytest.approx(-10 + 60j, abs=1e-9)
    assert found.ref == "coupler.C"


def test_the_grid_is_met_where_no_point_is(meant):
    found = meant(81.2 - 33.9j)
    assert found.place == 80 - 35j
    assert found.ref == ""


def test_level_and_plumb_with_points_come_before_the_grid(meant, session):
    session.commit("Move", Sketch(parts=(part("odd", 3.3 + 7.7j, 40 + 40j),)))
    found = meant(4.1 - 60j)
    assert found.place.real == 3.3
    assert found.guides == ((3.3 + 7.7j, 3.3 - 60j),)


def test_equal_lengths_are_met(meant):
    anchor = 0.7 - 60.3j
    length = abs((30 + 50j) - (50 + 0j))
    place = anchor + cmath.rect(length + 0.4, 0.4)
    found = meant(place, anchor=anchor)
    assert abs(found.place - anchor) == pytest.approx(length)
    assert found.label == "as long as rocker"


def test_shift_keeps_to_fifteen_degrees(meant):
    anchor = 1 + 2j
    found = meant(anchor + cmath.rect(37.0, math.radians(49)), anchor=anchor, shift=True)
    assert cmath.phase(found.place - anchor) == pytest.approx(math.radians(45))
    assert found.label == "45°"


def test_alt_and_control_free_from_everything(meant):
    assert meant(-10.1 + 60.1j, alt=True).place == -10.1 + 60.1j
    assert meant(-10.1 + 60.1j, ctrl=True).place == -10.1 + 60.1j


def test_points_left_out_are_not_met(meant):
    assert meant(-10.1 + 60.1j, leave_out=frozenset(("coupler.C",))).ref == ""


def test_with_snap_off_only_points_are_met(meant, session):
    session.look.set_shown("snap", False)
    assert meant(81.2 - 33.9j).place == 81.2 - 33.9j
    assert meant(-10.1 + 60.1j).ref == "coupler.C"


def test_hidden_parts_are_not_met(meant, session):
    session.look.set_hidden("coupler", True)
    assert meant(-10.1 + 60.1j).ref == ""


@pytest.mark.parametrize(("scale", "step"), [(10, 5), (2, 5), (1, 10), (0.5, 25), (0.2, 50)])
def test_the_grid_never_gets_finer_than_the_eye(scale, step):
    assert grid_step_mm(5.0, scale) == step
    assert grid_step_mm(5.0, scale) * scale >= 9.0


def test_what_moves_in_the_mirror_is_not_met(canvas, session, four_bar):
    sketch, images = mirror(four_bar, ("crank", "coupler", "rocker"), 120, 0, 90.0)
    session.commit("Mirror", sketch)
    image = next(name for name in images if name.startswith("coupler"))
    partners = with_partners(canvas.frame(), frozenset(("coupler.B", "rocker.B")))
    rocker = next(name for name in images if name.startswith("rocker"))
    assert partners == {"coupler.B", "rocker.B", f"{image}.B", f"{rocker}.B"}
