"""The proved optimum of the linear programme against trying everything.

Source: brute force, a method that needs no theory: every choice on a fine grid, each evaluated
by itself (the weights by the whole effort of a whole turn). Nothing may be found below the
bound, and the optimum may not lie above the best of the grid.
"""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
import shapely
from msgspec.structs import replace
from scipy.optimize import differential_evolution, linprog
from weighted import four_bar

from core.effort import effort
from core.model import (
    Bar,
    Drive,
    Gravity,
    Mass,
    Part,
    Pin,
    Plate,
    Point,
    Sketch,
    Spring,
    TorsionSpring,
    Weight,
)
from core.motion import solve_turn
from core.pleasant import AIMS, Aim, Options, OwnMass, SpringRules, WeightRules, advise
from core.pleasant.programme import Offer, lower_bound, solve

ANGLES = np.linspace(0, 2 * np.pi, 72, endpoint=False)


def lanes(seed: int, count: int) -> np.ndarray:
    """Torque lanes as mechanisms have them: a few harmonics."""
    dice = np.random.default_rng(seed)
    waves = np.concatenate([[np.cos(k * ANGLES), np.sin(k * ANGLES)] for k in (1, 2, 3)])
    return dice.normal(size=(count, 6)) / [1, 1, 2, 2, 3, 3] @ waves


def judged(aim: Aim, torque: np.ndarray) -> np.ndarray:
    """The value to be made small, of torque (…, N); written out from its definition."""
    most, least = torque.max(axis=-1), torque.min(axis=-1)
    return (aim.peak * np.maximum(most, -least) + aim.ripple * (most - least)
            + aim.runaway * np.maximum(-least, 0))


@pytest.mark.parametrize("aim", AIMS.values(), ids=AIMS)
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_nothing_on_a_fine_grid_beats_the_linear_programme(aim: Aim, seed: int) -> None:
    base, one, two = lanes(seed, 3) * [[100], [40], [30]]
    offers = [Offer("one", one[None], np.array([1 / 3.0]), np.ones(1)),
              Offer("two", two[None], np.array([1 / 2.0]), np.ones(1))]
    best = solve(base, offers, aim, thrifty=False)
    a, b = np.linspace(0, 3, 301), np.linspace(0, 2, 201)
    grid = judged(aim, base + a[:, None, None] * one + b[None, :, None] * two)
    assert best.bound <= best.value + 1e-9 * abs(best.value)
    assert best.value <= grid.min() + 1e-9 * abs(best.value)
    assert best.bound <= grid.min() + 1e-9
    assert best.value - best.bound <= 1e-6 * max(judged(aim, base), 1.0)
    # The grid is fine: its best is near, by the most the value can change in half a step.
    slope = (aim.peak + 2 * aim.ripple + aim.runaway) * 0.01 * (
        np.abs(one).max() + np.abs(two).max()) / 2
    assert grid.min() - best.value <= slope
    at = [float(x[0]) for x in best.amounts]
    assert judged(aim, base + at[0] * one + at[1] * two) == pytest.approx(best.value)


@pytest.mark.parametrize("seed", [4, 5, 6])
def test_the_best_single_one_of_several_is_the_best_of_all_tried_alone(seed: int) -> None:
    base, *more = lanes(seed, 6) * 50
    offers = [Offer(str(k), lane[None], np.array([1.0]), np.ones(1))
              for k, lane in enumerate(more)]
    best = solve(base, offers, AIMS["peak"], most=1, thrifty=False)
    amounts = np.linspace(0, 1, 20001)[:, None]
    alone = [judged(AIMS["peak"], base + amounts * lane).min() for lane in more]
    assert best.value == pytest.approx(min(alone), abs=1e-2)
    assert best.value <= min(alone) + 1e-9
    assert best.bound <= min(alone) + 1e-3
    assert sum(float(x[0]) > 1e-9 for x in best.amounts) <= 1


@pytest.mark.parametrize("seed", [21, 22, 23])
def test_the_best_two_of_six_are_the_best_of_all_pairs(seed: int) -> None:
    """Every pair by a linear programme of its own, written out here."""
    base, *more = lanes(seed, 7) * 50
    offers = [Offer(str(k), lane[None], np.array([1.0]), np.ones(1))
              for k, lane in enumerate(more)]
    best = solve(base, offers, AIMS["peak"], most=2, thrifty=False)
    pairs = []
    for one, two in itertools.combinations(more, 2):
        both = np.column_stack([one, two])
        rows = np.block([[both, -np.ones((72, 1))], [-both, -np.ones((72, 1))]])
        found = linprog([0, 0, 1], rows, np.concatenate([-base, base]),
                        bounds=[(0, 1), (0, 1), (0, None)])
        pairs.append(found.fun)
    assert sum(float(x[0]) > 1e-9 for x in best.amounts) <= 2
    assert best.value == pytest.approx(min(pairs), rel=1e-3)
    assert best.bound <= min(pairs) * (1 + 1e-9)


@pytest.mark.parametrize("seed", [7])
def test_a_random_search_over_many_never_gets_below_the_bound(seed: int) -> None:
    """scipy's differential evolution, which knows nothing of linear programmes."""
    base, *more = lanes(seed, 7) * 50
    more = np.array(more)
    share = np.full(6, 0.5)
    bound = lower_bound(base, more, share, AIMS["peak"], 1.0)

    def value(x: np.ndarray) -> float:
        over = max(share @ x - 1.0, 0.0)
        return float(judged(AIMS["peak"], base + x @ more)) + 1e4 * over

    found = differential_evolution(value, [(0, 2)] * 6, seed=seed, maxiter=200, tol=1e-10,
                                   popsize=10)
    assert bound <= found.fun + 1e-6
    assert found.fun - bound <= 0.02 * judged(AIMS["peak"], base)


def tailed_rocker() -> Sketch:
    """A slow four-bar without friction; the rocker, 44 mm wide, goes on below its pivot."""
    made = four_bar(rpm=2.0, friction=(0.0, 0.0), springs=())
    q, b = made.place("rocker.Q"), made.place("rocker.B")
    end = q - 0.7 * (b - q)
    rocker = made.part("rocker")
    rocker = replace(rocker, points=(*rocker.points, Point(id="T", x=end.real, y=end.imag)),
                     outline=Bar(width_mm=44.0, through=("T", "B")))
    return replace(made, parts=tuple(rocker if p.id == "rocker" else p for p in made.parts))


PIECE = OwnMass("lump", 0.06, 14.0, 8.0)
#: What it adds: let into a sheet of birch plywood (680 kg/m³) 6 mm thick, less that wood.
NET_KG = 0.06 - math.pi / 4 * 14.0**2 * 6.0 * 680e-9
RULES = WeightRules(parts=("rocker",), most=1, reach_mm=0.0, sheets=(), rods=(), washers=(),
                    own=(PIECE,))


def tried(sketch: Sketch, step: float) -> dict[complex, float]:
    """Peak torque with the piece at every place of a grid that has room for it."""
    rocker = sketch.part("rocker")
    t, q, b = (sketch.place(f"rocker.{p}") for p in "TQB")
    wood = shapely.LineString([(t.real, t.imag), (b.real, b.imag)]).buffer(22.0)
    room = wood.buffer(-(PIECE.diameter_mm / 2 + RULES.margin_mm))
    bores = [shapely.Point(z.real, z.imag).buffer(3.0 + PIECE.diameter_mm / 2
                                                  + RULES.margin_mm) for z in (q, b)]
    x0, y0, x1, y1 = room.bounds
    found = {}
    for x in np.arange(x0, x1, step):
        for y in np.arange(y0, y1, step):
            spot = shapely.Point(x, y)
            if room.contains(spot) and not any(bore.contains(spot) for bore in bores):
                weight = Weight(mass_kg=NET_KG, x=float(x), y=float(y))
                parts = tuple(replace(rocker, weights=(weight,)) if p.id == "rocker" else p
                              for p in sketch.parts)
                turn = solve_turn(replace(sketch, parts=parts), steps=120)
                found[complex(x, y)] = float(np.abs(effort(turn).torque_nmm).max())
    return found


def test_no_place_for_a_counterweight_beats_the_proved_bound() -> None:
    sketch = tailed_rocker()
    advice = advise(sketch, Options(kinds=("weights",), weights=RULES))
    best = min(tried(sketch, 4.0).values())
    before = float(np.abs(effort(solve_turn(sketch)).torque_nmm).max())
    assert best < 0.95 * before  # there is something to be had
    proposal = advice.proposals[0]
    # The bound holds for any mass up to the piece's at any of the places.
    assert proposal.bound_nmm <= best + 1e-6
    # The proposal is about as good as the best place on the grid.
    assert proposal.after.peak_nmm <= best + 0.02 * (before - best)
    after = effort(solve_turn(proposal.sketch))
    assert float(np.abs(after.torque_nmm).max()) == pytest.approx(proposal.after.peak_nmm)
    weights = proposal.sketch.part("rocker").weights
    assert [w.mass_kg for w in weights] == pytest.approx([NET_KG], rel=1e-4)
    assert math.isfinite(proposal.bound_nmm)


def weighted_arm() -> Sketch:
    """A crank with half a kilogram 100 mm out, on a frame that reaches above its pivot."""
    return Sketch(
        parts=(Part(id="frame", fixed=True, layer=0, outline=Plate(margin_mm=20.0), points=(
            Point(id="O", x=0.0, y=0.0), Point(id="U", x=0.0, y=120.0))),
               Part(id="arm", layer=1, mass=Mass(mass_kg=0.5, x=100.0, y=0.0),
                    outline=Bar(width_mm=24.0), points=(
                   Point(id="O", x=0.0, y=0.0), Point(id="E", x=110.0, y=0.0)))),
        pins=(Pin(id="pivot", at=("frame.O", "arm.O")),),
        drive=Drive(pin="pivot", part="arm", rpm=1.0), friction=(0.0, 0.0),
        gravity=Gravity(g_m_s2=9.81))


def test_the_advisor_finds_the_spring_that_balances_an_arm_at_every_angle() -> None:
    """k = m g r / (a b) with no free length, anchor straight above the pivot: from memory."""
    rules = SpringRules(ideal=True, most_pull_n=60.0)
    advice = advise(weighted_arm(), Options(kinds=("springs",), springs=rules))
    proposal = advice.proposals[0]
    assert proposal.before.peak_nmm == pytest.approx(0.5 * 9.81 * 100.0, rel=1e-3)
    assert proposal.after.peak_nmm < 0.02 * proposal.before.peak_nmm
    spring = proposal.sketch.springs[0]
    on_arm, above = (proposal.sketch.place(ref) for ref in (spring.a, spring.b))
    assert abs(above.real) < 2.0
    assert spring.free_length_mm < 1.0
    assert spring.rate_n_per_mm == pytest.approx(
        0.5 * 9.81 * 100.0 / (abs(on_arm) * above.imag), rel=0.02)


def test_no_spring_drawn_at_random_is_better_than_the_one_proposed() -> None:
    """Anchors, rates and free lengths thrown by dice; each tried by the whole effort."""
    sketch = tailed_rocker()
    box = (60.0, -120.0, 240.0, 60.0)
    rules = SpringRules(parts=("rocker",), ideal=True, most_pull_n=20.0, box=box)
    advice = advise(sketch, Options(kinds=("springs",), springs=rules))
    proposal = advice.proposals[0]
    wood = shapely.LineString([(z.real, z.imag) for z in (
        sketch.place("rocker.T"), sketch.place("rocker.B"))]).buffer(18.0)
    dice, best, tries = np.random.default_rng(11), math.inf, 0
    x0, y0, x1, y1 = wood.bounds
    while tries < 300:
        a = complex(dice.uniform(x0, x1), dice.uniform(y0, y1))
        if not wood.contains(shapely.Point(a.real, a.imag)):
            continue
        b = complex(dice.uniform(box[0], box[2]), dice.uniform(box[1], box[3]))
        rate = float(np.exp(dice.uniform(math.log(0.003), math.log(0.3))))
        parts = tuple(replace(p, points=(*p.points, Point(id="S1", x=z.real, y=z.imag)))
                      if p.id == name else p for name, z in (("rocker", a),)
                      for p in sketch.parts)
        parts = tuple(replace(p, points=(*p.points, Point(id="S1", x=b.real, y=b.imag)))
                      if p.id == "frame" else p for p in parts)
        spring = Spring(id="s", a="rocker.S1", b="frame.S1", rate_n_per_mm=rate,
                        free_length_mm=float(dice.uniform(0, 60)))
        turn = solve_turn(replace(sketch, parts=parts, springs=(spring,)), steps=60)
        best = min(best, float(np.abs(effort(turn).torque_nmm).max()))
        tries += 1
    before = proposal.before.peak_nmm
    assert best < 0.97 * before
    assert proposal.after.peak_nmm <= best + 0.01 * before


def test_no_torsion_spring_of_a_grid_is_better_than_the_one_proposed() -> None:
    """Rates and free angles at the pins that swing, each tried by the whole effort. A coil is
    only ever wound up, never unwound past its free angle (common practice)."""
    sketch = tailed_rocker()
    advice = advise(sketch, Options(kinds=("torsion",), springs=SpringRules(most=1)))
    proposal = advice.proposals[0]
    whole, best = solve_turn(sketch), math.inf
    for pin, a, b in (("q", "frame", "rocker"), ("b", "coupler", "rocker")):
        swing = np.degrees(whole.angle_rad[:, whole.row(b)] - whole.angle_rad[:, whole.row(a)])
        for wound in np.linspace(0.0, 180.0, 10):
            for free in (swing.min() - wound, swing.max() + wound):
                for rate in np.geomspace(0.2, 10.0, 12):
                    spring = TorsionSpring(id="t", pin=pin, a=a, b=b, free_deg=float(free),
                                           rate_nmm_per_deg=float(rate))
                    turn = solve_turn(replace(sketch, torsion_springs=(spring,)), steps=48)
                    best = min(best, float(np.abs(effort(turn).torque_nmm).max()))
    before = proposal.before.peak_nmm
    assert best < 0.95 * before
    assert proposal.bound_nmm <= best + 0.01 * before  # its peak between the steps is higher
    assert proposal.bound_nmm <= proposal.after.peak_nmm + 1e-6
    assert proposal.after.peak_nmm <= best + 0.02 * before
