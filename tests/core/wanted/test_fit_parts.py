"""The pieces of a fit: what may move, what must hold, one constrained step, exact slopes."""

from __future__ import annotations

import numpy as np
import pytest
import weighted
from linkages import eight_bar, four_bar, parallelogram, slider_crank, walking_leg
from msgspec.structs import replace
from scipy.optimize import minimize

from core.model import (
    FitRules,
    LengthRule,
    Part,
    Point,
    Polygon,
    Sketch,
    Tick,
    WantedAngle,
    WantedDwell,
    WantedPath,
    WantedRatio,
    WantedStroke,
    WantedSwing,
    Zone,
)
from core.model.edits import mirror
from core.model.wanted import Knot
from core.motion import pose_at, solve_turn, spare_misfits
from core.wanted.fit import batch
from core.wanted.fit.beginnings import others
from core.wanted.fit.freedom import freedom
from core.wanted.fit.holds import outside
from core.wanted.fit.looking import Task, task
from core.wanted.fit.step import restore, step

EASY = FitRules(transmission_deg=0.0)

#: Wishes of a four-bar's tracer that say where it is to be, and that do not.
POINT_WISHES = {
    "stroke": WantedStroke(id="w", point="coupler.P", start=(0, 60), end=(100, 60)),
    "rest": WantedDwell(id="w", point="coupler.P", from_deg=0, to_deg=60),
    "time ratio": WantedRatio(id="w", point="coupler.P", ratio=2.0),
}


def asked(sketch: Sketch, ref: str = "coupler.P", **more: object) -> Sketch:
    """Four places near the path, a quarter turn apart: nothing of them is matched, which
    `goals` are tested for by themselves."""
    ticks = tuple(Tick(at=float(k), crank_deg=90.0 * k) for k in range(4))
    through = tuple((float(x) + 2 + k, float(y) - k) for k, (x, y) in enumerate(
        solve_turn(sketch, 8).path(ref)[::2]))
    wish = WantedPath(id="loop", point=ref, through=through, curve="places", ticks=ticks)
    return replace(sketch, wanted=(wish,), **({"fit": EASY} | more))


def bar(**more: object) -> Sketch:
    return asked(four_bar(100, 40, 120, 80, 40, point=60 + 50j), **more)


def change_part(sketch: Sketch, name: str, **fields: object) -> Sketch:
    return replace(sketch, parts=tuple(
        replace(part, **fields) if part.id == name else part for part in sketch.parts))


def locked(sketch: Sketch, *refs: str) -> Sketch:
    return replace(sketch, parts=tuple(replace(part, points=tuple(
        replace(point, locked=point.locked or f"{part.id}.{point.id}" in refs)
        for point in part.points)) for part in sketch.parts))


def work(sketch: Sketch) -> Task:
    return task(sketch, sketch.wanted)


def test_locked_points_stay_and_pinned_points_move_together() -> None:
    free = freedom(locked(bar(), "frame.O"))
    assert free.count == 8
    place = free.drawn(np.arange(8.0)).places()
    assert place["frame.O"] == place["crank.O"] == 0
    assert place["crank.A"] == place["coupler.A"] != bar().place("crank.A")


def test_only_named_points_move() -> None:
    free = freedom(bar(), ["coupler.P", "rocker.Q"])
    moved = free.drawn(np.ones(free.count)).places()
    old = bar().places()
    assert {ref for ref in old if moved[ref] != old[ref]} == {
        "coupler.P", "rocker.Q", "frame.Q"}


def test_mirror_twins_stay_mirrored_whatever_moves() -> None:
    sketch, _ = mirror(bar(), ["coupler", "rocker"], 0.0, 0.0, 90.0)
    free = freedom(sketch)
    w = np.random.default_rng(0).normal(size=free.count) * 5
    (twin,) = sketch.twins
    new = free.finished(w)
    for one, other in twin.parts:
        for a, b in zip(new.part(one).points, new.part(other).points, strict=True):
            assert b.place == pytest.approx(-a.place.conjugate(), abs=1e-9)
    assert free.count < freedom(replace(sketch, twins=())).count


def test_points_nothing_speaks_of_and_cut_outlines_go_along_with_their_part() -> None:
    sketch = bar()
    corners = ((0.0, -5.0), (30.0, 30.0), (25.0, 35.0))
    crank = sketch.part("crank")
    sketch = change_part(sketch, "crank", outline=Polygon(outer=corners), points=(
        *crank.points, Point(id="knob", x=5.0, y=60.0)))
    free = freedom(sketch)
    w = np.zeros(free.count)
    node = free.net.of["crank.A"]
    w[:] = (free.velocities[node] * (3 - 7j)).real  # any move will do
    new = free.finished(w).part("crank")
    was, now = (np.array([part.point(name).place for name in "OA"])
                for part in (sketch.part("crank"), new))
    turn = (now[1] - now[0]) / (was[1] - was[0])
    carried = now[0] + turn * (complex(5, 60) - was[0])
    assert new.point("knob").place == pytest.approx(carried, abs=1e-9)
    assert isinstance(new.outline, Polygon)
    assert complex(*new.outline.outer[1]) == pytest.approx(
        now[0] + turn * (30 + 30j - was[0]), abs=1e-9)


def test_a_rigid_move_of_a_part_keeps_its_shape() -> None:
    sketch = bar()
    free = freedom(sketch)
    w = np.array([(np.conj(v.sum()) * (3 + 4j)).real / len(v) for v in free.velocities.T])
    old, new = sketch.part("coupler"), free.finished(np.zeros(free.count)).part("coupler")
    assert old == new
    assert np.isfinite(free.places(w)).all()


@pytest.mark.parametrize("seed", range(8))
def test_a_step_is_the_best_that_keeps_all_constraints(seed: int) -> None:
    """Against a general solver, scipy's SLSQP."""
    rng = np.random.default_rng(seed)
    r, jacobian = rng.normal(size=9) * 3, rng.normal(size=(9, 6))
    c, equal = rng.normal(size=2), rng.normal(size=(2, 6))
    g, below = rng.normal(size=5) - 1.5, rng.normal(size=(5, 6))
    found = step(r, jacobian, 0.3, (c, equal, g, below))
    assert found is not None
    best = minimize(lambda p: 0.5 * np.sum((jacobian @ p + r) ** 2) + 0.15 * p @ p, np.zeros(6),
                    jac=lambda p: jacobian.T @ (jacobian @ p + r) + 0.3 * p,
                    constraints=[{"type": "eq", "fun": lambda p: equal @ p + c},
                                 {"type": "ineq", "fun": lambda p: -(below @ p + g)}],
                    method="SLSQP", options={"ftol": 1e-15, "maxiter": 500})
    assert np.abs(found.p - best.x).max() < 1e-5
    assert np.abs(equal @ found.p + c).max() < 1e-12
    assert (below @ found.p + g).max() < 1e-12
    pull = (jacobian.T @ (jacobian @ found.p + r) + 0.3 * found.p
            + below.T @ found.multipliers)
    off = pull - equal.T @ np.linalg.lstsq(equal.T, pull, rcond=None)[0]
    assert np.abs(off).max() < 1e-9
    assert (found.multipliers >= 0).all()
    assert np.abs(found.multipliers * (below @ found.p + g)).max() < 1e-9


def test_contradicting_inequalities_have_no_step() -> None:
    sides = np.array([[1.0, 0.0], [-1.0, 0.0]])
    none = np.zeros((0, 2))
    assert step(np.ones(2), np.eye(2), 0.1, (np.zeros(0), none, np.ones(2), sides)) is None


HELD = {
    "locked lengths": lambda: change_part(bar(), "coupler", lengths_locked=True),
    "a slide": lambda: asked(slider_crank(40, 120, 20, 30, travel=200.0), "rod.B"),
    "a slotted lever": lambda: asked(weighted.slotted_lever(), "lever.F"),
    "equal lengths": lambda: bar(length_rules=(LengthRule(
        id="eq", equal=True, ends=("coupler.A", "coupler.B", "rocker.B", "rocker.Q")),)),
    "bounds": lambda: bar(fit=replace(EASY, shortest_mm=45.0, longest_mm=90.0)),
    "a board": lambda: bar(zones=(Zone(id="z", corners=((-20, -20), (60, -20), (60, 30),
                                                        (-20, 30))),)),
    "a line": lambda: bar(zones=(Zone(id="z", corners=((-5, 4), (90, 44))),)),
    "a place": lambda: bar(zones=(Zone(id="z", corners=((7, 8),), points=("frame.O",)),)),
    "a keep-out": lambda: bar(zones=(Zone(id="z", keep="out", corners=(
        (-30, -30), (20, -40), (10, 30))),)),
    "a dent": lambda: bar(zones=(Zone(id="z", corners=((-80, -50), (200, -50), (200, 60),
                                                       (60, -20), (-80, 60))),)),
    "a third link": lambda: asked(parallelogram(40, third=True), "coupler.C"),
}


@pytest.mark.parametrize("kind", HELD)
def test_what_must_hold_holds_after_any_move(kind: str) -> None:
    own = work(HELD[kind]())
    rng, met = np.random.default_rng(3), 0
    for _ in range(8):
        w = own.restored(rng.normal(size=own.freedom.count) * 0.05 * own.freedom.size_mm)
        if w is None:
            continue
        c, _, g, _ = own.held(w)
        met += 1
        assert np.abs(c).max(initial=0.0) <= 1e-9
        assert g.max(initial=0.0) <= 1e-9
    assert met >= 5


@pytest.mark.parametrize("kind", [kind for kind in HELD if kind != "a third link"])
def test_slopes_of_what_must_hold_agree_with_differences(kind: str) -> None:
    own = work(HELD[kind]())
    start = own.restored(np.zeros(own.freedom.count))
    rng = np.random.default_rng(4)
    w = (np.zeros(own.freedom.count) if start is None else start)
    w = w + rng.normal(size=len(w))
    by, way = 1e-5, rng.normal(size=len(w))
    _, equal, _, below = own.held(w)
    more, less = own.held(w + by * way), own.held(w - by * way)
    assert np.allclose(equal @ way, (more[0] - less[0]) / (2 * by), atol=2e-4)
    assert np.allclose(below @ way, (more[2] - less[2]) / (2 * by), atol=1e-5)


def test_restoring_from_afar_ends_on_the_constraints_or_says_none() -> None:
    def circle(w: np.ndarray) -> tuple[np.ndarray, ...]:
        far = np.hypot(*w)
        none = np.zeros((0, 2))
        return np.array([far - 2.0]), (w / far)[None], np.zeros(0), none

    assert restore(np.array([30.0, 40.0]), circle, 1.0) == pytest.approx([1.2, 1.6], abs=1e-12)

    def never(w: np.ndarray) -> tuple[np.ndarray, ...]:
        none = np.zeros((0, 2))
        return np.array([1.0 + w @ w]), 2 * w[None], np.zeros(0), none

    assert restore(np.array([1.0, 1.0]), never, 1.0) is None


def test_distance_to_a_polygon_is_signed_and_grows_outward() -> None:
    square = np.array([0, 4, 4 + 4j, 4j])
    for corners in (square, square[::-1]):
        far, way = outside(corners, np.array([2 + 1j, 2 - 1j, 7 + 8j, 4 + 2j]))
        assert far == pytest.approx([-1.0, 1.0, 5.0, 0.0])
        assert way == pytest.approx([-1j, -1j, 0.6 + 0.8j, 1.0])


MOVING = {
    "four-bar": lambda: bar(fit=FitRules(transmission_deg=60.0)),
    "walking leg": lambda: asked(walking_leg(30), "foot.F", fit=FitRules()),
    "slider-crank": lambda: asked(slider_crank(40, 120, 20, 30, travel=200.0), "rod.B",
                                  fit=FitRules(transmission_deg=80.0)),
    "geared pair": lambda: asked(weighted.geared_pair(), "rod.P", fit=FitRules()),
    "eight-bar": lambda: asked(eight_bar(5), "plate.W", fit=FitRules()),
    "angles, zero of the crank kept": lambda: replace(bar(), fit=FitRules(start_free=False),
                                                      wanted=(WantedAngle(
        id="swing", part="rocker", line=("rocker.Q", "rocker.B"), knots=(
            Knot(crank_deg=0, angle_deg=80), Knot(crank_deg=120, angle_deg=120))),)),
    "a point kept in": lambda: bar(zones=(Zone(id="z", points=("coupler.P",), corners=(
        (-40, 0), (80, 0), (80, 118), (-40, 90))),)),
    "a point kept on a line": lambda: bar(zones=(Zone(
        id="z", points=("coupler.P",), corners=((-40, 80), (80, 100))),)),
}


@pytest.mark.parametrize("kind", MOVING)
def test_slopes_of_errors_and_penalties_agree_with_differences(kind: str) -> None:
    """The gradient of all that is made small; what is eliminated must not show in it."""
    own = work(MOVING[kind]())
    here = own.look(np.zeros(own.freedom.count))
    assert here is not None
    jacobian, penalty, over = own.slopes(here)
    rng = np.random.default_rng(1)
    for _ in range(3):
        way = rng.normal(size=own.freedom.count)
        start = own.restored(1e-3 * way)
        assert start is not None
        way = start / np.linalg.norm(start)
        by = 1e-4
        ends = [own.look(w) for w in (by * way, -by * way)]
        assert all(end is not None for end in ends)
        more, less = ends
        wanted = (more.missed - less.missed) / (2 * by)
        assert 2 * here.r @ (jacobian @ way) == pytest.approx(
            wanted, rel=2e-3, abs=1e-3 * np.sqrt(here.missed))
        wanted = (more.penalty.value @ more.penalty.value
                  - less.penalty.value @ less.penalty.value) / (2 * by)
        size = here.penalty.value @ here.penalty.value
        assert 2 * here.penalty.value @ (penalty @ way) == pytest.approx(
            wanted, rel=5e-3, abs=1e-4 * (1 + size))
        if len(here.penalty.over) == len(more.penalty.over) == len(less.penalty.over):
            assert over @ way == pytest.approx(
                (more.penalty.over - less.penalty.over) / (2 * by), rel=2e-3, abs=1e-3)


def test_a_third_link_that_fits_has_no_misfit() -> None:
    sketch = parallelogram(40, third=True)
    turn = solve_turn(sketch, 12)
    move = dict.fromkeys(("frame.R", "third.R"), 1 + 0j)
    value, slope = spare_misfits(turn, [dict(sketch.places()), move])
    assert np.abs(value).max() < 1e-9
    assert np.abs(slope[:, 0]).max() < 1e-7
    assert np.abs(slope[:, 1]).max() > 0.1


def test_misfits_of_spare_joints_change_as_differences_say() -> None:
    sketch, by = parallelogram(40, third=True), 1e-6
    rng = np.random.default_rng(6)
    free = freedom(sketch)
    way = rng.normal(size=free.count)
    at = np.radians([30.0, 35.0, 48.0])  # near the drawn pose, where nothing touches
    now, ahead, behind = (pose_at(solve_turn(free.drawn(step), 12), at)
                          for step in (0 * way, by * way, -by * way))
    slope = spare_misfits(now, free.moves)[1] @ way
    wanted = (spare_misfits(ahead, [])[0] - spare_misfits(behind, [])[0]) / (2 * by)
    # The drawn pose, a sample of its own, is left out of what is asked for.
    assert np.allclose(slope, wanted, atol=1e-5)


def test_the_crank_keeps_its_zero_where_that_is_asked() -> None:
    own = work(replace(bar(), fit=FitRules(start_free=False, transmission_deg=0.0)))
    rng = np.random.default_rng(2)
    w = rng.normal(size=own.freedom.count) * 3
    new = own.freedom.drawn(w)
    for sketch in (own.sketch, new):
        arm = sketch.place("crank.A") - sketch.place("crank.O")
        assert np.degrees(np.angle(arm)) == pytest.approx(sketch.drive.drawn_deg, abs=1e-9)
    by = 1e-6 * rng.normal(size=len(w))
    rise = own.freedom.turned(w + by) - own.freedom.turned(w - by)
    assert own.freedom.turned_slope(w) @ (2 * by) == pytest.approx(rise, rel=1e-6)


def test_parts_without_points_do_no_harm() -> None:
    sketch = bar()
    sketch = replace(sketch, parts=(*sketch.parts, Part(
        id="cloud", outline=Polygon(outer=((0.0, 0.0), (5.0, 0.0), (0.0, 5.0))))))
    free = freedom(sketch)
    assert free.finished(np.ones(free.count)).part("cloud") == sketch.part("cloud")


@pytest.mark.parametrize("kind", POINT_WISHES)
def test_whatever_is_wished_of_its_tracer_a_plain_four_bar_has_random_starts(
        kind: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(batch, "TIMED", ((32, 6), (16, 12)))
    monkeypatch.setattr(batch, "FREE", ((64, 6), (16, 20)))
    monkeypatch.setattr(batch, "BATCHES", 1)
    sketch = four_bar(100, 40, 120, 80, 40, point=60 + 50j)
    own = task(replace(sketch, wanted=(POINT_WISHES[kind],), fit=EASY), (POINT_WISHES[kind],))
    begun = own.look(np.zeros(own.freedom.count))
    best = next(batch.seeds(own, np.random.default_rng(1), 4, lambda: True))
    assert begun is not None
    assert best.missed < 0.2 * begun.missed


def test_a_sketch_that_locks_is_begun_with_a_shorter_crank() -> None:
    sketch = locked(four_bar(74, 87, 99, 117, 30, point=60 + 50j), "frame.O", "frame.Q")
    wish = WantedSwing(id="w", part="rocker", from_deg=0, to_deg=50)
    own = task(replace(sketch, wanted=(wish,), fit=EASY), (wish,))
    assert own.look(np.zeros(own.freedom.count)) is None
    first = next(others(own, None, np.random.default_rng(0)))
    short = own.freedom.drawn(first.w)
    assert abs(short.place("crank.A") - short.place("crank.O")) < 0.71 * 87
    assert short.place("rocker.B") == pytest.approx(sketch.place("rocker.B"))
