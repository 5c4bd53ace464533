"""Wishes of every kind, poor ones too, on sketches of every kind: always measured, never an
error, and the numbers agree with each other."""

from __future__ import annotations

import math

import numpy as np
import pytest
from grown import grown
from msgspec.structs import replace

from core.model import (
    Knot,
    Sketch,
    Tick,
    WantedAngle,
    WantedDwell,
    WantedPath,
    WantedPose,
    WantedRatio,
    WantedStroke,
    WantedSwing,
    join_ref,
)
from core.model.wanted import WantedMotion
from core.motion import solve_turn
from core.wanted.measure import measure, overall

KINDS = ("two bars", "bar and slider", "bar on slider", "pin in slot", "slot on pin", "gear",
         "belt", "lock")


def some_wish(rng: np.random.Generator, sketch: Sketch, name: str) -> WantedMotion:
    """A wish by lot, of some point or part; sometimes without sense."""
    part = sketch.parts[rng.integers(len(sketch.parts))]
    one, other = (join_ref(part.id, part.points[k].id) for k in (0, -1))
    count = int(rng.integers(1, 8))
    places = tuple((float(x), float(y)) for x, y in rng.normal(scale=80, size=(count, 2)))
    curve = ("smooth", "straight", "places")[rng.integers(3)]
    closed = bool(rng.integers(2))
    ticks = tuple(Tick(at=float(rng.uniform(0, count + 1)), crank_deg=float(
        rng.uniform(-400, 400))) for _ in range(rng.integers(0, 4)))
    angles = [float(a) for a in rng.uniform(-300, 300, 2)]
    match rng.integers(7):
        case 0:
            return WantedPath(id=name, point=one, through=places, curve=curve, closed=closed,
                              ticks=ticks if rng.integers(2) else (),
                              either_way=bool(rng.integers(2)),
                              any_order=bool(rng.integers(2)))
        case 1:
            return WantedAngle(id=name, part=part.id, curve=curve, closed=closed, knots=tuple(
                Knot(crank_deg=float(c), angle_deg=float(a))
                for c, a in rng.uniform(-200, 400, (count, 2))),
                line=(one, other) if rng.integers(2) else ())
        case 2:
            return WantedPose(id=name, at=one, toward=other, x=places[0][0], y=places[0][1],
                              crank_deg=angles[0], angle_deg=angles[1])
        case 3:
            return WantedSwing(id=name, part=part.id, from_deg=angles[0], to_deg=angles[1],
                               line=(one, other) if rng.integers(2) else ())
        case 4:
            return WantedStroke(id=name, point=one, start=places[0], end=places[-1])
        case 5:
            return WantedDwell(id=name, from_deg=angles[0], to_deg=angles[1],
                               **({"part": part.id} if rng.integers(2) else {"point": one}))
        case _:
            return WantedRatio(id=name, ratio=float(rng.uniform(1, 3)),
                               **({"part": part.id} if rng.integers(2) else {"point": one}))


@pytest.mark.parametrize("seed", range(24))
def test_wishes_by_lot_are_measured_on_sketches_by_lot(seed: int) -> None:
    rng = np.random.default_rng(seed)
    sketch = grown([KINDS[k] for k in rng.integers(len(KINDS), size=3)], seed)
    assert sketch.drive is not None
    drive = sketch.drive
    if seed % 3 == 1:
        drive = replace(drive, kind="rock", from_deg=drive.drawn_deg - 40,
                        to_deg=drive.drawn_deg + 50)
    if seed % 2:
        drive = replace(drive, rpm=-abs(drive.rpm))
    wishes = tuple(some_wish(rng, sketch, str(k)) for k in range(12))
    sketch = replace(sketch, drive=drive, wanted=wishes)
    turn = solve_turn(sketch, steps=180)
    mets = measure(turn)
    assert [met.wish for met in mets] == [wish.id for wish in wishes]
    for met, wish in zip(mets, wishes, strict=True):
        assert met.text
        assert not math.isnan(met.worst)
        assert met.worst >= 0
        assert met.met == (met.worst <= met.tolerance * (1 + 1e-9))
        assert met.rms <= met.worst * (1 + 1e-9)
        assert met.at_rad.shape == met.errors.shape
        assert met.lane is None or met.lane.shape == turn.crank_rad.shape
        if isinstance(wish, WantedSwing | WantedStroke):
            assert met.lane is not None
            np.testing.assert_array_equal(np.isnan(met.lane), ~turn.reached)
    assert overall(mets, sketch) >= 0


def test_wishes_that_ask_nothing_are_left_out() -> None:
    sketch = grown(["two bars"], 3)
    part = sketch.parts[1]
    ref = join_ref(part.id, part.points[0].id)
    empty = (WantedPath(id="a", point=ref, through=()),
             WantedAngle(id="b", part=part.id, knots=()))
    same = (WantedPath(id="c", point=ref, through=((1, 1), (1, 1), (1, 1))),
            WantedStroke(id="d", point=ref, start=(1, 1), end=(1, 1)),
            WantedDwell(id="e", part=part.id, from_deg=20, to_deg=20),
            WantedPath(id="f", point=ref, through=((1, 1), (9, 1)), tolerance_mm=0.0))
    mets = measure(solve_turn(replace(sketch, wanted=empty + same)))
    assert [met.wish for met in mets] == ["c", "d", "e", "f"]
    assert all(math.isfinite(met.rms) for met in mets)
