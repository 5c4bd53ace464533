"""Shapes that no mechanism drew, from their outline alone.

The shapes are our own (tests/shapes.py); no linkage draws any of them exactly. What is
checked against something outside is the measuring: distances from scipy's periodic cubic
spline through the places, and back, must be those the proposals state.
"""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline
from shapes import DRAWN, wish

from core.model import Sketch, WantedPath
from core.motion import solve_turn
from core.wanted.find import find

Places = NDArray[np.complex128]


def outline(name: str) -> Places:
    """2000 places of the periodic cubic spline over chord length through a shape."""
    places = np.append(DRAWN[name], DRAWN[name][0])
    at = np.concatenate([[0.0], np.cumsum(np.abs(np.diff(places)))])
    spline = CubicSpline(at, np.column_stack([places.real, places.imag]), bc_type="periodic")
    both = spline(np.linspace(0, at[-1], 2000, endpoint=False))
    return np.asarray(both @ np.array([1, 1j]))


def made(sketch: Sketch) -> Places:
    """The path of the point that the sketch's wish is attached to; the crank goes round."""
    wished = sketch.wanted[0]
    assert isinstance(wished, WantedPath)
    turn = solve_turn(sketch, steps=2000)
    assert turn.reached.all()
    assert not turn.limits
    return np.asarray(turn.path(wished.point) @ np.array([1, 1j]))


def farthest(path: Places, shape: Places) -> float:
    """The farthest any place of either lies from the other."""
    apart = np.abs(path[:, None] - shape)
    return float(max(apart.min(axis=0).max(), apart.min(axis=1).max()))


@pytest.mark.parametrize(("name", "family", "most_mm"), [
    ("bean", "four-bar", 1.5), ("figure eight", "geared-five-bar--1to2", 0.8)])
def test_a_drawn_shape_is_met_as_nearly_as_is_said(
    name: str, family: str, most_mm: float
) -> None:
    found = find(Sketch(wanted=(wish(name),)), seed=0, top=6, families=(family,))
    shape = outline(name)
    assert found.proposals
    off = [farthest(made(each.sketch), shape) for each in found.proposals]
    assert min(off) < most_mm
    for each, distance in zip(found.proposals, off, strict=True):
        # Measured at samples, and in order along the path: it can be somewhat less than
        # the farthest place between them, and more where order costs something.
        assert each.worst_mm > 0.7 * distance
        assert each.worst_mm < 1.6 * distance
