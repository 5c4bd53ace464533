"""A mechanism bent out of shape is fitted back to its own path.

The walking leg's eleven numbers and two offsets: read in several places; its foot path
follows from them. The eight-bar is our own. What is wished is a path the mechanism can
draw exactly, so a fit has no excuse; from where it starts it may also find another
mechanism with the same path.
"""

from __future__ import annotations

import numpy as np
import pytest
from linkages import bent, eight_bar, walking_leg
from msgspec.structs import replace
from numpy.typing import NDArray

from core.model import FitRules, Sketch, Tick, WantedPath
from core.motion import pose_at, solve_turn
from core.wanted.fit import fit

Places = NDArray[np.complex128]


def drawn(sketch: Sketch, ref: str) -> Places:
    """The whole path of a point; the crank goes round."""
    turn = solve_turn(sketch)
    assert turn.reached.all()
    return np.asarray(turn.path(ref) @ np.array([1, 1j]))


def wish(sketch: Sketch, ref: str, count: int, timed: bool) -> WantedPath:
    """The path a point of the sketch draws, as a wish through `count` places."""
    crank = np.arange(count) * 360.0 / count
    at = pose_at(solve_turn(sketch), np.radians(crank)).path(ref)
    return WantedPath(
        id="own path", point=ref, through=tuple((float(x), float(y)) for x, y in at),
        curve="places" if timed else "smooth", closed=not timed,
        ticks=tuple(Tick(at=float(k), crank_deg=float(deg)) for k, deg in enumerate(crank))
        if timed else (), tolerance_mm=0.2)


def locked_pivots(sketch: Sketch) -> Sketch:
    return replace(sketch, parts=tuple(
        replace(part, points=tuple(replace(point, locked=True) for point in part.points))
        if part.fixed else part for part in sketch.parts))


def apart(one: Places, other: Places) -> float:
    """Root mean square distance of the places of one closed path from the chords of the
    other, whichever way round is worse."""
    return max(_from(one, other), _from(other, one))


def _from(places: Places, path: Places) -> float:
    way = np.roll(path, -1) - path
    off = places[:, None] - path
    share = np.clip((off * way.conj()).real / np.maximum(np.abs(way) ** 2, 1e-30), 0, 1)
    return float(np.sqrt((np.abs(off - share * way).min(axis=1) ** 2).mean()))


@pytest.mark.parametrize(("seed", "timed"), [(0, True), (1, False)])
def test_a_bent_walking_leg_finds_its_step_again(seed: int, timed: bool) -> None:
    leg = walking_leg()
    asked = wish(leg, "foot.F", 24 if timed else 96, timed)
    start = replace(bent(locked_pivots(leg), 2.0, seed), wanted=(asked,),
                    fit=FitRules(transmission_deg=0.0))
    path = drawn(leg, "foot.F")
    size = float(np.ptp(path.real))
    assert apart(drawn(start, "foot.F"), path) > 0.02 * size
    found = fit(start, seed=seed)
    # Timed, the wish is exact; the smooth one lies a thousandth of a millimetre beside it.
    assert apart(drawn(found.sketch, "foot.F"), path) < (1e-8 if timed else 1e-4) * size


def test_a_hidden_eight_bar_is_found_from_its_path() -> None:
    whole = eight_bar(crank=6.0)
    start = replace(bent(whole, 1.5, 5), wanted=(wish(whole, "plate.W", 30, True),),
                    fit=FitRules(transmission_deg=0.0))
    path = drawn(whole, "plate.W")
    size = float(max(np.ptp(path.real), np.ptp(path.imag)))
    assert apart(drawn(start, "plate.W"), path) > 0.02 * size
    found = fit(start, seed=5)
    assert apart(drawn(found.sketch, "plate.W"), path) < 1e-4 * size
