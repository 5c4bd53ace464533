"""Searches for windows to watch: as long as they are told to be, and then what was asked."""

from __future__ import annotations

import os
import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import msgspec

from core.model import Sketch

Report = Callable[[Any], bool]


@dataclass(frozen=True)
class Progress:
    """As a fit tells it."""

    sketch: Sketch
    error: float
    done: float
    stage: str


@dataclass(frozen=True)
class Fitting:
    """As a fit ends."""

    sketch: Sketch
    error: float
    before_error: float
    words: tuple[str, ...]
    trail: tuple[float, ...]


def moved(sketch: Sketch, part: str, point: str, by_mm: float) -> Sketch:
    """The sketch with a point moved to the right."""
    def change(each: Any) -> Any:
        return msgspec.structs.replace(each, points=tuple(
            msgspec.structs.replace(p, x=p.x + by_mm) if p.id == point else p
            for p in each.points))
    return msgspec.structs.replace(sketch, parts=tuple(
        change(each) if each.id == part else each for each in sketch.parts))


def creeping(sketch: Sketch, *, seed: int, report: Report) -> Fitting:
    """Moves the traced point 1 mm at a time, until it is stopped."""
    trail, now = [10.0], sketch
    for step in range(1, 3000):
        now = moved(sketch, "coupler", "E", 0.01 * step)
        trail.append(10.0 / (1 + step))
        if not report(Progress(now, trail[-1], min(step / 100, 1.0), "creeping")):
            break
        time.sleep(0.01)
    return Fitting(now, trail[-1], trail[0], (f"seed {seed}",), tuple(trail))


def counting(number: int, *, report: Report) -> int:
    """Reports every number up to that one, and returns it."""
    for each in range(number):
        report(each)
    return number


def deaf(*, report: Report) -> None:
    """Never asks whether it shall stop."""
    time.sleep(600)


def failing(*, report: Report) -> None:
    """A fault of ours."""
    raise ZeroDivisionError("nothing to divide by")


def dying(*, report: Report) -> None:
    """Takes its process along."""
    os._exit(3)


def patient(*, report: Report) -> str:
    """Goes on until it is stopped."""
    while report("on the way"):
        time.sleep(0.005)
    return "stopped"
