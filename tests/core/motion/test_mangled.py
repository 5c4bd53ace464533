"""Sketches spoiled at random: a turn, or one clear sentence; never anything else."""

from __future__ import annotations

import random

import numpy as np
import pytest
from grown import KINDS, grown
from hypothesis import given, settings
from hypothesis import strategies as st
from linkages import four_bar
from msgspec.structs import replace

from core.errors import CrankwrightError, MotionError, SketchError
from core.model import Lock, Mesh, Part, Pin, PinInSlot, Sketch, Slide
from core.motion import dead_centres, four_bars, pose_at, rates, solve_turn, structure, travel

ODD = (0.0, 1e-300, 1e300, float("nan"), float("inf"), 1e9)


def spoil(sketch: Sketch, chance: random.Random) -> Sketch:
    """One thing gone wrong."""
    refs = [f"{part.id}.{point.id}" for part in sketch.parts for point in part.points]
    at = chance.randrange(len(sketch.parts))
    part, name = sketch.parts[at], f"new-{chance.random()}"

    def put(changed: Part) -> Sketch:
        return replace(sketch, parts=(*sketch.parts[:at], changed, *sketch.parts[at + 1:]))

    def some(count: int) -> tuple[str, ...]:
        return tuple(chance.sample(refs, count))

    what = chance.randrange(10)
    if what == 0 and part.points:
        first = part.points[0]
        return put(replace(part, points=tuple(replace(point, x=first.x, y=first.y)
                                              for point in part.points)))
    if what == 1 and part.points:
        odd = replace(part.points[-1], x=chance.choice(ODD))
        return put(replace(part, points=(*part.points[:-1], odd)))
    if what == 2:
        return put(replace(part, fixed=not part.fixed))
    if what == 3:
        return replace(sketch, pins=(*sketch.pins, Pin(id=name, at=some(3))))
    if what == 4:
        return replace(sketch, pins=tuple(chance.sample(sketch.pins, len(sketch.pins) - 1)))
    if what == 5:
        both = tuple(each.id for each in chance.sample(sketch.parts, 2))
        return replace(sketch, locks=(*sketch.locks, Lock(id=name, parts=both)))
    if what == 6:
        a, b = some(2)
        mesh = Mesh(id=name, a=a, b=b, teeth_a=chance.choice((0, 7)), teeth_b=33)
        return replace(sketch, meshes=(*sketch.meshes, mesh))
    a, b, c = some(3)
    if what == 7:
        return replace(sketch, slots=(*sketch.slots, PinInSlot(id=name, point=a, slot=(b, c))))
    if what == 8:
        return replace(sketch, slides=(*sketch.slides, Slide(id=name, point=a, along=(b, c))))
    return replace(sketch, drive=replace(
        sketch.drive, kind="rock", from_deg=chance.choice((0, -400)),
        to_deg=chance.choice((0, 30)), drawn_deg=chance.choice((1e6, -50))))


@given(st.lists(st.sampled_from(KINDS), min_size=1, max_size=4), st.integers(0, 2**31),
       st.integers(1, 3))
@settings(max_examples=120)
@pytest.mark.filterwarnings("error")
def test_a_spoiled_sketch_turns_or_says_why_not(kinds: list[str], seed: int, times: int
                                                ) -> None:
    sketch, chance = grown(kinds, seed), random.Random(seed)
    for _ in range(times):
        sketch = spoil(sketch, chance)
    try:
        assert structure(sketch).bodies
        turn = solve_turn(sketch, 90)
    except CrankwrightError as error:
        sentence = str(error)
    else:
        sentence = ""
    if sentence:
        assert sentence.endswith(".")
        return
    extent = max(abs(value) for part in sketch.parts for point in part.points
                 for value in (point.x, point.y))
    assert turn.residual_mm <= 1e-8 * extent
    assert turn.reached.any() or turn.limits or turn.sketch.drive.kind == "rock"
    rates(turn)
    four_bars(turn)
    travel(turn)
    dead_centres(turn, sketch.parts[-1].id)
    assert pose_at(turn, np.array([0.1, 7.0])).angle_rad.shape == (2, len(sketch.parts))


def test_a_link_of_no_length_is_named() -> None:
    sketch = four_bar(100, 40, 120, 80, 40)
    end = sketch.point("coupler.A")
    parts = tuple(replace(part, points=tuple(replace(point, x=end.x, y=end.y)
                                             for point in part.points))
                  if part.id == "coupler" else part for part in sketch.parts)
    rocker = tuple(replace(part, points=tuple(
        replace(point, x=end.x, y=end.y) if point.id == "B" else point
        for point in part.points)) if part.id == "rocker" else part for part in parts)
    with pytest.raises(MotionError, match="two joints of coupler lie at one place"):
        solve_turn(replace(sketch, parts=rocker))


def test_a_pin_whose_points_lie_apart_is_named() -> None:
    sketch = four_bar(100, 40, 120, 80, 40)
    parts = tuple(replace(part, points=tuple(replace(point, x=point.x + 2)
                                             for point in part.points))
                  if part.id == "coupler" else part for part in sketch.parts)
    with pytest.raises(SketchError, match=r"pin 'A': its points lie 2.00 mm apart"):
        solve_turn(replace(sketch, parts=parts))


def test_too_few_steps_are_refused() -> None:
    with pytest.raises(MotionError, match="3 steps"):
        solve_turn(four_bar(100, 40, 120, 80, 40), steps=3)
