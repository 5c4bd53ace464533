"""A fit leaves the sketch as it was drawn, as far as that costs nothing that counts."""

from __future__ import annotations

import numpy as np
from linkages import four_bar
from msgspec.structs import replace
from numpy.typing import NDArray
from test_fit_parts import EASY

from core.model import Sketch, Tick, WantedPath
from core.motion import solve_turn
from core.wanted.fit import fit, staying
from core.wanted.fit.beginnings import begin
from core.wanted.fit.descent import descend
from core.wanted.fit.looking import Look, Task, task

BAR = four_bar(100, 40, 120, 80, 40, point=60 + 50j)


def wished(shift: complex, scale: float = 1.0, timed: bool = False) -> Sketch:
    """The four-bar asked for its own path, shifted and scaled about its middle."""
    path = solve_turn(BAR, 24).path("coupler.P") @ np.array([1, 1j])
    path = path.mean() + scale * (path - path.mean()) + shift
    ticks = tuple(Tick(at=float(k), crank_deg=40.0 + 15.0 * k) for k in range(24)) \
        if timed else ()
    wish = WantedPath(id="path", point="coupler.P", curve="places" if timed else "smooth",
                      through=tuple((float(at.real), float(at.imag)) for at in path),
                      ticks=ticks)
    return replace(BAR, wanted=(wish,), fit=EASY)


def moved(one: Sketch, other: Sketch) -> float:
    """The largest move of any point, mm."""
    was, now = one.places(), other.places()
    return max(abs(now[ref] - place) for ref, place in was.items())


def lowest(work: Task) -> Look:
    """Where the way down from the sketch itself ends."""
    own = begin(work, np.zeros(work.freedom.count))
    assert own is not None
    *_, last = descend(work, own, 80)
    return work.matched(last.look)


def errors(work: Task, look: Look) -> NDArray[np.float64]:
    return work.goals.error(look.r[None])


def test_a_path_moved_by_five_mm_moves_no_point_much_further() -> None:
    for sketch in (wished(4 + 3j), wished(0j, 1.08)):
        found = fit(sketch)
        assert found.good
        assert moved(sketch, found.sketch) < 8.0  # 11 to 13 at the least of the errors


def test_the_way_back_is_shorter_and_costs_no_more_than_it_may() -> None:
    work = task(wished(4 + 3j), wished(4 + 3j).wanted)
    low = lowest(work)
    bounds = staying.bounds_of(work, low, None)
    looks = list(staying.back(work, low, bounds))
    lengths = [float(np.linalg.norm(look.w)) for look in (low, *looks)]
    assert lengths == sorted(lengths, reverse=True)
    assert lengths[-1] < 0.7 * lengths[0]
    assert errors(work, looks[-1])[0] <= 2.0 * errors(work, low)[0] + 1e-9
    assert all(staying.worst(work, look) <= staying.INSIDE for look in looks)


def test_half_of_what_was_won_is_kept() -> None:
    work = task(wished(0.3 + 0j), wished(0.3 + 0j).wanted)
    own, low = begin(work, np.zeros(work.freedom.count)), lowest(work)
    assert own is not None
    bounds = staying.bounds_of(work, low, own)
    most = 0.5 * (errors(work, own)[0] + errors(work, low)[0])
    assert np.sqrt(bounds.missed / work.goals.weight) <= most + 1e-6


def test_places_are_met_as_exactly_as_before() -> None:
    sketch = wished(4 + 3j, timed=True)
    work = task(sketch, sketch.wanted)
    assert not staying.by_hand(work)
    found = fit(sketch)
    assert found.error < 1e-9
    assert moved(sketch, found.sketch) < 5.5
