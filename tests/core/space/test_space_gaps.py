"""Gaps over the turn: who is measured against whom, and golden cases done by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest
from msgspec.structs import replace
from shapely.affinity import affine_transform

from core.model import (
    Bar,
    Disc,
    Lock,
    Mesh,
    Part,
    Pin,
    PinInSlot,
    Plate,
    Point,
    Polygon,
    Sketch,
    Slide,
)
from core.model.validate import problems
from core.motion.turn import Turn
from core.space import FAR_MM, gaps, outline_of
from core.space.layers import free_places
from core.space.neighbours import neighbours

STEPS = 360


def disc(name: str, x: float, y: float, radius: float, layer: int, **more) -> Part:
    return Part(id=name, points=(Point(id="c", x=x, y=y),), layer=layer,
                outline=Disc(radius_mm=radius), **more)


def bar(name: str, ends: tuple[float, float, float, float], layer: int, **more) -> Part:
    a, b, c, d = ends
    return Part(id=name, points=(Point(id="a", x=a, y=b), Point(id="b", x=c, y=d)),
                layer=layer, outline=Bar(width_mm=10), **more)


def turning(sketch: Sketch, about: dict[str, complex] | None = None,
            reached: np.ndarray | None = None) -> Turn:
    """Poses made by hand: the parts named turn once about a place, the others keep still."""
    crank = np.arange(STEPS) * 2 * np.pi / STEPS
    rotation = np.ones((len(sketch.parts), STEPS), dtype=complex)
    shift = np.zeros_like(rotation)
    for row, part in enumerate(sketch.parts):
        if about and part.id in about:
            rotation[row] = np.exp(1j * crank)
            shift[row] = about[part.id] * (1 - rotation[row])
    ok = np.ones(STEPS, dtype=bool) if reached is None else reached
    rotation[:, ~ok] = np.nan
    shift[:, ~ok] = np.nan
    return Turn(sketch=sketch, crank_rad=crank, reached=ok,
                part_ids=tuple(part.id for part in sketch.parts), rotation=rotation,
                shift=shift, angle_rad=np.zeros((STEPS, len(sketch.parts))), crank_turns=1,
                repeats=True, limits=(), residual_mm=0.0)


def names(sketch: Sketch) -> set[tuple[str, str]]:
    """Pairs that would be measured."""
    close = neighbours(sketch)
    return {tuple(sorted((close.bodies[a].name, close.bodies[b].name)))
            for a, b in zip(close.a, close.b, strict=True)}


def test_a_disc_that_orbits_past_another_is_nearest_where_they_line_up() -> None:
    sketch = Sketch(parts=(disc("moon", 30, 0, 5, 1), disc("rock", 0, 50, 8, 1)))
    found = gaps(turning(sketch, {"moon": 0j}), refine=False)
    (gap,) = found.pairs
    assert (gap.a, gap.b, gap.layer) == ("moon", "rock", 1)
    assert gap.smallest_mm == pytest.approx(50 - 30 - 13, abs=1e-12)
    assert math.degrees(gap.crank_rad) == pytest.approx(90)
    crank = np.arange(STEPS) * 2 * np.pi / STEPS
    want = np.abs(30 * np.exp(1j * crank) - 50j) - 13
    np.testing.assert_allclose(gap.lane_mm, want, atol=1e-12)
    np.testing.assert_allclose(found.smallest_mm, np.minimum(want, FAR_MM), atol=1e-12)


def test_parts_in_different_layers_are_never_measured() -> None:
    sketch = Sketch(parts=(disc("moon", 0, 0, 5, 1), disc("rock", 0, 0, 8, 2)))
    found = gaps(turning(sketch), refine=False)
    assert found.pairs == ()
    np.testing.assert_array_equal(found.smallest_mm, FAR_MM)


def test_parts_without_a_layer_lie_in_layers_of_their_own() -> None:
    free = [replace(disc(name, 0, 0, 5, 0), layer=None) for name in ("a", "b", "c")]
    assert names(Sketch(parts=tuple(free))) == set()


def test_a_pin_meets_parts_in_every_layer_from_its_lowest_to_its_highest() -> None:
    low, high = disc("low", 0, 0, 9, 1), disc("high", 0, 0, 9, 4)
    others = tuple(disc(f"l{layer}", 60, 0, 9, layer) for layer in range(6))
    sketch = Sketch(parts=(low, high, *others),
                    pins=(Pin(id="P", at=("low.c", "high.c"), diameter_mm=8),))
    met = {pair for pair in names(sketch) if "pin P" in pair}
    assert met == {(f"l{layer}", "pin P") for layer in (1, 2, 3, 4)}


def test_a_pin_swept_by_a_lever_between_its_parts_is_overlapped_by_radius_and_half_width():
    # The lever sweeps about the origin; the pin stands on its path, wholly under its line.
    parts = (disc("low", 40, 0, 9, 0, fixed=True), disc("high", 40, 0, 9, 2),
             bar("lever", (0, 0, 60, 0), 1))
    sketch = Sketch(parts=parts, pins=(Pin(id="P", at=("low.c", "high.c"), diameter_mm=6),))
    (gap,) = gaps(turning(sketch, {"lever": 0j}), refine=False).pairs
    assert (gap.a, gap.b, gap.layer) == ("lever", "pin P", 1)
    assert gap.smallest_mm == pytest.approx(-(3 + 5))
    assert gap.crank_rad == 0.0
    # A quarter turn on the pin is 40 from the lever's end face centre line.
    assert gap.lane_mm[90] == pytest.approx(40 - 3 - 5)


def test_levers_on_one_pin_in_one_layer_are_not_let_off() -> None:
    parts = (bar("a", (0, 0, 60, 0), 1), bar("b", (0, 0, 0, 60), 1))
    sketch = Sketch(parts=parts, pins=(Pin(id="P", at=("a.a", "b.a")),))
    assert names(sketch) == {("a", "b")}
    assert gaps(turning(sketch), refine=False).pairs[0].smallest_mm == pytest.approx(-10)


def test_pairs_that_touch_on_purpose_are_left_out_and_said_so() -> None:
    parts = (disc("sun", 0, 0, 30, 1), disc("planet", 50, 0, 20, 1),
             bar("rail", (0, 100, 90, 100), 1), disc("block", 40, 100, 9, 1),
             bar("slotted", (0, 200, 90, 200), 2), disc("rider", 40, 200, 9, 3))
    sketch = Sketch(
        parts=parts,
        meshes=(Mesh(id="M", a="sun.c", b="planet.c", teeth_a=30, teeth_b=20),),
        slides=(Slide(id="S", point="block.c", along=("rail.a", "rail.b")),),
        slots=(PinInSlot(id="Q", point="rider.c", slot=("slotted.a", "slotted.b")),))
    close = neighbours(sketch)
    assert {(p.a, p.b) for p in close.purposes} == {("planet", "sun"), ("block", "rail")}
    left = names(sketch)
    assert ("planet", "sun") not in left
    assert ("block", "rail") not in left
    assert not any("pin Q" in pair for pair in left)


def test_a_ring_gear_drawn_as_a_round_blank_is_empty_inside_its_teeth() -> None:
    # Ring of 60 teeth about a gear of 20, centres 40 apart: module 2, tips at 58 mm.
    ring = disc("ring", 0, 0, 70, 1, fixed=True)
    gear, sun = disc("gear", 40, 0, 22, 1), disc("sun", 0, 0, 15, 1)
    mesh = Mesh(id="M", a="gear.c", b="ring.c", teeth_a=20, teeth_b=60, internal=True)
    found = gaps(turning(Sketch(parts=(ring, gear, sun), meshes=(mesh,))), refine=False)
    gap = {(one.a, one.b): one.smallest_mm for one in found.pairs}
    assert gap.get(("ring", "sun"), 43) == pytest.approx(58 - 15, abs=0.02)
    assert gap[("gear", "sun")] == pytest.approx(40 - 22 - 15)
    near = replace(sun, outline=Disc(radius_mm=50))
    found = gaps(turning(Sketch(parts=(ring, gear, near), meshes=(mesh,))), refine=False)
    gap = {(one.a, one.b): one.smallest_mm for one in found.pairs}
    assert gap[("ring", "sun")] == pytest.approx(58 - 50, abs=0.02)


def test_a_slot_pin_meets_what_lies_between_its_rider_and_the_slotted_part() -> None:
    parts = (bar("slotted", (0, 0, 90, 0), 1), disc("rider", 40, 0, 9, 3),
             disc("between", 45, 0, 9, 2))
    sketch = Sketch(parts=parts, slots=(
        PinInSlot(id="Q", point="rider.c", slot=("slotted.a", "slotted.b")),))
    assert names(sketch) == {("between", "pin Q")}


def test_rods_of_one_shaft_are_no_pair_but_rods_side_by_side_are() -> None:
    parts = (disc("base", 0, 0, 90, 0, fixed=True), disc("arm", 0, 0, 9, 3),
             disc("wheel", 0, 0, 9, 5), disc("next", 8, 0, 3, 6))
    base = replace(parts[0], points=(Point(id="c", x=0, y=0), Point(id="d", x=8, y=0)))
    sketch = Sketch(parts=(base, *parts[1:]), pins=(
        Pin(id="P", at=("base.c", "arm.c")), Pin(id="Q", at=("base.c", "wheel.c")),
        Pin(id="R", at=("base.d", "next.c"), diameter_mm=4)))
    rods = {pair for pair in names(sketch) if pair[0].startswith("pin")
            and pair[1].startswith("pin")}
    assert rods == {("pin P", "pin R"), ("pin Q", "pin R")}


def test_parts_that_keep_still_to_each_other_are_listed_only_when_they_overlap() -> None:
    lock = (Lock(id="L", parts=("a", "b")),)
    apart = Sketch(parts=(disc("a", 0, 0, 9, 1), disc("b", 18, 0, 9, 1)), locks=lock)
    assert gaps(turning(apart, {"a": 5j, "b": 5j}), refine=False).pairs == ()
    into = Sketch(parts=(disc("a", 0, 0, 9, 1), disc("b", 17, 0, 9, 1)), locks=lock)
    (gap,) = gaps(turning(into, {"a": 5j, "b": 5j}), refine=False).pairs
    assert gap.smallest_mm == pytest.approx(-1)


def test_parts_held_by_two_pins_keep_still_to_each_other() -> None:
    # Two bars laid on each other and pinned twice; a pad glued to nothing rides between.
    low, high = bar("low", (0, 0, 60, 0), 0), bar("high", (0, 0, 60, 0), 2)
    pad = Part(id="pad", layer=1, outline=Disc(radius_mm=9, centre="a"), points=(
        Point(id="a", x=0, y=0), Point(id="m", x=30, y=0)))
    middle = replace(low, points=(*low.points, Point(id="m", x=30, y=0)))
    pins = (Pin(id="P", at=("low.a", "high.a")), Pin(id="Q", at=("low.b", "high.b")),
            Pin(id="R", at=("low.m", "pad.m")), Pin(id="S", at=("low.a", "pad.a")))
    close = neighbours(Sketch(parts=(middle, high, pad), pins=pins))
    still = {(close.bodies[a].name, close.bodies[b].name): bool(one)
             for a, b, one in zip(close.a, close.b, close.one_body, strict=True)}
    assert still[("pad", "pin Q")] is True


def test_steps_the_crank_cannot_reach_are_left_empty() -> None:
    sketch = Sketch(parts=(disc("moon", 30, 0, 5, 1), disc("rock", 0, 50, 8, 1)))
    reached = np.arange(STEPS) < 60
    found = gaps(turning(sketch, {"moon": 0j}, reached), refine=False)
    np.testing.assert_array_equal(np.isfinite(found.pairs[0].lane_mm), reached)
    np.testing.assert_array_equal(np.isfinite(found.smallest_mm), reached)
    assert math.degrees(found.pairs[0].crank_rad) == pytest.approx(59)


def test_a_sketch_that_reaches_nothing_has_no_gaps() -> None:
    sketch = Sketch(parts=(disc("moon", 30, 0, 5, 1), disc("rock", 0, 50, 8, 1)))
    found = gaps(turning(sketch, {}, np.zeros(STEPS, dtype=bool)), refine=False)
    assert found.pairs == ()
    assert np.isnan(found.smallest_mm).all()


def test_an_empty_sketch_has_no_gaps() -> None:
    assert gaps(turning(Sketch()), refine=False).pairs == ()


def test_pairs_far_apart_over_the_whole_turn_are_not_listed() -> None:
    sketch = Sketch(parts=(disc("moon", 30, 0, 5, 1), disc("rock", 0, 30 + 5 + 8 + 26, 8, 1)))
    found = gaps(turning(sketch, {"moon": 0j}), refine=False)
    assert found.pairs == ()
    np.testing.assert_array_equal(found.smallest_mm, FAR_MM)


def test_parts_without_a_sound_outline_take_no_room() -> None:
    sketch = Sketch(parts=(Part(id="ghost", layer=1), disc("rock", 0, 0, 8, 1),
                           bar("thin", (0, 0, 9, 9), 1)))
    thin = replace(sketch.parts[2], outline=Bar(width_mm=0))
    assert gaps(turning(replace(sketch, parts=(*sketch.parts[:2], thin))),
                refine=False).pairs == ()


def test_a_peg_that_circles_in_a_window_keeps_clear_of_its_edge() -> None:
    square = ((-60, -60), (60, -60), (60, 60), (-60, 60))
    window = tuple((x * 0.75, y * 0.75) for x, y in square)
    parts = (Part(id="plate", layer=1, fixed=True,
                  outline=Polygon(outer=square, holes=(window,))), disc("peg", 30, 0, 6, 1))
    (gap,) = gaps(turning(Sketch(parts=parts), {"peg": 0j}), refine=False).pairs
    assert gap.smallest_mm == pytest.approx(45 - 30 - 6)
    crank = np.arange(STEPS) * 2 * np.pi / STEPS
    reach = 45 - 30 * np.maximum(np.abs(np.cos(crank)), np.abs(np.sin(crank))) - 6
    np.testing.assert_allclose(gap.lane_mm, reach, atol=1e-9)


def test_gaps_do_not_depend_on_the_order_of_parts_or_pins() -> None:
    rng = np.random.default_rng(3)
    parts = [Part(id=f"p{i}", layer=int(rng.integers(3)), outline=shape, points=tuple(
        Point(id=name, x=float(x), y=float(y))
        for name, (x, y) in zip("abc", rng.uniform(-60, 60, (3, 2)), strict=True)))
        for i, shape in enumerate([Bar(), Plate(), None, Disc(radius_mm=9), Bar(width_mm=6)])]
    pins = [Pin(id="P", at=("p0.a", "p1.a")), Pin(id="Q", at=("p2.b", "p4.a"))]
    about = {"p0": 3j, "p2": -4 + 0j, "p3": 10 + 0j}
    seen = []
    for order in ([0, 1, 2, 3, 4], [4, 2, 0, 1, 3], [3, 4, 1, 2, 0]):
        sketch = Sketch(parts=tuple(parts[i] for i in order),
                        pins=tuple(pins if order[0] == 0 else pins[::-1]))
        found = gaps(turning(sketch, about), refine=False).pairs
        seen.append([(gap.a, gap.b, gap.layer, round(gap.smallest_mm, 9)) for gap in found])
    assert len(seen[0]) > 3
    assert seen[0] == seen[1] == seen[2]


def some_part(rng: np.random.Generator, name: str) -> Part:
    """A part of any shape, about 60 mm across, in layer 1."""
    count = int(rng.integers(1, 5))
    points = tuple(Point(id="abcd"[k], x=float(x), y=float(y))
                   for k, (x, y) in enumerate(rng.uniform(-30, 30, (count, 2))))
    around = np.sort(rng.uniform(0, 2 * np.pi, 9))
    rim = np.exp(1j * around) * rng.uniform(8, 30, 9)
    star = Polygon(outer=tuple((float(z.real), float(z.imag)) for z in rim))
    shapes = (None, Bar(width_mm=7), Disc(radius_mm=12), Plate(margin_mm=5), star)
    return Part(id=name, points=points, layer=1, outline=shapes[rng.integers(len(shapes))])


@pytest.mark.parametrize("seed", range(6))
def test_lanes_are_what_shapely_measures_between_the_outlines(seed: int) -> None:
    # Shapely, a general-purpose geometry library, on the outlines as polygons. Their chords
    # lie inside the arcs by 3.1e-4 of the radius at most: 8e-3 mm for two discs here.
    rng = np.random.default_rng(seed)
    parts = tuple(some_part(rng, f"p{k}") for k in range(5))
    turn = turning(Sketch(parts=parts))
    turn.rotation[:] = np.exp(1j * rng.uniform(0, 2 * np.pi, turn.rotation.shape))
    turn.shift[:] = rng.uniform(-60, 60, turn.shift.shape) + 1j * rng.uniform(
        -60, 60, turn.shift.shape)
    steps = range(0, STEPS, 12)
    shapes = [[affine_transform(outline_of(part), [r.real, -r.imag, r.imag, r.real, s.real,
                                                   s.imag])
               for r, s in zip(turn.rotation[k, steps], turn.shift[k, steps], strict=True)]
              for k, part in enumerate(parts)]
    found = gaps(turn, refine=False).pairs
    assert len(found) == 10
    for gap in found:
        one, other = (shapes[int(name[1])] for name in (gap.a, gap.b))
        for step, p, q in zip(steps, one, other, strict=True):
            if p.intersects(q):
                assert gap.lane_mm[step] <= 1e-9
            elif gap.lane_mm[step] > 0:
                assert p.distance(q) - 8e-3 <= gap.lane_mm[step] <= p.distance(q) + 1e-9
            else:
                assert p.distance(q) < 8e-3


def test_a_free_place_is_free_and_the_nearest_comes_first() -> None:
    parts = (disc("base", 0, 0, 5, 0, fixed=True), disc("moon", 30, 0, 5, 1),
             disc("rock", 0, 35, 8, 1), disc("wall", 0, 30, 8, 2, fixed=True))
    turn = turning(Sketch(parts=parts), {"moon": 0j})
    assert gaps(turn, refine=False).pairs[0].smallest_mm < 0
    places = list(free_places(turn, "moon", 1.0))
    assert [(place.layer, place.new) for place in places[:3]] == [(0, False), (3, False),
                                                                (1, True)]
    for place in places:
        moved = place.apply(turn.sketch)
        assert moved.layer_of("moon") == place.layer
        left = gaps(turning(moved, {"moon": 0j}), refine=False,
                    about=frozenset({"moon"})).pairs
        assert all(gap.smallest_mm >= 1.0 for gap in left)


def test_no_place_lifts_a_part_above_the_highest_layer_there_is() -> None:
    parts = (disc("a", 0, 0, 5, 0), disc("b", 0, 0, 5, 0), disc("c", 0, 0, 5, 1000))
    turn = turning(Sketch(parts=parts))
    places = list(free_places(turn, "b", 1.0))
    assert places
    assert all(problems(place.apply(turn.sketch)) == [] for place in places)


def test_a_new_layer_lifts_what_lies_above_it() -> None:
    parts = (disc("a", 0, 0, 5, 0), disc("b", 0, 0, 5, 0), disc("c", 0, 0, 5, 1))
    turn = turning(Sketch(parts=parts))
    places = [place for place in free_places(turn, "b", 1.0) if place.new]
    moved = next(place for place in places if place.layer == 1).apply(turn.sketch)
    assert [part.layer for part in moved.parts] == [0, 1, 2]
