"""How fast the core is: against closed forms written by hand, against scipy's general
solver, and how a drag's refresh divides."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import cycle

import numpy as np
from msgspec.structs import replace

from app.bench.clock import Row, seconds
from app.bench.leg import by_fsolve, by_hand, walking_legs
from core.effort import effort
from core.model import Sketch
from core.motion import rates, solve_turn
from core.space import gaps
from core.study import study

STEPS = 720


def nudged(sketch: Sketch, count: int = 8) -> list[Sketch]:
    """The sketch as a drag gives it: the top joint of the first leg moved a little,
    another place each time, so that nothing is served from what is kept of a sketch."""

    def moved(by: float) -> Sketch:
        parts = tuple(replace(part, points=tuple(
            replace(point, x=point.x + by) if point.id == "top" else point
            for point in part.points)) if part.id in {"top link 0", "shoulder 0"} else part
            for part in sketch.parts)
        return replace(sketch, parts=parts)

    return [moved(0.01 * step) for step in range(1, count + 1)]


def position_rows() -> Iterator[Row]:
    """Positions over the whole turn of one walking leg."""
    crank = np.linspace(0.0, 2 * np.pi, STEPS, endpoint=False)
    sketch = walking_legs()
    turn = solve_turn(sketch, steps=STEPS)
    foot = turn.path("shin 0.foot")
    apart = np.abs(foot[:, 0] + 1j * foot[:, 1] - by_hand(crank)[-1]).max()
    yield Row("walking leg: foot apart from the closed form by hand", apart, "mm", 1e-9)
    feet = by_fsolve(crank)
    yield Row("walking leg: foot apart from scipy fsolve",
              np.abs(foot[:, 0] + 1j * foot[:, 1] - feet).max(), "mm")
    hand = seconds(lambda: by_hand(crank))
    drag = cycle(nudged(sketch))
    ours = seconds(lambda: solve_turn(next(drag), steps=STEPS, warm=turn))
    general = seconds(lambda: by_fsolve(crank), least=3)
    yield Row("whole turn of the leg, closed form by hand", hand * 1e3, "ms")
    yield Row("whole turn of the leg, ours", ours * 1e3, "ms")
    yield Row("  as a multiple of the closed form by hand", ours / hand, "×", 3.0)
    yield Row("whole turn of the leg, scipy fsolve step by step", general * 1e3, "ms")
    yield Row("  as a multiple of ours", general / ours, "×", 500.0, least=True)


def refresh_rows(legs: int, target_ms: float) -> Iterator[Row]:
    """One refresh while dragging, and what it is made of."""
    sketch = walking_legs(legs)
    turn = solve_turn(sketch, steps=STEPS)
    speeds = rates(turn)
    # More sketches than calls: each is new, as in a drag, and so are its parts.
    drag = cycle(nudged(sketch, 1000))
    name = "one leg" if legs == 1 else f"{legs} legs"
    parts = {
        "positions": seconds(lambda: solve_turn(next(drag), steps=STEPS, warm=turn)),
        "rates": seconds(lambda: rates(turn)),
        "reactions and torque": seconds(lambda: effort(turn, speeds)),
        "gaps": seconds(lambda: gaps(turn, refine=False)),
    }
    for what, taken in parts.items():
        yield Row(f"refresh, {name}: {what}", taken * 1e3, "ms")
    yield Row(f"refresh, {name}: sum", sum(parts.values()) * 1e3, "ms", target_ms)
    whole = seconds(lambda: study(next(drag), steps=STEPS, warm=turn, refine=False))
    yield Row(f"refresh, {name}: with findings, as the window asks", whole * 1e3, "ms")
    # Longer than a drag's: fewer calls say as much.
    rest = seconds(lambda: study(next(drag), steps=STEPS, warm=turn), least=3)
    yield Row(f"refresh, {name}: when the hand rests", rest * 1e3, "ms")


def solving_rows() -> Iterator[Row]:
    """All rows that need no window."""
    yield from position_rows()
    yield from refresh_rows(1, 8.0)
    yield from refresh_rows(12, 100.0)
