"""The rule that the crank may rock: what is watched, what comes out, and that off is off."""

from __future__ import annotations

import numpy as np
import pytest
from linkages import four_bar
from msgspec.structs import replace
from numpy.testing import assert_allclose
from rocking import RockingFourBar

from core.files import load, save
from core.model import FitRules, Sketch, Tick, WantedPath, WantedSwing
from core.model.edits.fitting import let_rock
from core.motion import pose_at, solve_turn
from core.wanted.fit import fit
from core.wanted.fit.rocking import goes, may_rock, of_whole_turn

EASY = FitRules(transmission_deg=0.0)
ROCKING = replace(EASY, rocking=True)
#: A crank longer than it may be to go round: it goes from 14° to 112°.
LOCKING = four_bar(100, 80, 90, 60, 60, point=45 + 30j)


def places(readings_deg: np.ndarray, *, timed: bool, tolerance: float = 0.5) -> WantedPath:
    """What the tracer of the locking four-bar passes at readings of its crank."""
    at = pose_at(solve_turn(LOCKING, 360), np.radians(readings_deg)).path("coupler.P")
    assert np.isfinite(at).all()
    return WantedPath(
        id="way", point="coupler.P", curve="places", closed=False, tolerance_mm=tolerance,
        through=tuple((float(x), float(y)) for x, y in at),
        ticks=tuple(Tick(at=float(k), crank_deg=float(each))
                    for k, each in enumerate(readings_deg)) if timed else ())


def beside(wish: WantedPath, rules: FitRules) -> Sketch:
    """The same four-bar with its joints drawn elsewhere, still one that locks."""
    return replace(four_bar(104, 82, 88, 63, 58, point=42 + 33j), wanted=(wish,), fit=rules)


READINGS = np.linspace(40.0, 80.0, 6)


@pytest.mark.parametrize("timed", [False, True])
def test_a_crank_that_locks_is_fitted_when_it_may_rock(timed: bool) -> None:
    wish = places(READINGS, timed=timed)
    sketch = beside(wish, ROCKING)
    assert not goes(solve_turn(sketch, 180))
    found = fit(sketch, seed=1, starts=0)
    drive = found.sketch.drive
    assert found.good
    assert drive is not None
    assert drive.kind == "rock"
    assert drive.to_deg - drive.from_deg < 300
    assert any("rocks between" in line for line in found.words)
    bar = RockingFourBar(found.sketch)
    swing = np.linspace(bar.low, bar.high, 5001)
    assert bar.margin(swing) > 0
    through = np.array([complex(*each) for each in wish.through])
    if timed:
        made = bar.path(np.radians(READINGS))
        assert bar.low <= np.radians(READINGS[0]) + 1e-9
        assert bar.high >= np.radians(READINGS[-1]) - 1e-9
    else:
        path = bar.path(swing)
        made = path[np.abs(path - through[:, None]).argmin(axis=1)]
    assert_allclose(np.abs(made - through), 0.0, atol=wish.tolerance_mm + 0.05)


def test_a_rocking_result_is_fitted_again_from_there() -> None:
    first = fit(beside(places(READINGS, timed=False), ROCKING), seed=1, starts=0).sketch
    again = fit(first, seed=1, starts=0)
    assert again.good
    assert again.error <= again.before_error + 1e-9


def test_without_the_rule_what_locks_is_not_taken() -> None:
    found = fit(beside(places(READINGS, timed=False), EASY), seed=1, starts=0)
    assert found.sketch.drive is not None
    assert found.sketch.drive.kind == "turn"
    assert found.sketch is found.before or goes(solve_turn(found.sketch, 720))
    assert not any("rock" in line for line in found.words)


def test_what_can_go_round_as_well_goes_round() -> None:
    sound = four_bar(100, 40, 120, 80, 40, point=60 + 50j)
    at = pose_at(solve_turn(sound, 360), np.radians([0.0, 40.0, 80.0, 120.0])).path("coupler.P")
    wish = WantedPath(id="way", point="coupler.P", curve="places", closed=False,
                      through=tuple((float(x), float(y)) for x, y in at))
    found = fit(replace(four_bar(102, 38, 118, 83, 40, point=57 + 53j), wanted=(wish,),
                        fit=ROCKING), seed=1, starts=0)
    assert found.good
    assert found.sketch.drive is not None
    assert found.sketch.drive.kind == "turn"
    assert goes(solve_turn(found.sketch, 720))


def test_wishes_of_the_whole_turn_keep_it_going_round() -> None:
    swing = WantedSwing(id="flap", part="rocker", from_deg=0, to_deg=40)
    sketch = replace(LOCKING, wanted=(swing,), fit=ROCKING)
    assert of_whole_turn(sketch.wanted) == ("flap",)
    assert not may_rock(sketch, sketch.wanted)
    found = fit(sketch, seed=1, starts=0)
    assert any("flap speaks of its whole turn" in line for line in found.words)
    assert goes(solve_turn(found.sketch, 360)) or found.sketch is found.before


def test_transmission_counts_within_the_swing_only() -> None:
    wish = places(np.linspace(45.0, 65.0, 5), timed=False)
    found = fit(beside(wish, replace(ROCKING, transmission_deg=30.0)), seed=1, starts=0)
    assert found.good
    assert not any("transmission" in line for line in found.words)


def test_the_rule_is_an_edit_that_is_saved_and_off_in_older_files(tmp_path) -> None:
    on = let_rock(LOCKING, True)
    assert on.fit.rocking
    assert let_rock(on, False) == LOCKING
    save(on, tmp_path / "on.json")
    assert load(tmp_path / "on.json") == on
    save(LOCKING, tmp_path / "off.json")
    assert "rocking" not in (tmp_path / "off.json").read_text()
    assert not load(tmp_path / "off.json").fit.rocking
