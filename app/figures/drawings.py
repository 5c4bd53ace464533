"""Shapes nobody's mechanism made, as a hand draws them: places in order, mm.

Our own drawings. Each outline is a formula or a few arcs of ours, drawn about 100 mm large
and then with a slightly unsteady hand: a smooth wander of some half a millimetre, of fixed
phase, so that they are the same each time. No linkage draws any of them exactly.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Places = NDArray[np.complex128]


def _hand(outline: Places, phase: float) -> Places:
    """The outline as an unsteady hand gives it, rounded to a tenth of a millimetre."""
    t = np.arange(len(outline)) / len(outline) * 2 * np.pi
    wander = (0.45 * np.sin(3 * t + phase) + 0.3 * np.sin(7 * t + 2.6 * phase)
              + 1j * (0.4 * np.cos(4 * t + 1.7 * phase) + 0.3 * np.sin(5 * t - phase)))
    return np.round(outline + wander, 1)


def _along(corners: Places, count: int) -> Places:
    """`count` places at even distances along a closed polyline."""
    closed = np.append(corners, corners[0])
    at = np.concatenate([[0.0], np.cumsum(np.abs(np.diff(closed)))])
    return np.asarray(np.interp(np.linspace(0, at[-1], count, endpoint=False), at, closed))


def _figure_eight() -> Places:
    """Lying, its right loop the bigger one."""
    t = np.arange(24) / 24 * 2 * np.pi
    return 50 * np.cos(t) * (1 + 0.15 * np.cos(t)) + 26j * np.sin(2 * t)


def _bean() -> Places:
    t = np.arange(18) / 18 * 2 * np.pi
    return 45 * np.cos(t) + 1j * (22 * np.sin(t) + 24 * np.cos(t) ** 2)


def _teardrop() -> Places:
    """Round below, pointed above."""
    t = np.arange(20) / 20 * 2 * np.pi
    return 30 * np.sin(t) * np.sin(t / 2) ** 1.5 + 48j * np.cos(t)


def _letter_d() -> Places:
    """A straight back of 80 mm and a half circle."""
    bow = 40 * np.exp(1j * np.linspace(-np.pi / 2, np.pi / 2, 60))
    return _along(np.append(bow, -40j), 22)


def _crescent() -> Places:
    """A waning moon: an arc of 50 mm from horn to horn, and a flatter one back."""
    outer = 50 * np.exp(1j * np.radians(np.linspace(-105, 105, 60)))
    horn = outer[-1]
    centre = horn.real - 10
    half = np.angle(horn - centre)
    inner = centre + abs(horn - centre) * np.exp(1j * np.linspace(half, -half, 60)[1:-1])
    return _along(np.concatenate([outer, inner]), 26)


DRAWN: dict[str, Places] = {
    "figure eight": _hand(_figure_eight(), 0.4), "bean": _hand(_bean(), 1.9),
    "teardrop": _hand(_teardrop(), 2.7), "D": _hand(_letter_d(), 0.9),
    "crescent": _hand(_crescent(), 1.3),
}
