"""A body carried through poses: two-link chains in closed form, and found and fitted.

Source: the three-position example of R. L. Norton, *Design of Machinery*, ch. 5. Its inputs
and the length 6.832 are from memory (of three possible signs the one that gives this length
was taken); the other figures were calculated from the inputs independently of this program.
"""

from __future__ import annotations

import cmath
import math

import numpy as np
import pytest
from linkages import bent, four_bar, linkage
from msgspec.structs import replace

from core.model import FitRules, Point, Sketch, WantedPose
from core.motion import flip, pose_at, solve_turn
from core.wanted.dyads import dyad
from core.wanted.find import find
from core.wanted.fit import fit


def polar(size: float, angle_deg: float) -> complex:
    return cmath.rect(size, math.radians(angle_deg))


#: Where the body's point is and how the body has turned in the three poses.
PLACES = (0j, polar(2.798, -31.19), polar(3.919, -16.34))
TURNED = (0.0, -45.0, 9.3)
#: How far the two links turn, chosen freely in the example.
LEFT, RIGHT = (0.0, 342.3, 324.8), (0.0, 30.9, 80.6)


def textbook() -> tuple[complex, complex, complex, complex]:
    """The two links and the vectors from their pins to the body's point, first pose."""
    w, z = dyad(PLACES, np.radians(TURNED), np.radians([LEFT, RIGHT]))
    return complex(w[0]), complex(z[0]), complex(w[1]), complex(z[1])


def test_two_links_through_three_poses_are_as_calculated() -> None:
    w, z, u, s = textbook()
    for vector, size, angle in ((w, 6.832, 89.541), (z, 1.5077, 38.551),
                                (u, 3.1997, -145.217), (s, 1.4908, 94.185),
                                (z - s, 1.3993, -23.018), (w + z - s - u, 9.0298, 63.914)):
        assert abs(vector) == pytest.approx(size, abs=6e-4 if size == 6.832 else 6e-5)
        assert math.degrees(cmath.phase(vector)) == pytest.approx(angle, abs=6e-4)


def carried(w: complex, z: complex, u: complex, s: complex) -> Sketch:
    """The four-bar of two such chains, drawn in the first pose; T lies along the body."""
    o, a, b, q = -z - w, -z, -s, -s - u
    return linkage(
        {"frame": {"O": o, "Q": q}, "crank": {"O": o, "A": a},
         "coupler": {"A": a, "B": b, "P": 0j, "T": 2 + 0j}, "rocker": {"B": b, "Q": q}},
        ["frame.O crank.O", "crank.A coupler.A", "coupler.B rocker.B", "rocker.Q frame.Q"])


def missed(sketch: Sketch, places: tuple[complex, ...], crank_deg: tuple[float, ...],
           turned_deg: tuple[float, ...]) -> list[float]:
    """How far P and (per unit of length) the direction to T are off in each pose."""
    turn = pose_at(solve_turn(sketch), np.radians(crank_deg))
    p, t = (turn.path(f"coupler.{name}") @ np.array([1, 1j]) for name in "PT")
    line = (t - p) / abs(sketch.place("coupler.T") - sketch.place("coupler.P"))
    return [float(max(abs(here - place), abs(way - polar(1, angle))))
            for here, place, way, angle in zip(p, places, line, turned_deg, strict=True)]


def test_each_pose_is_met_in_one_of_the_two_ways_to_put_the_links_together() -> None:
    """Synthesis in closed form does not see which way that is; a turning crank does."""
    sketch = carried(*textbook())
    ways = [missed(way, PLACES, LEFT, TURNED) for way in (sketch, flip(sketch, ["coupler"]))]
    assert max(min(each) for each in zip(*np.nan_to_num(ways, nan=9.0), strict=True)) < 1e-9


#: The textbook's poses, 20 mm to its unit, at even angles of a crank that goes all round.
SPREAD, READINGS = tuple(each * 20 for each in PLACES), (0.0, 90.0, 180.0)


def wishes(at: str = "", toward: str = "") -> tuple[WantedPose, ...]:
    return tuple(
        WantedPose(id=f"pose {k}", crank_deg=reading, x=place.real, y=place.imag,
                   angle_deg=angle, at=at, toward=toward)
        for k, (reading, place, angle) in enumerate(zip(READINGS, SPREAD, TURNED, strict=True)))


def carried_by(sketch: Sketch) -> float:
    """The farthest any wished pose of a sketch is missed by a crank that goes all round: mm,
    and mm at 100 mm along the direction."""
    turn = solve_turn(sketch)
    assert turn.reached.all()
    assert not turn.limits
    pose = pose_at(turn, np.radians(READINGS))
    wish = sketch.wanted[0]
    assert isinstance(wish, WantedPose)
    p, t = (pose.path(ref) @ np.array([1, 1j]) for ref in (wish.at, wish.toward))
    ways = np.exp(1j * np.radians(TURNED))
    return float(max(np.abs(p - SPREAD).max(),
                     100 * np.abs((t - p) / np.abs(t - p) - ways).max()))


def test_find_carries_a_body_through_the_three_poses_all_round() -> None:
    found = find(Sketch(wanted=wishes()), families=("four-bar",), top=4)
    best = found.proposals[0]
    assert carried_by(best.sketch) < 1e-5
    assert best.transmission_deg > 39.9


def test_a_fit_brings_bent_links_back_to_the_three_poses() -> None:
    sketch = find(Sketch(wanted=wishes()), families=("four-bar",), top=1).proposals[0].sketch
    start = bent(sketch, 3.0, 2)
    assert carried_by(start) > 1.0
    assert carried_by(fit(start, seed=0).sketch) < 1e-5


def cold(seed: int) -> Sketch:
    """A four-bar drawn by lot, its P and the direction from P to T wished."""
    rng = np.random.default_rng(seed)
    sketch = four_bar(*rng.uniform((100, 20, 80, 80), (140, 40, 120, 120)), 30.0,
                      point=complex(*rng.uniform(20, 80, 2)))
    end = sketch.place("coupler.P") + 30
    parts = tuple(
        replace(part, points=(*part.points, Point(id="T", x=end.real, y=end.imag)))
        if part.id == "coupler" else part for part in sketch.parts)
    return replace(sketch, parts=parts, wanted=wishes("coupler.P", "coupler.T"),
                   fit=FitRules(transmission_deg=0.0))


def test_a_cold_four_bar_is_fitted_through_the_three_poses() -> None:
    start = cold(0)
    assert carried_by(start) > 20.0
    assert carried_by(fit(start, seed=0).sketch) < 1e-9
