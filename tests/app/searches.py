"""Searches for windows to watch: as long as they are told to be, and then what was asked."""

from __future__ import annotations

import itertools
import multiprocessing
import os
import socket
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from multiprocessing.connection import Connection
from typing import Any

import msgspec

from app.seeking.helper import serve
from core.model import Drive, Part, Pin, Point, Sketch
from core.wanted.find.crew import crew
from core.wanted.find.proposal import Found, Proposal

Report = Callable[[Any], bool]


class Nearby(threading.Thread):
    """Stands in for the process of a `Seeker`."""

    def __init__(self, theirs: Connection) -> None:
        super().__init__(target=serve, args=(theirs,), daemon=True)
        self._theirs = theirs
        self.start()

    def terminate(self) -> None:
        """Both ends see the line end, as when a process is gone."""
        with socket.fromfd(self._theirs.fileno(), socket.AF_UNIX, socket.SOCK_STREAM) as line:
            line.shutdown(socket.SHUT_RDWR)

    def close(self) -> None:
        """Put the line away."""
        self._theirs.close()


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
    """Moves the traced point a little at a time, until it is stopped."""
    trail, now = [10.0], sketch
    for step in itertools.count(1):
        now = moved(sketch, "coupler", "E", 0.05 * min(step, 1000))
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


def hiring(*, report: Report) -> int:
    """Begins workers of its own, and goes on until it is stopped."""
    with crew(2) as own:
        own.begin()
        while report(len(multiprocessing.active_children())):
            time.sleep(0.005)
    return len(multiprocessing.active_children())


def patient(*, report: Report) -> str:
    """Goes on until it is stopped."""
    while report("on the way"):
        time.sleep(0.005)
    return "stopped"


def proposal(sketch: Sketch, number: int, **worth: Any) -> Proposal:
    """A proposal of that sketch, a little different for each number."""
    told = {"family": "four-bar", "name": f"Four-bar, number {number}", "error": 0.1 * number,
            "worst": 0.3 * number, "worst_mm": 0.3 * number, "transmission_deg": 30.0 + number,
            "size_mm": 200.0 - number, "peak_torque_nmm": 50.0 + number, "kin": number}
    return Proposal(sketch=moved(sketch, "coupler", "E", float(number)), **{**told, **worth})


def offered(wished: Sketch) -> tuple[Proposal, ...]:
    """Four-bars for the wishes of a sketch, the first four of them kin of another kind."""
    point = Point
    bars = Sketch(
        parts=(Part(id="frame", fixed=True, layer=0,
                    points=(point(id="A", x=0, y=0), point(id="D", x=100, y=0))),
               Part(id="crank", layer=1, points=(point(id="A", x=0, y=0),
                                                 point(id="B", x=0, y=30))),
               Part(id="coupler", layer=2, points=(
                   point(id="B", x=0, y=30), point(id="C", x=90, y=80),
                   point(id="E", x=50, y=90, trace=True))),
               Part(id="rocker", layer=1, points=(point(id="D", x=100, y=0),
                                                  point(id="C", x=90, y=80)))),
        pins=(Pin(id="a", at=("frame.A", "crank.A")), Pin(id="b", at=("crank.B", "coupler.B")),
              Pin(id="c", at=("coupler.C", "rocker.C")),
              Pin(id="d", at=("frame.D", "rocker.D"))),
        drive=Drive(pin="a", part="crank", drawn_deg=90.0),
        wanted=tuple(msgspec.structs.replace(wish, point="coupler.E")
                     for wish in wished.wanted))
    kin = [proposal(bars, number, family="other", name="Other kind", kin=99,
                    pareto=number == 1) for number in range(1, 5)]
    return (*kin, *(proposal(bars, number) for number in range(5, 13)))


def finding(sketch: Sketch, *, seed: int, top: int, processes: int,
            report: Report) -> Found:
    """A few proposals at once and all of them later; the same for every seed."""
    everything = offered(sketch)
    report(Found(everything[4:8], 0.2, "looking"))
    time.sleep(0.1)
    return Found(everything, 1.0, "done", (f"seed {seed}",))


def seeking_on(sketch: Sketch, *, seed: int, top: int, processes: int,
               report: Report) -> Found:
    """Proposals that go on coming until they are stopped."""
    everything = offered(sketch)
    for count in itertools.count(4):
        if not report(Found(everything[:count], 0.5, "refining")):
            break
        time.sleep(0.02)
    return Found(everything[:count], 1.0, "done")
