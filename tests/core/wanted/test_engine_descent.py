"""Descent: it falls, keeps limits, finds mechanisms again, and never lets one lock."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from numpy.typing import NDArray

from core.model import FitRules, Knot, Tick, WantedAngle, WantedPath, WantedPose, Zone
from core.wanted.engine import Descent, Limits, Mechanisms, descend, moved, run, watch
from core.wanted.engine.limits import Hinges, strays
from core.wanted.families import FAMILIES, Family
from core.wanted.goals import goals

FOUR_BAR = FAMILIES["four-bar"]
EASY = Limits(transmission_deg=0.0)


def some(family: Family, count: int, seed: int, size: float = 30.0) -> Mechanisms:
    rng = np.random.default_rng(seed)
    return moved(family.recipe, family.sample(rng, count), size, 3 + 4j)


def shaken(made: Mechanisms, share: float, count: int = 10) -> Mechanisms:
    """Copies of one mechanism, every number of them changed at random by about a share."""
    noise = np.random.default_rng(2).normal(size=(count, made.params.shape[1]))
    return Mechanisms(made.params * (1 + share * noise), np.repeat(made.signs, count, axis=0))


def path_of(family: Family, made: Mechanisms, count: int, timed: bool) -> WantedPath:
    """The path one mechanism really draws, as places, if wanted with their crank angles."""
    crank = np.linspace(0, 2 * np.pi * family.recipe.turns, count, endpoint=False)
    at = run(family.recipe, made, crank, derive=False).point(family.tracer)[0]
    ticks = tuple(Tick(at=k, crank_deg=float(np.degrees(crank[k]))) for k in range(count))
    return WantedPath(id="p", through=tuple((z.real, z.imag) for z in at), curve="places",
                      closed=False, ticks=ticks if timed else (), tolerance_mm=0.1)


def descended(family: Family, start: Mechanisms, wish: WantedPath,
              limits: Limits = EASY, **how: int) -> Descent:
    aims = goals([wish])
    return descend(family.recipe, start, aims, family.views(aims)[0], limits, **how)


@pytest.mark.parametrize("name", ["four-bar", "slider-crank", "slotted-lever",
                                  "quick-return-slide", "geared-five-bar--2",
                                  "six-bar-coupler-frame-strut", "panel-chain-crank"])
@pytest.mark.parametrize("timed", [True, False])
def test_a_shaken_mechanism_finds_its_path_again(name: str, timed: bool) -> None:
    family = FAMILIES[name]
    made = some(family, 1, seed=4)
    wish = path_of(family, made, 24, timed)
    start = shaken(made, 0.02)
    found = descended(family, start, wish, rounds=30)
    size = np.ptp(np.array(wish.through), axis=0).max()
    best = found.order()[0]
    assert found.good[best]
    assert found.error[best] * wish.tolerance_mm < 1e-4 * size


def test_same_starts_give_the_same_and_errors_fall() -> None:
    wish = path_of(FOUR_BAR, some(FOUR_BAR, 1, seed=9), 18, timed=True)
    start = some(FOUR_BAR, 40, seed=10)
    errors: list[NDArray[np.float64]] = []

    def note(now: Descent) -> bool:
        errors.append(now.error)
        return True

    aims = goals([wish])
    view = FOUR_BAR.views(aims)[0]
    first = descend(FOUR_BAR.recipe, start, aims, view, EASY, report=note)
    again = descend(FOUR_BAR.recipe, start, aims, view, EASY)
    medians = [float(np.median(each)) for each in errors[3:]]
    assert medians == sorted(medians, reverse=True)
    assert np.array_equal(first.mechanisms.params, again.mechanisms.params)
    assert np.array_equal(first.error, again.error)


def test_a_report_of_false_stops_with_what_is_reached_so_far() -> None:
    wish = path_of(FOUR_BAR, some(FOUR_BAR, 1, seed=9), 18, timed=True)
    calls: list[Descent] = []

    def stop(now: Descent) -> bool:
        calls.append(now)
        return len(calls) < 2

    aims = goals([wish])
    found = descend(FOUR_BAR.recipe, some(FOUR_BAR, 40, seed=10), aims,
                    FOUR_BAR.views(aims)[0], EASY, report=stop)
    assert len(calls) == 2
    assert np.median(found.error) < np.median(calls[0].error)


def test_what_comes_out_goes_round_and_its_error_is_that_of_a_fresh_look() -> None:
    wish = path_of(FOUR_BAR, some(FOUR_BAR, 1, seed=21), 30, timed=False)
    found = descended(FOUR_BAR, some(FOUR_BAR, 60, seed=22), wish)
    looked = watch(FOUR_BAR.recipe, found.mechanisms, (("point", "tip"),), steps=720)
    assert found.good.mean() > 0.5
    assert looked.dense.reached[found.good].all()
    aims = goals([wish])
    again = descend(FOUR_BAR.recipe, found.mechanisms[found.order()[:20]], aims,
                    (("point", "tip"),), EASY, rounds=1, steps=0)
    assert again.error == pytest.approx(found.error[found.order()[:20]], rel=0.02)


def test_starts_that_lock_rest_where_they_are() -> None:
    start = some(FOUR_BAR, 3, seed=1)
    row = FOUR_BAR.recipe.row
    start.params[1, row["coupler"]] = start.params[1, row["rocker"]] = 1.0
    wish = path_of(FOUR_BAR, some(FOUR_BAR, 1, seed=9), 18, timed=True)
    found = descended(FOUR_BAR, start, wish)
    assert found.good.tolist() == [True, False, True]
    assert np.array_equal(found.mechanisms.params[1], start.params[1])
    assert np.isinf(found.error[1])


def test_a_wanted_transmission_angle_is_heeded() -> None:
    wish = path_of(FOUR_BAR, some(FOUR_BAR, 1, seed=30), 18, timed=True)
    start = some(FOUR_BAR, 60, seed=31)
    free = descended(FOUR_BAR, start, wish, EASY)
    heeding = descended(FOUR_BAR, start, wish, Limits(transmission_deg=40.0))
    assert np.median(heeding.transmission_deg) > np.median(free.transmission_deg) + 5


def test_bounds_on_lengths_and_zones_of_pivots_are_kept() -> None:
    wish = path_of(FOUR_BAR, some(FOUR_BAR, 1, seed=40), 18, timed=True)
    box = Zone(id="box", corners=((-40.0, -40.0), (40.0, -40.0), (40.0, 40.0), (-40.0, 40.0)))
    place = Zone(id="place", corners=((5.0, -7.0),))
    limits = Limits(0.0, shortest_mm=20.0, longest_mm=70.0, zones=(box, place))
    found = descended(FOUR_BAR, some(FOUR_BAR, 80, seed=41), wish, limits, rounds=30)
    params = found.mechanisms.params[found.good]
    assert len(params) > 10
    row = FOUR_BAR.recipe.row
    lengths = params[:, [row[name] for name in ("crank", "coupler", "rocker")]]
    pivots = [params[:, row[f"{name}.x"]] + 1j * params[:, row[f"{name}.y"]]
              for name in ("shaft", "pivot")]
    lengths = np.column_stack([lengths, np.abs(pivots[1] - pivots[0])])
    assert lengths.min() > 19.9
    assert lengths.max() < 70.1
    assert np.abs(pivots[0] - (5 - 7j)).max() < 0.1
    assert max(np.abs(pivots[1].real).max(), np.abs(pivots[1].imag).max()) < 40.1


def test_angles_and_poses_descend_too() -> None:
    chain = FAMILIES["panel-chain-crank"]
    made = some(chain, 1, seed=3)
    crank = np.radians(np.arange(0, 360, 20.0))
    done = run(chain.recipe, made, crank, derive=False)
    wishes = []
    for name in ("root panel", "tip panel"):
        at = np.degrees(np.unwrap(done.angle(name)[0]))
        knots = tuple(Knot(crank_deg=20.0 * k, angle_deg=float(at[k])) for k in range(18))
        wishes.append(WantedAngle(id=name, knots=knots, curve="places", closed=False))
    aims = goals(wishes)
    assert chain.views(aims)[0] == (("angle", "root panel"), ("angle", "tip panel"))
    start = shaken(made, 0.01)
    found = descend(chain.recipe, start, aims, chain.views(aims)[0], EASY, rounds=30)
    assert found.error.min() < 1e-3

    four = some(FOUR_BAR, 1, seed=6)
    at = run(FOUR_BAR.recipe, four, crank[:3], derive=False)
    poses = [WantedPose(id=f"pose {k}", crank_deg=20.0 * k, x=at.point("tip")[0, k].real,
                        y=at.point("tip")[0, k].imag,
                        angle_deg=float(np.degrees(at.angle("coupler")[0, k])) + 33)
             for k in range(3)]
    aims = goals(poses)
    start = shaken(four, 0.02)
    found = descend(FOUR_BAR.recipe, start, aims, FOUR_BAR.views(aims)[0], EASY, rounds=30)
    assert found.error.min() < 1e-6


@pytest.mark.parametrize("keep", ["in", "out"])
def test_the_way_from_a_zone_is_that_of_shapely(keep: str) -> None:
    corners = ((0.0, 0.0), (10.0, 0.0), (12.0, 9.0), (4.0, 4.0), (-3.0, 8.0))
    zone = Zone(id="z", corners=corners, keep="out" if keep == "out" else "in")
    shape = shapely.Polygon(corners)
    rng = np.random.default_rng(0)
    at = rng.uniform(-8, 16, 300) + 1j * rng.uniform(-6, 14, 300)
    off, _, active = strays(zone, at)
    for place, way, out in zip(at, off, active, strict=True):
        point = shapely.Point(place.real, place.imag)
        wrong = shape.contains(point) == (keep == "out")
        assert out == wrong
        assert abs(way) == pytest.approx(shape.exterior.distance(point) if wrong else 0.0)


def test_derivatives_of_hinges_are_those_of_differences() -> None:
    """With lengths too long, too short, pivots off a line and out of a region, and dyads
    flatter than wanted."""
    family = FAMILIES["six-bar-coupler-frame-strut"]
    made = some(family, 20, seed=8)
    zones = (Zone(id="line", corners=((0.0, 0.0), (50.0, 10.0))),
             Zone(id="box", corners=((0.0, 0.0), (30.0, 0.0), (10.0, 30.0))))
    hinges = Hinges(family.recipe, Limits(60.0, 31.0, 60.0, zones), made)
    extremes = watch(family.recipe, made, ()).extremes
    rows = np.arange(20)
    value, by, whole = hinges.residuals(made, run(family.recipe, made, extremes), rows)
    assert whole.all()
    assert by is not None
    assert (value != 0).any(axis=0).mean() > 0.7
    for row in range(len(family.parameters)):
        ends = []
        for way in (1e-6, -1e-6):
            params = made.params.copy()
            params[:, row] += way
            other = Mechanisms(params, made.signs)
            there = run(family.recipe, other, extremes, derive=False)
            ends.append(hinges.residuals(other, there, rows)[0])
        met = (ends[0] - ends[1]) / 2e-6
        assert np.allclose(met, by[:, :, row], rtol=1e-4, atol=1e-4)


def test_thinning_spares_the_promising_starts() -> None:
    wish = path_of(FOUR_BAR, some(FOUR_BAR, 1, seed=50), 18, timed=True)
    start = some(FOUR_BAR, 120, seed=51)
    every = descended(FOUR_BAR, start, wish)
    fewer = descended(FOUR_BAR, start, wish, thin_after=3, fewest=20)
    assert len(fewer.mechanisms) == len(every.mechanisms) == 120
    assert fewer.error.min() <= 1.01 * every.error.min() + 1e-6
    assert (fewer.error > every.error * 1.01).any()


def test_no_mechanisms_are_no_trouble() -> None:
    wish = path_of(FOUR_BAR, some(FOUR_BAR, 1, seed=50), 18, timed=True)
    found = descended(FOUR_BAR, some(FOUR_BAR, 2, seed=1)[:0], wish)
    assert len(found.mechanisms) == 0
    assert found.order().size == 0


def test_a_region_without_corners_holds_nothing() -> None:
    """A file that was damaged may have one."""
    assert Limits.of(FitRules(), (Zone(id="none", corners=()),)).zones == ()
