"""Residuals of every kind of wish: exact derivatives, everything free eliminated."""

from __future__ import annotations

import numpy as np
import pytest
from closed_four_bar import NORTON, dense, joints, seen, settled

from core.model import (
    Knot,
    Tick,
    WantedAngle,
    WantedDwell,
    WantedPath,
    WantedPose,
    WantedRatio,
    WantedStroke,
    WantedSwing,
)
from core.model.wanted import WantedMotion
from core.wanted.goals import Goals, goals

#: Another four-bar, whose motion is wished for.
OTHER = np.array([103, 38, 118, 83, 63, 46, 0.13, 3, -1.0])


def wished() -> dict[str, tuple[WantedMotion, ...]]:
    """Wishes of every kind, none of which the first four-bar meets."""
    crank = np.linspace(0, 2 * np.pi, 12, endpoint=False)
    x, y, qx, qy = joints(OTHER, crank)
    through = tuple(zip(x.tolist(), y.tolist(), strict=True))
    angle = np.degrees(np.unwrap(np.arctan2(qy, qx) + OTHER[6]))
    knots = tuple(Knot(crank_deg=30.0 * k, angle_deg=float(a)) for k, a in enumerate(angle))
    ticks = (Tick(at=1, crank_deg=35), Tick(at=4.5, crank_deg=130), Tick(at=8, crank_deg=250))
    loop = WantedPath(id="loop", through=through)
    angles = WantedAngle(id="angle", knots=knots)
    swing = WantedSwing(id="swing", from_deg=10, to_deg=80)
    way = WantedRatio(id="way", ratio=1.5, point="a.b")

    def poses(at: str, turn: float) -> tuple[WantedMotion, ...]:
        return tuple(WantedPose(
            id=str(k), crank_deg=30 * k, x=through[k][0], y=through[k][1],
            angle_deg=knots[k].angle_deg + turn, at=at, toward=at and "a.c")
            for k in (0, 3, 5))

    return {
        "closed curve": (loop,),
        "polyline": (WantedPath(id="w", through=through, curve="straight"),),
        "places": (WantedPath(id="w", through=through, curve="places"),),
        "open curve": (WantedPath(id="w", through=through[:6], closed=False),),
        "curve with ticks": (WantedPath(id="w", through=through, ticks=ticks),),
        "curve with one tick": (WantedPath(id="w", through=through, ticks=ticks[:1]),),
        "open curve with ticks": (WantedPath(id="w", through=through[:7], closed=False,
                                             ticks=ticks[:2]),),
        "places in time": (WantedPath(id="w", through=through, curve="places", ticks=tuple(
            Tick(at=k, crank_deg=30 * k) for k in range(12))),),
        "angle": (angles,),
        "angle of a line": (WantedAngle(id="w", knots=knots, part="a", line=("a.b", "a.c")),),
        "angle for a while": (WantedAngle(id="w", knots=knots[2:6], closed=False),),
        "angle at knots": (WantedAngle(id="w", knots=knots[2:6], curve="places"),),
        "poses": poses("a.b", 0.0),
        "poses of nothing yet": poses("", 77.0),
        "swing": (swing,),
        "swing of a line": (WantedSwing(id="w", from_deg=50, to_deg=130, part="a",
                                        line=("a.b", "a.c")),),
        "stroke": (WantedStroke(id="w", start=(50, 40), end=(70, 90)),),
        "dwell of a part": (WantedDwell(id="w", from_deg=300, to_deg=20, part="a"),),
        "dwell of a point": (WantedDwell(id="w", from_deg=30, to_deg=80, point="a.b"),),
        "time ratio of a part": (WantedRatio(id="w", ratio=1.5, part="a"),),
        "time ratio of a point": (way,),
        "many at once": (loop, angles, swing, way),
    }


WISHES = wished()


@pytest.mark.parametrize("name", WISHES)
def test_the_gradient_is_that_of_the_error_with_all_free_things_at_their_best(
        name: str) -> None:
    """Central differences of the sum of squares, instants and offset found anew for every
    difference. By the envelope theorem its gradient is 2 Jᵀr whatever was eliminated."""
    compiled = goals(WISHES[name])
    instants = settled(NORTON, compiled, compiled.match(dense(NORTON, compiled)))
    r, jacobian = compiled.residuals(instants, seen(NORTON, compiled, instants))
    assert jacobian is not None
    assert r.shape == (1, compiled.rows)
    assert jacobian.shape == (1, compiled.rows, 9)
    gradient = 2 * jacobian[0].T @ r[0]
    differences = np.empty(9)
    for k in range(9):
        step = 1e-6 if k == 6 else 1e-5 * max(1.0, abs(NORTON[k]))
        sums = []
        for sign in (1, -1):
            p = NORTON.copy()
            p[k] += sign * step
            near = settled(p, compiled, instants, 6)
            sums.append((compiled.residuals(near, seen(p, compiled, near, False))[0]**2).sum())
        differences[k] = (sums[0] - sums[1]) / (2 * step)
    # Strays change from one place of the curve's fine polyline to the next.
    bound = 1e-4 if name in ("closed curve", "many at once") else 2e-5
    np.testing.assert_allclose(gradient, differences, rtol=0,
                               atol=bound * abs(differences).max())


def full(compiled: Goals, p: np.ndarray) -> tuple[np.ndarray, np.ndarray, int]:
    """Rows and Jacobian with every free instant, the offset and the constants as unknowns
    after the nine of the mechanism, for places without and angles with timing."""
    instants = settled(p, compiled, compiled.match(dense(p, compiled)), 1)
    look = seen(p, compiled, instants)
    value, slope, deriv = look.value[0], look.slope[0], look.deriv
    assert deriv is not None
    error = value - compiled.target
    rows, columns = [], []
    free = np.flatnonzero(compiled.free)
    for k in range(compiled.samples):
        mine = np.flatnonzero(compiled.row_sample == k)
        scale = compiled.row_scale[mine[0]]
        ways = (1.0, 1j) if compiled.free[k] else compiled.row_way[mine]
        for way in ways:
            own = np.zeros(free.size + 2)
            if compiled.free[k]:
                own[np.searchsorted(free, k)] = (np.conj(way) * slope[k]).real
            else:
                own[-2] = (np.conj(way) * slope[k]).real
                own[-1] = float(compiled.row_group[mine[0]] >= 0)
            rows.append((np.conj(way) * error[k]).real * scale)
            columns.append(scale * np.concatenate([(np.conj(way) * deriv[0, k]).real, own]))
    return np.array(rows), np.array(columns), free.size


@pytest.mark.parametrize("name", ["places", "angle", "places in time", "angle at knots"])
def test_a_gauss_newton_step_is_that_of_the_whole_problem(name: str) -> None:
    """Variable projection: after Golub & Pereyra, SIAM J. Numer. Anal. 10 (1973), and
    Kaufman, BIT 15 (1975), eliminating linear unknowns leaves the step of the others."""
    compiled = goals(WISHES[name])
    instants = settled(NORTON, compiled, compiled.match(dense(NORTON, compiled)), 1)
    assert not instants.blocked.any()
    r, jacobian = compiled.residuals(instants, seen(NORTON, compiled, instants))
    assert jacobian is not None
    rows, columns, _ = full(compiled, NORTON)
    # A little damping of the mechanism alone makes the step unique in both.
    damping = 1e-3 * np.eye(9)
    wide = np.vstack([columns, np.hstack([damping, np.zeros((9, columns.shape[1] - 9))])])
    whole = np.linalg.lstsq(wide, -np.append(rows, np.zeros(9)), rcond=None)[0][:9]
    short = np.linalg.lstsq(np.vstack([jacobian[0], damping]),
                            -np.append(r[0], np.zeros(9)), rcond=None)[0]
    np.testing.assert_allclose(short, whole, rtol=1e-6, atol=1e-9 * abs(whole).max())


def rows_of(compiled: Goals, p: np.ndarray) -> tuple[np.ndarray, np.ndarray, float]:
    """Rows, Jacobian and error of a four-bar."""
    instants = settled(p, compiled, compiled.match(dense(p, compiled)), 3)
    r, jacobian = compiled.residuals(instants, seen(p, compiled, instants))
    assert jacobian is not None
    return r[0], jacobian[0], float(compiled.error(r)[0])


@pytest.mark.parametrize("name", ["closed curve", "polyline", "places", "open curve",
                                  "places in time", "angle", "angle of a line"])
def test_descent_comes_as_near_as_the_mechanism_whose_motion_was_wished(name: str) -> None:
    compiled = goals(WISHES[name])
    p, damping = NORTON, 1e-2
    r, jacobian, start = rows_of(compiled, p)
    best = start
    for _ in range(60):
        stacked = np.vstack([jacobian, damping * np.eye(9)])
        tried = p + np.linalg.lstsq(stacked, -np.append(r, np.zeros(9)), rcond=None)[0]
        rows = rows_of(compiled, tried)
        if rows[2] < best:
            p, (r, jacobian, best), damping = tried, rows, damping / 4
        else:
            damping *= 5
    assert best <= rows_of(compiled, OTHER)[2] + 1e-3
    assert best < start / 5


def test_what_is_free_does_not_change_the_error() -> None:
    """Another zero of the crank and of the part's angle make no difference."""
    (wish,) = WISHES["angle"]
    assert isinstance(wish, WantedAngle)
    late = WantedAngle(id="late", knots=tuple(
        Knot(crank_deg=knot.crank_deg + 100, angle_deg=knot.angle_deg - 50)
        for knot in wish.knots))
    errors = []
    for one in (wish, late):
        compiled = goals([one])
        instants = settled(NORTON, compiled, compiled.match(dense(NORTON, compiled)))
        r, _ = compiled.residuals(instants, seen(NORTON, compiled, instants))
        errors.append(float(compiled.error(r)[0]))
    assert errors[0] == pytest.approx(errors[1], rel=1e-9)
    fixed = goals([wish], start_free=False)
    instants = fixed.match(dense(NORTON, fixed))
    assert instants.offset_rad[0] == 0.0
    r, _ = fixed.residuals(instants, seen(NORTON, fixed, instants))
    assert fixed.error(r)[0] > errors[0]


def test_many_mechanisms_at_once_are_each_as_alone() -> None:
    compiled = goals(WISHES["many at once"])
    crowd = [NORTON + k * np.array([1, -0.5, 2, 1, 3, -2, 0.01, 1, 1]) for k in range(5)]
    alone = [dense(p, compiled) for p in crowd]
    whole = type(alone[0])(
        alone[0].crank_rad, tuple(np.concatenate([one.values[c] for one in alone])
                                  for c in range(len(alone[0].values))),
        np.concatenate([one.reached for one in alone]), alone[0].cycle_rad)
    together = compiled.match(whole, exact=True)
    for k, one in enumerate(alone):
        single = compiled.match(one)
        np.testing.assert_allclose(together.crank_rad[k], single.crank_rad[0], atol=1e-12)
        assert together.offset_rad[k] == pytest.approx(single.offset_rad[0], abs=1e-12)
