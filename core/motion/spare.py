"""Joints more than needed: how far off they are over the turn, and how that changes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from core.motion.closed import normal
from core.motion.network import GROUND
from core.motion.residual import sketch_size
from core.motion.running import near_touches
from core.motion.sensitivity import Moved, at_slots, velocities_of
from core.motion.turn import Floats, Turn

#: Steps nearer than this (rad) to where solutions of a group touch are left out, and those
#: where a group has less margin than this: there misfits tell of the lock.
SHARP, MARGIN = 0.05, 1e-2


def spare_misfits(turn: Turn, moves: Sequence[Mapping[str, complex]]) -> tuple[Floats, Floats]:
    """Misfits of the joints a turn was solved without, and their derivatives by moves of
    drawn points: all zero where such joints are redundant.

    Parameters
    ----------
    turn : solved, or poses of it, whether its crank moves or not; every step counts, so
        few will do.
    moves : as of :func:`core.motion.sensitivity`.

    Returns
    -------
    values : (E,) mm; misfits of angles as arcs at the sketch's size.
    slopes : (E, D) mm per unit of move.

    Raises
    ------
    MotionError
        For a turn that was not solved.
    """
    solution = turn.solved
    plan, state = solution.grid.plan, solution.state
    net, spare = plan.network, set(plan.spare)
    rows: list[tuple[NDArray[np.float64], NDArray[np.float64]]] = []
    samples, count = len(state.turn), len(moves)
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        moved = Moved(state, at_slots(turn, velocities_of(turn, moves)))

        def note(value: object, slope: object) -> None:
            rows.append((np.broadcast_to(np.asarray(value, float), (samples,)),
                         np.broadcast_to(np.asarray(slope, float), (count, samples))))

        for pin in net.pins:
            for end in pin.ends[1:] if pin.id in spare else ():
                off = np.asarray(state.at(end) - state.at(pin.ends[0]))
                change = np.asarray(moved.place(end) - moved.place(pin.ends[0]))
                note(off.real, change.real)
                note(off.imag, change.imag)
        for line in net.lines:
            if line.id in spare:
                carrier = line.start.body
                rotation = state.rotation[carrier]
                across = np.conj(rotation * normal(state, line.start, line.end))
                gap = state.at(line.point) - state.at(line.start)
                way = state.drawn[line.end] - state.drawn[line.start.slot]
                tilt = moved.slots[line.end] - moved.slots[line.start.slot]
                swung = -1j * (moved.spin[carrier] + np.imag(tilt / way)) * across
                apart = moved.place(line.point) - moved.place(line.start)
                note(np.real(across * gap), np.real(across * apart + swung * gap))
        for law in net.laws:
            if law.id in spare:
                terms = [(body, float(factor)) for body, factor in law.terms
                         if body != GROUND]
                off = np.asarray(sum(factor * state.angle(body) for body, factor in terms))
                size = sketch_size(state)
                note(size * np.sin(off), size * np.cos(off) * sum(
                    factor * moved.spin[body] for body, factor in terms))
    if not rows:
        return np.zeros(0), np.zeros((0, count))
    good = np.ones(samples, bool)
    good[near_touches(solution.grid.tracks, state.turn, solution.grid.period, SHARP)] = False
    for margin in state.margin:
        if margin is not None:
            good &= margin > MARGIN
    value = np.stack([each for each, _ in rows])
    slope = np.stack([each for _, each in rows])
    good &= np.isfinite(value).all(axis=0) & np.isfinite(slope).all(axis=(0, 1))
    return (value[:, good].ravel(),
            np.moveaxis(slope[:, :, good], 1, -1).reshape(value[:, good].size, count))
