"""A mechanism, its path and its wish in a window of a plate."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from app.figures.plate import BRASS, FAINT, GROUND, INK, WISH, Window
from core.model import Sketch, WantedPath
from core.motion import Turn, pose_at, solve_turn
from core.wanted.curves import sample_path

Places = NDArray[np.complex128]


def path_of(turn: Turn, ref: str) -> Places:
    """The path of a point over the turn, complex mm."""
    return np.asarray(turn.path(ref) @ np.array([1, 1j]))


def wished(wish: WantedPath) -> Places:
    """The wanted path as a fine polyline (of a wish of places, the places)."""
    if wish.curve == "places":
        return np.array([complex(x, y) for x, y in wish.through])
    return np.asarray(sample_path(wish)[0])


def draw_wish(window: Window, wish: WantedPath) -> None:
    """Dashed, or a ring for each place."""
    if wish.curve == "places":
        for place in wished(wish):
            window.dot(place, radius=3.5, colour=WISH, fill="none", width=1.6)
    else:
        window.line(wished(wish), colour=WISH, width=2.2, dash="6 4")


def draw_path(window: Window, turn: Turn, ref: str, width: float = 1.6) -> None:
    """A traced path in ink, closed where the crank goes all round."""
    window.line(path_of(turn, ref), colour=INK, width=width,
                closed=bool(turn.reached.all()))


def draw_linkage(window: Window, turn: Turn, crank_rad: float) -> None:
    """All moving parts at a crank angle as outlines through their points, pins in brass,
    fixed pivots as triangles."""
    sketch: Sketch = turn.sketch
    pose = pose_at(turn, np.array([crank_rad]))
    for part in sketch.parts:
        if part.fixed:
            continue
        corners = [complex(path_of(pose, f"{part.id}.{point.id}")[0]) for point in part.points]
        window.line(corners, colour=FAINT, width=5.0, closed=len(corners) > 2)
        window.line(corners, colour=GROUND, width=3.0, closed=len(corners) > 2)
    for pin in sketch.pins:
        place = complex(path_of(pose, pin.at[0])[0])
        if any(sketch.part(ref.partition(".")[0]).fixed for ref in pin.at):
            spot = window.at(place)
            window.plate.line([spot, spot + 7 + 12j, spot - 7 + 12j], colour=INK, width=1.4,
                              closed=True, fill=GROUND)
        window.dot(place, radius=3.2, colour=INK, fill=BRASS)


def reach(turn: Turn) -> Places:
    """Every place a pinned point comes to, for framing a picture."""
    return np.concatenate([path_of(turn, pin.at[0])[turn.reached] for pin in turn.sketch.pins])


def turned(sketch: Sketch) -> Turn:
    """The whole turn, 360 steps."""
    return solve_turn(sketch, steps=360)
