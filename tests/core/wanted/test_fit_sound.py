"""What comes out of a fit can be built: no link collapses, no gears share an axis, and what
holds it back is told whichever rule it is."""

from __future__ import annotations

import numpy as np
import pytest
import weighted
from linkages import four_bar, linkage
from msgspec.structs import replace

from core.model import (
    FitRules,
    LengthRule,
    Mesh,
    Sketch,
    Tick,
    WantedPath,
    WantedSwing,
    Zone,
)
from core.model.validate import problems
from core.motion import solve_turn
from core.wanted.fit import Progress, fit, tuning

EASY = FitRules(transmission_deg=0.0)


def tiny_loop(sketch: Sketch, ref: str, across_mm: float, **more: object) -> Sketch:
    """The sketch, wished to draw a small round loop where its point goes now."""
    middle = solve_turn(sketch, 24).path(ref).mean(axis=0)
    round_ = np.exp(2j * np.pi * np.arange(12) / 12) * across_mm / 2
    wish = WantedPath(id="loop", point=ref, tolerance_mm=0.01, either_way=True, through=tuple(
        (float(middle[0] + z.real), float(middle[1] + z.imag)) for z in round_))
    return replace(sketch, wanted=(wish,), fit=EASY, **more)


def shortest(sketch: Sketch, part: str, one: str, other: str) -> float:
    return abs(sketch.place(f"{part}.{one}") - sketch.place(f"{part}.{other}"))


def test_pins_of_a_link_keep_wood_between_them() -> None:
    """A loop of half a millimetre wants a crank of a quarter; 6 mm pins want 9 mm."""
    sketch = tiny_loop(four_bar(200, 40, 240, 160, 40, point=60 + 50j), "coupler.P", 0.5)
    found = fit(sketch, starts=0).sketch
    again = fit(found, starts=0, seed=1).sketch
    for each in (found, again):
        assert shortest(each, "crank", "O", "A") > 9.0 - 1e-6
        assert shortest(each, "coupler", "A", "B") > 9.0 - 1e-6


def test_an_eccentric_keeps_half_its_pins_however_often_one_fits() -> None:
    sketch = tiny_loop(four_bar(200, 5, 240, 160, 40, point=60 + 50j), "coupler.P", 0.5)
    for seed in range(2):
        sketch = fit(sketch, starts=0, seed=seed).sketch
    assert shortest(sketch, "crank", "O", "A") > 3.0 - 1e-6


def test_wheels_in_mesh_never_come_to_turn_about_one_place() -> None:
    """All fixed pivots are wanted at one place, which a pair of gears cannot have."""
    sketch = weighted.geared_pair()
    centre = complex(np.mean([sketch.place(ref) for pin in sketch.pins for ref in pin.at]))
    zone = Zone(id="here", corners=((centre.real, centre.imag),))
    asked = tiny_loop(sketch, "rod.P", 10.0, zones=(zone,))
    found = fit(asked, starts=1).sketch
    assert not problems(found)
    assert abs(found.place(found.meshes[0].a) - found.place(found.meshes[0].b)) > 0.1


def test_a_rule_of_points_nothing_else_speaks_of_can_be_what_holds_back() -> None:
    """Without the rule its point no longer counts, so the fit without it has fewer numbers."""
    sketch = four_bar(100, 40, 120, 80, 40, point=60 + 50j)
    rule = LengthRule(id="arm", ends=("coupler.A", "coupler.P"), shortest_mm=70.0,
                      longest_mm=79.0)
    other = replace(sketch, wanted=(), length_rules=(rule,), fit=EASY)
    wish = WantedPath(id="loop", point="coupler.B", tolerance_mm=0.01, curve="places",
                      closed=False, through=((130.0, 30.0), (150.0, 80.0), (90.0, 90.0)))
    found = fit(replace(other, wanted=(wish,)), starts=1)
    assert found.words
    assert 70.0 - 1e-6 < shortest(found.sketch, "coupler", "A", "P") < 79.0 + 1e-6


def swinging(to_deg: float, **more: object) -> Sketch:
    """A four-bar whose rocker is to swing from 0 to an angle, half a degree either way."""
    wish = WantedSwing(id="swing", part="rocker", from_deg=0, to_deg=to_deg,
                       tolerance_deg=0.5)
    sketch = replace(four_bar(100, 40, 120, 80, 40, point=60 + 50j), fit=EASY, wanted=(wish,))
    return replace(sketch, **more)


def test_locked_lengths_that_hold_back_are_named() -> None:
    sketch = swinging(90)
    parts = tuple(replace(part, lengths_locked=part.id == "crank", points=tuple(
        replace(point, locked=part.fixed or point.id == "B") for point in part.points))
        for part in sketch.parts)
    found = fit(replace(sketch, parts=parts), starts=0)
    assert not found.good
    assert any("lock on the lengths of crank holds it back" in said for said in found.words)


def test_the_wish_for_a_transmission_angle_is_named_when_it_holds_back() -> None:
    sketch = four_bar(100, 40, 120, 80, 40, point=60 + 50j)
    path = 1.2 * solve_turn(sketch, 24).path("coupler.P") + [10, 5]
    wish = WantedPath(id="path", point="coupler.P",
                      through=tuple((float(x), float(y)) for x, y in path))
    found = fit(replace(sketch, wanted=(wish,), fit=FitRules(transmission_deg=80.0)), starts=0)
    assert not found.good
    assert any("wish for a transmission angle of 80° holds it back" in said
               for said in found.words)


def test_wishes_that_pull_against_each_other_are_named() -> None:
    sketch = swinging(40)
    (one,) = sketch.wanted
    found = fit(replace(sketch, wanted=(one, replace(one, id="wide", to_deg=60))), starts=0)
    assert not found.good
    (said,) = [said for said in found.words if "pull against each other" in said]
    assert "swing" in said
    assert "wide" in said


def test_what_holds_a_fit_back_is_sought_no_further_once_it_is_stopped(
        monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(tuning, "PAUSE_S", 0.0)
    sketch = four_bar(100, 40, 120, 80, 40, point=60 + 50j)
    rule = LengthRule(id="arm", ends=("coupler.A", "coupler.P"), shortest_mm=76.0,
                      longest_mm=79.0)
    asked = tiny_loop(sketch, "coupler.P", 30.0, length_rules=(rule,))
    stages: list[str] = []

    def report(progress: Progress) -> bool:
        stages.append(progress.stage)
        return progress.stage != "what holds it back"

    found = fit(asked, starts=0, report=report)
    assert stages.count("what holds it back") == 1
    assert stages[-1] == "what holds it back"
    assert not found.stopped  # all that was to be tried had been


@pytest.mark.parametrize(("teeth", "late_deg"), [(20, 100.0), (40, 300.0), (40, 500.0),
                                                 (40, 650.0)])
def test_a_crank_whose_zero_alone_is_off_has_it_put_right(teeth: int, late_deg: float) -> None:
    """A wheel's point at the very places wished, but at other readings of the crank; in a
    cycle of two turns too, where the zero moves by half a cycle at most."""
    sketch = linkage(
        {"frame": {"O": 0j, "Q": 90 + 0j}, "crank": {"O": 0j, "T": 20 + 0j},
         "wheel": {"Q": 90 + 0j, "T": 120 + 10j}}, ["frame.O crank.O", "frame.Q wheel.Q"],
        meshes=(Mesh(id="m", a="crank.O", b="wheel.Q", teeth_a=20, teeth_b=teeth),))
    turn = solve_turn(sketch, 8)
    wish = WantedPath(
        id="loop", point="wheel.T", curve="places", tolerance_mm=0.1,
        through=tuple((float(x), float(y)) for x, y in turn.path("wheel.T")),
        ticks=tuple(Tick(at=float(k), crank_deg=float(np.degrees(crank)) + late_deg)
                    for k, crank in enumerate(turn.crank_rad)))
    found = fit(replace(sketch, wanted=(wish,)), starts=0)
    assert found.good
    assert abs(found.sketch.drive.drawn_deg) <= 180.0 * turn.crank_turns
    off = (found.sketch.drive.drawn_deg - late_deg) % (360.0 * turn.crank_turns)
    assert min(off, 360.0 * turn.crank_turns - off) < 1e-3
