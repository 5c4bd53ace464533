"""How a wish is met, in a sentence."""

from __future__ import annotations

import math

from core.model import (
    Sketch,
    WantedAngle,
    WantedDwell,
    WantedPath,
    WantedPose,
    WantedRatio,
    WantedStroke,
    WantedSwing,
)
from core.model.wanted import WantedMotion
from core.units import show_angle, show_length


def met_text(sketch: Sketch, wish: WantedMotion, worst: float, unit: str, crank_rad: float,
             met: bool) -> str:
    """One sentence: what moves, by how much it misses at worst, and where.

    `worst` in `unit` ("mm", "deg" or "" for a ratio), infinite where not reached.
    """
    what, task = _task(wish)
    if not math.isfinite(worst):
        return f"{what} cannot {task[0]} where the crank does not go."
    where = f" at {show_angle(round(math.degrees(crank_rad), 1) % 360.0)}"
    if isinstance(wish, WantedRatio):
        return (f"The strokes of {what} are {'in' if met else 'not in'} the time ratio of"
                f" {wish.ratio:g}: off by {worst:.3g}.")
    least = max(worst, 0.01)  # nobody cuts finer
    error = show_length(least, sketch.units) if unit == "mm" else show_angle(_short(least))
    if met:
        return f"{what} {task[1]} within {error}."
    return f"{what} {task[2]} by {error}{where}."


def _short(degrees: float) -> float:
    return round(degrees, 2 if degrees < 1.0 else 1)


def _task(wish: WantedMotion) -> tuple[str, tuple[str, str, str]]:
    """What a wish is about; what it cannot do, what it does, what it fails to do."""
    match wish:
        case WantedPath():
            if wish.curve == "places":
                return wish.point, ("come to its places", "comes to its places",
                                    "misses a place")
            return wish.point, ("follow its path", "keeps to its path", "leaves its path")
        case WantedAngle():
            return wish.part, ("be at its angle", "follows its angles", "is off its angle")
        case WantedPose():
            return wish.at, ("be in its pose", "is in its pose", "misses its pose")
        case WantedSwing():
            return wish.part, ("swing so far", "swings as far as wished",
                               "misses an end of its swing")
        case WantedStroke():
            return wish.point, ("go so far", "goes to and fro as wished", "misses its stroke")
        case WantedDwell():
            return wish.part or wish.point, ("rest", "rests", "moves when it should rest")
        case WantedRatio():
            return wish.part or wish.point, ("keep its time", "", "")
