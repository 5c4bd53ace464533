"""A four-bar in closed form, written for the tests alone: places, angles and derivatives of
any order of smallness by complex steps, and what goals see of it."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from core.wanted.goals import Dense, Goals, Instants, Seen

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]

#: Ground, crank, coupler, rocker, tracer along and left of the coupler, direction of the
#: ground, place of the crank's pivot.
NORTON = np.array([100, 40, 120, 80, 60, 50, 0.1, 5, -3.0])
_STEP = 1e-30


def joints(p: Complexes | Floats, crank: Complexes | Floats) -> tuple[NDArray, ...]:
    """x, y of the tracer, and x, y of the rocker's pin from its pivot in the frame of the
    ground; analytic in p (9,) and crank (K,), so that complex steps may be taken."""
    d, a, b, c, along, left, turn, x0, y0 = p
    ax, ay = a * np.cos(crank), a * np.sin(crank)
    dx, dy = d - ax, -ay
    square = dx * dx + dy * dy
    u = (square + b * b - c * c) / (2 * square)
    with np.errstate(invalid="ignore"):
        h = np.sqrt(b * b / square - u * u)
    bx, by = u * dx - h * dy, u * dy + h * dx
    ex, ey = bx / b, by / b
    px, py = ax + along * ex - left * ey, ay + along * ey + left * ex
    cos, sin = np.cos(turn), np.sin(turn)
    return x0 + cos * px - sin * py, y0 + sin * px + cos * py, ax + bx - d, ay + by


def dense(p: Floats, goals: Goals, steps: int = 180) -> Dense:
    """The tracer for every point channel, the rocker's direction for every angle."""
    crank = np.linspace(0, 2 * np.pi, steps, endpoint=False)
    x, y, qx, qy = joints(p, crank)
    angle = np.unwrap(np.arctan2(qy, qx) + p[6])
    values = tuple((x + 1j * y if one.kind == "point" else angle)[None]
                   for one in goals.channels)
    return Dense(crank, values, np.isfinite(x)[None], 2 * np.pi)


def seen(p: Floats, goals: Goals, instants: Instants, deriv: bool = True) -> Seen:
    """Exact values, slopes and derivatives by the nine numbers at the instants; angles
    without their whole turns."""
    crank = instants.crank_rad[0]
    x, y, qx, qy = joints(p, crank)
    value = np.where(goals.angles, np.arctan2(qy, qx) + p[6], x + 1j * y)

    def small(q: Complexes, at: Complexes) -> Complexes:
        x, y, qx, qy = joints(q, at)
        spin = ((qx.real * qy.imag - qy.real * qx.imag) / (qx.real**2 + qy.real**2)
                + q[6].imag)
        return np.where(goals.angles, spin, x.imag + 1j * y.imag) / _STEP

    whole = p.astype(complex)
    slope = small(whole, crank + 1j * _STEP)
    if not deriv:
        return Seen(value[None], slope[None])
    tilted = whole + 1j * _STEP * np.eye(p.size)
    columns = [small(q, crank.astype(complex)) for q in tilted]
    return Seen(value[None], slope[None], np.stack(columns, axis=-1)[None])


def settled(p: Floats, goals: Goals, instants: Instants, rounds: int = 20) -> Instants:
    """The instants improved until they move no more."""
    for _ in range(rounds):
        instants = goals.advance(instants, seen(p, goals, instants, deriv=False))
    return instants


def interpolated(dense: Dense, instants: Instants) -> Seen:
    """Values and slopes at the instants, between the steps of a trace."""
    return Seen(*dense.at_each(instants.channel, instants.crank_rad)[:2])
