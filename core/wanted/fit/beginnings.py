"""Where descents begin: the sketch itself, the sketch laid on the wished path whole, put
together otherwise, and moved about at random."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from core.errors import CrankwrightError
from core.model import Sketch, part_of
from core.motion import flip
from core.motion.solve import plan_of
from core.wanted.fit.looking import Look, Task
from core.wanted.goals.turned import dense_of

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]

#: Sizes of random moves, by the size of the sketch.
SPREADS = (0.05, 0.12, 0.3, 0.6)
#: Directions in which a sketch is laid on a path.
TURNS = 6
#: Draws for one random start; each has its points moved half as far as the one before.
DRAWS = 6
#: Shares of its length to which the crank of a sketch that locks is brought.
SHORTER = (0.7, 0.5, 0.35, 0.25, 0.15, 0.1)
#: Random starts given up when so many in a row did not go round; of a sketch that locks
#: itself more are tried.
MISSED, MISSED_LOCKED = 8, 40


def others(task: Task, own: Look | None, random: np.random.Generator) -> Iterator[Look]:
    """Starts besides the sketch itself: those that were thought of in turn with random
    ones, then only these. Each goes round and keeps what must hold."""
    laid = _started(task, _laid(task, own)) if own is not None else iter(())
    flipped = _started(task, _flipped(task))
    drawn = _random(task, own, random)
    sources: list[Iterator[Look]] = [laid, drawn, flipped]
    if own is None:
        sources.insert(0, _started(task, _shortened(task)))
    while sources:
        for source in list(sources):
            found = next(source, None)
            if found is None:
                sources.remove(source)
            else:
                yield found


def begin(task: Task, w: Floats) -> Look | None:
    """A look at the nearest sketch to w that keeps what must hold, if it goes round."""
    restored = task.restored(w)
    return None if restored is None else task.look(restored)


def _started(task: Task, starts: Iterator[Floats]) -> Iterator[Look]:
    for w in starts:
        found = begin(task, w)
        if found is not None:
            yield found


def _random(task: Task, own: Look | None, random: np.random.Generator) -> Iterator[Look]:
    """Moved about at random, until hardly anything goes round."""
    free = task.freedom
    base = np.zeros(free.count) if own is None else own.w
    number = missed = 0
    while missed < (MISSED_LOCKED if own is None else MISSED):
        spread = SPREADS[number % len(SPREADS)] * free.size_mm
        number, missed = number + 1, missed + 1
        for draw in range(DRAWS):
            w = base + random.normal(size=free.count) * spread / (1 << draw)
            found = begin(task, w)
            if found is not None:
                missed = 0
                yield found
                break


def _shortened(task: Task) -> Iterator[Floats]:
    """The arm of the crank ever shorter: most of what locks goes round with a short one."""
    drive, net = task.sketch.drive, task.freedom.net
    assert drive is not None
    pin = next(pin for pin in task.sketch.pins if pin.id == drive.pin)
    pivot = net.of[pin.at[0]]
    arm = {node for ref, node in net.of.items() if part_of(ref) == drive.part} - {pivot}
    moved = np.isin(np.arange(net.place.size), list(arm))
    for share in SHORTER:
        yield toward(task, np.where(
            moved, net.place[pivot] + share * (net.place - net.place[pivot]), net.place))


def _laid(task: Task, own: Look) -> Iterator[Floats]:
    """The whole sketch turned, scaled and shifted, mirrored too, so that what its traced
    points draw lies on the wished places; as far as it is free."""
    goals = task.goals
    targets, traces = [], []
    dense = dense_of(own.turn, goals.channels)
    for number, channel in enumerate(goals.channels):
        samples = goals.samples_of(number)
        wanted = goals.target[samples[goals.row_scale[
            np.searchsorted(goals.row_sample, samples).clip(0, goals.rows - 1)] > 0]] \
            if len(samples) and goals.rows else np.zeros(0)
        wanted = wanted[np.abs(wanted) > 0]
        if channel.kind == "point" and len(wanted) > 1:
            targets.append(wanted)
            traces.append(np.asarray(dense.values[number])[0])
    if not targets:
        return
    goal, trace = np.concatenate(targets), np.concatenate(traces)
    size = _radius(goal) / max(_radius(trace), 1e-9)
    place = task.freedom.places(own.w)
    for mirrored in (False, True):
        for k in range(TURNS):
            turn = size * np.exp(2j * np.pi * k / TURNS)
            about = place - trace.mean()
            moved = goal.mean() + turn * (np.conj(about) if mirrored else about)
            if k or mirrored or abs(size - 1) > 1e-3 or abs(goal.mean() - trace.mean()) > 1e-3:
                yield toward(task, moved)


def _radius(places: Complexes) -> float:
    return float(np.sqrt((np.abs(places - places.mean()) ** 2).mean()))


def toward(task: Task, place: Complexes) -> Floats:
    """The numbers whose places come nearest to (K,) complex places."""
    move = np.where(task.freedom.spoken, place - task.freedom.net.place, 0j)
    return np.asarray(task.freedom.basis.T @ np.concatenate([move.real, move.imag]))


def _flipped(task: Task) -> Iterator[Floats]:
    """Groups put together the other way."""
    plan = plan_of(task.sketch)
    for block in plan.blocks:
        try:
            other = flip(task.sketch, plan.network.parts_of(block.moved))
        except CrankwrightError:
            continue
        yield toward(task, _places(task, other))


def _places(task: Task, sketch: Sketch) -> Complexes:
    """(K,) places of the nodes in a sketch of the same points."""
    at, place = sketch.places(), task.freedom.net.place.copy()
    for ref, node in task.freedom.net.of.items():
        place[node] = at[ref]
    return place
