"""Where the crank runs away: the stretches of the turn in which the torque is negative."""

from __future__ import annotations

import numpy as np

from core.effort.frames import Floats
from core.motion import Turn


def below_zero(
    turn: Turn, values: Floats, nothing: float = 0.0
) -> tuple[tuple[float, float], ...]:
    """Crank intervals in which values (N,) are below −`nothing`.

    Ends are where the straight line between two steps crosses zero, or the last step on
    that side that has a value. An interval over the end of a repeating turn is one.
    """
    crank, low = turn.crank_rad, values < -nothing
    if not low.any():
        return ()
    cycle = turn.crank_turns * 2.0 * np.pi
    drive = turn.sketch.drive
    round_ = turn.repeats and drive is not None and drive.kind == "turn"
    if low.all():
        return ((float(crank[0]), float(crank[0] + cycle if round_ else crank[-1])),)
    if round_:
        first = int(np.flatnonzero(~low)[0])
        low = np.roll(low, -first)
        values = np.append(np.roll(values, -first), values[first])
        crank = np.append(np.append(crank[first:], crank[:first] + cycle),
                          crank[first] + cycle)
        low = np.append(low, False)
    edges = np.diff(np.concatenate([[False], low, [False]]).astype(int))
    starts, stops = np.flatnonzero(edges == 1), np.flatnonzero(edges == -1) - 1
    found = []
    for start, stop in zip(starts.tolist(), stops.tolist(), strict=True):
        begin = _crossing(crank, values, start, start - 1)
        end = _crossing(crank, values, stop, stop + 1)
        over = cycle if round_ and begin >= turn.crank_rad[0] + cycle else 0.0
        found.append((begin - over, end - over))
    return tuple(sorted(found))


def _crossing(crank: Floats, values: Floats, inside: int, outside: int) -> float:
    if not 0 <= outside < crank.size or not np.isfinite(values[outside]):
        return float(crank[inside])
    part = values[inside] / (values[inside] - max(values[outside], 0.0))
    return float(crank[inside] + part * (crank[outside] - crank[inside]))
