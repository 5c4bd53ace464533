"""Families: random ones go round, their sketches are complete and draw the same, and are
recognised again."""

from __future__ import annotations

from collections import Counter
from math import degrees

import numpy as np
import pytest
import shapely
from linkages import eight_bar, four_bar, slider_crank, walking_leg
from msgspec.structs import replace
from recognised import read

from core.model import (
    Knot,
    Sketch,
    WantedAngle,
    WantedDwell,
    WantedPath,
    WantedPose,
    WantedRatio,
    WantedStroke,
    WantedSwing,
    part_of,
)
from core.model.validate import problems
from core.model.wanted import WantedMotion
from core.motion import solve_turn
from core.space import gaps
from core.wanted.engine import Mechanisms, moved, run, watch
from core.wanted.families import FAMILIES, Family
from core.wanted.families.stacking import apart, distance, stacked
from core.wanted.goals import goals
from core.wanted.measure import measure

FAMILY = pytest.mark.parametrize("name", list(FAMILIES))
FOUR_BAR = FAMILIES["four-bar"]
READABLE = [name for name in FAMILIES if "geared" not in name and "slotted" not in name
            and "return" not in name]


def some(name: str, count: int, seed: int = 3) -> Mechanisms:
    rng = np.random.default_rng([seed, *name.encode()])
    recipe = FAMILIES[name].recipe
    turn = rng.uniform(10, 60, count) * np.exp(1j * rng.uniform(-3, 3, count))
    return moved(recipe, FAMILIES[name].sample(rng, count), turn, 100 - 30j)


def tip(family: Family, sketch: Sketch) -> str:
    """The reference of the tracer."""
    return f"{family.carrier}.{family.tracer}"


@FAMILY
def test_random_ones_go_round_with_good_transmission(name: str) -> None:
    family = FAMILIES[name]
    made = family.sample(np.random.default_rng(0), 200)
    assert made.params.shape == (200, len(family.parameters))
    looked = watch(family.recipe, made, (("point", family.tracer),), steps=360)
    assert looked.dense.reached.all()
    assert looked.steepest.max(initial=0) <= np.cos(np.radians(19.5))
    shape = looked.dense.values[0] - looked.dense.values[0].mean(axis=1, keepdims=True)
    assert np.ptp(np.abs(shape), axis=1).min() > 0
    again = family.sample(np.random.default_rng(0), 200)
    assert np.array_equal(made.params, again.params)


def test_random_four_bars_are_crank_rockers_and_double_cranks_of_both_signs() -> None:
    made = FOUR_BAR.sample(np.random.default_rng(0), 500)
    row = FOUR_BAR.recipe.row
    ground = np.hypot(made.params[:, row["pivot.x"]], made.params[:, row["pivot.y"]])
    double = ground < made.params[:, row["crank"]]
    assert 0.05 < double.mean() < 0.5
    assert 0.4 < (made.signs[:, 0] > 0).mean() < 0.6


@FAMILY
def test_a_sketch_is_sound_and_draws_the_same_path(name: str) -> None:
    family, made = FAMILIES[name], some(name, 4)
    for k, offset in enumerate((0.0, 0.7, -1.2, 5.0)):
        sketch = family.sketch(made[k], offset_rad=offset, rpm=-15.0 if k == 1 else 20.0)
        assert problems(sketch) == []
        turn = solve_turn(sketch, steps=240)
        assert turn.reached.all()
        assert not turn.limits
        assert turn.crank_turns in (1, family.recipe.turns)
        done = run(family.recipe, made[k], turn.crank_rad + offset, derive=False)
        path = turn.path(tip(family, sketch)) @ np.array([1, 1j])
        assert np.abs(path - done.point(family.tracer)[0]).max() < 1e-9 * 100
        for body in family.swinging:
            made_angle = np.exp(1j * done.angle(body)[0])
            drift = np.unwrap(np.angle(made_angle)) - turn.angle_rad[:, turn.row(body)]
            assert np.ptp(np.exp(1j * drift).real) < 1e-9


@FAMILY
def test_a_sketch_is_complete(name: str) -> None:
    family = FAMILIES[name]
    sketch = family.sketch(some(name, 1))
    layers = {part.id: part.layer for part in sketch.parts}
    for pin in sketch.pins:
        assert max(Counter(layers[part_of(ref)] for ref in pin.at).values()) == 1, pin.id
    for slot in sketch.slots:
        assert layers[part_of(slot.point)] != layers[part_of(slot.slot[0])]
    assert [ref for ref in sketch.places() if sketch.point(ref).trace] == [
        tip(family, sketch)]
    assert all(part.outline is not None for part in sketch.parts)
    assert sketch.drive is not None
    assert sketch.part("crank").id == sketch.drive.part
    assert set(family.swinging) <= set(layers)


@pytest.mark.parametrize("name", [name for name in FAMILIES if "geared" in name])
def test_gears_have_the_wanted_ratio_and_reach_from_shaft_to_shaft(name: str) -> None:
    sketch = FAMILIES[name].sketch(some(name, 1))
    for mesh in sketch.meshes:
        wheels = [sketch.part(part_of(ref)) for ref in (mesh.a, mesh.b)]
        radii = [wheel.outline.radius_mm for wheel in wheels]  # type: ignore[union-attr]
        apart = abs(sketch.place(mesh.a) - sketch.place(mesh.b))
        assert sum(radii) == pytest.approx(apart)
        assert radii[0] * mesh.teeth_b == pytest.approx(radii[1] * mesh.teeth_a)
        assert min(mesh.teeth_a, mesh.teeth_b) >= 12
    turn = solve_turn(sketch, steps=60)
    ratio = FAMILIES[name].recipe.steps[3].ratio  # type: ignore[union-attr]
    turned = np.ptp(turn.angle_rad[:, turn.row("second crank")]) / np.ptp(turn.crank_rad)
    assert turned == pytest.approx(abs(float(ratio)))


@pytest.mark.parametrize("name", READABLE)
def test_a_family_is_recognised_in_its_own_sketch(name: str) -> None:
    family, made = FAMILIES[name], some(name, 3)
    for k in range(3):
        sketch = family.sketch(made[k], offset_rad=0.4)
        found = read(family, sketch, tip(family, sketch))
        assert found is not None
        at = np.linspace(0, 6, 20)
        drawn = run(family.recipe, made[k], at, derive=False).point(family.tracer)
        again = run(family.recipe, found.mechanism, at, derive=False).point(family.tracer)
        assert np.allclose(drawn, again, atol=1e-9)
        assert np.exp(1j * found.offset_rad) == pytest.approx(np.exp(0.4j))
        assert found.bodies[family.carrier] == family.carrier


def test_a_four_bar_is_read_as_drawn() -> None:
    sketch = four_bar(100, 40, 120, 80, 50, left=False, point=60 + 50j)
    found = read(FOUR_BAR, sketch, "coupler.P")
    assert found is not None
    assert found.mechanism.params[0] == pytest.approx([0, 0, 100, 0, 40, 120, 80, 60, 50])
    assert found.mechanism.signs.tolist() == [[-1]]
    assert found.points["elbow"] == ("coupler.B", "rocker.B")
    assert found.offset_rad == pytest.approx(0.0)


def test_other_topologies_are_not_taken_for_a_family() -> None:
    assert read(FOUR_BAR, slider_crank(40, 120, 10, 30), "rod.B") is None
    assert read(FOUR_BAR, walking_leg(), "foot.F") is None
    assert read(FOUR_BAR, eight_bar(), "plate.W") is None
    bare = replace(four_bar(100, 40, 120, 80, 50, point=1j), drive=None)
    assert read(FOUR_BAR, bare, "coupler.P") is None


def wishes_of(kind: str) -> list[WantedMotion]:
    knots = tuple(Knot(crank_deg=90.0 * k, angle_deg=10.0 * (k % 2)) for k in range(4))
    return {
        "path": [WantedPath(id="w", through=((0, 0), (30, 0), (20, 20)))],
        "angle": [WantedAngle(id="w", knots=knots)],
        "two angles": [WantedAngle(id="w", knots=knots), WantedAngle(id="v", knots=knots)],
        "swing": [WantedSwing(id="w", from_deg=0, to_deg=30)],
        "stroke": [WantedStroke(id="w", start=(0, 0), end=(20, 5))],
        "dwell": [WantedDwell(id="w", from_deg=0, to_deg=60)],
        "ratio": [WantedRatio(id="w", ratio=1.5)],
        "path and angle": [WantedPath(id="w", through=((0, 0), (30, 0), (20, 20))),
                           WantedAngle(id="v", knots=knots)],
        "poses": [WantedPose(id=f"p{k}", crank_deg=40.0 * k, x=10 * k, y=k * k,
                             angle_deg=15.0 * k) for k in range(3)],
    }[kind]


@pytest.mark.parametrize("kind", ["path", "angle", "two angles", "swing", "stroke", "dwell",
                                  "ratio", "path and angle", "poses"])
@pytest.mark.parametrize("name", ["four-bar", "panel-chain-crank", "quick-return-slide"])
def test_wishes_are_tied_to_what_stands_for_them(name: str, kind: str) -> None:
    """The sketch's own measure then finds the errors the goals found."""
    family, aims = FAMILIES[name], goals(wishes_of(kind))
    made = some(name, 1)
    for view in family.views(aims):
        looked = watch(family.recipe, made, view)
        offset = float(aims.match(looked.dense).offset_rad[0])
        sketch = family.sketch(made, goals=aims, view=view, offset_rad=offset)
        assert problems(sketch) == []
        assert [wish.id for wish in sketch.wanted] == [wish.id for wish in aims.wishes]
        met = measure(solve_turn(sketch))
        assert all(np.isfinite(each.rms) for each in met)
        for own, channel in zip(view, goals(sketch.wanted).channels, strict=True):
            assert channel.ref in (own[1], f"{family.carrier}.{own[1]}")


def test_a_wish_a_family_cannot_show_has_no_view() -> None:
    two = [WantedPath(id=name, through=((0, 0), (30, 0), (20, 20))) for name in "ab"]
    assert FOUR_BAR.views(goals(two)) == ()
    three = [replace(wishes_of("angle")[0], id=name) for name in "abc"]
    assert FOUR_BAR.views(goals(three)) == ()
    assert len(FAMILIES["panel-chain-crank"].views(goals(three[:2]))) == 2


def test_a_wished_pose_gets_its_direction_from_the_mechanism() -> None:
    made = some("four-bar", 1)
    crank = np.radians([10.0, 60.0, 130.0])
    done = run(FOUR_BAR.recipe, made, crank, derive=False)
    poses = [WantedPose(id=f"p{k}", crank_deg=degrees(crank[k]), x=done.point("tip")[0, k].real,
                        y=done.point("tip")[0, k].imag,
                        angle_deg=degrees(done.angle("coupler")[0, k]) + 77.0)
             for k in range(3)]
    aims = goals(poses, start_free=False)
    sketch = FOUR_BAR.sketch(made, goals=aims, view=FOUR_BAR.views(aims)[0])
    assert max(each.worst for each in measure(solve_turn(sketch))) < 1e-6


def test_layers_are_chosen_so_that_pins_pass_no_part() -> None:
    """A pin from the frame at 50 would pierce the bar if that lay below the post."""
    still = np.ones(5, complex)
    paths = {"a": 0 * still, "b": 100 * still, "c": 50 * still, "d": 50 * still + 60j}
    bodies = {"": ["a", "c"], "bar": ["a", "b"], "post": ["c", "d"]}
    assert stacked(bodies, paths, 12.0, 5.0) == {"post": 1, "bar": 2}


def test_parts_that_never_meet_share_a_layer() -> None:
    still = np.ones(5, complex)
    paths = {"a": 0 * still, "b": 40 * still, "c": 70 * still, "d": 70 * still + 60j}
    bodies = {"": ["a", "c"], "bar": ["a", "b"], "post": ["c", "d"]}
    assert stacked(bodies, paths, 12.0, 5.0) == {"bar": 1, "post": 1}


def test_distances_of_bodies_are_those_of_shapely() -> None:
    rng = np.random.default_rng(4)
    for sizes in ((2, 2), (2, 3), (3, 3), (4, 2), (1, 3)):
        for _ in range(40):
            shapes = [rng.uniform(-9, 9, (n, 1)) + 1j * rng.uniform(-9, 9, (n, 1))
                      for n in sizes]
            hulls = [shapely.MultiPoint([(z.real, z.imag) for z in shape[:, 0]]).convex_hull
                     for shape in shapes]
            assert apart(*shapes) == pytest.approx(hulls[0].distance(hulls[1]), abs=1e-12)
            point = shapely.Point(shapes[0][0, 0].real, shapes[0][0, 0].imag)
            assert distance(shapes[0][0], shapes[1]) == pytest.approx(
                hulls[1].distance(point), abs=1e-12)


@pytest.mark.parametrize("name", ["four-bar", "slider-crank", "geared-five-bar--2"])
def test_most_random_ones_can_be_built_as_they_are(name: str) -> None:
    """No part of the sketch runs into another, or into a pin."""
    made = some(name, 12)
    clear = [all(gap.smallest_mm > 0 for gap in gaps(solve_turn(
        FAMILIES[name].sketch(made[k]), steps=180)).pairs) for k in range(12)]
    assert np.mean(clear) > 0.6
