"""Gears and belts: ratios, planets, and how many turns it takes until all is back."""

from __future__ import annotations

import numpy as np
import pytest
from linkages import four_bar, linkage
from msgspec.structs import replace

from core.model import Belt, Mesh, Part, Pin, Point, Sketch
from core.motion import four_bars, pose_at, rates, solve_turn, structure


def turns_of(sketch: Sketch, part: str) -> float:
    """Whole turns of a part over the cycle."""
    turn = solve_turn(sketch)
    angle = turn.angle_rad[:, turn.row(part)]
    return float((angle[-1] - angle[0]) / (turn.crank_rad[-1] - turn.crank_rad[0])
                 * turn.crank_turns)


def train(meshes: tuple[Mesh, ...] = (), belts: tuple[Belt, ...] = ()) -> Sketch:
    return linkage(
        {"frame": {"O": 0j, "Q": 60 + 0j}, "crank": {"O": 0j, "A": 10 + 0j},
         "wheel": {"Q": 60 + 0j, "B": 80 + 0j}}, ["frame.O crank.O", "frame.Q wheel.Q"],
        meshes=meshes, belts=belts)


@pytest.mark.parametrize(("sketch", "ratio", "turns"), [
    (train((Mesh(id="m", a="crank.O", b="wheel.Q", teeth_a=20, teeth_b=33),)), -20 / 33, 33),
    (train((Mesh(id="m", a="wheel.Q", b="crank.O", teeth_a=60, teeth_b=20, internal=True),)),
     1 / 3, 3),
    (train((), (Belt(id="b", a="crank.O", b="wheel.Q", diameter_a_mm=25.4,
                     diameter_b_mm=38.1),)), 2 / 3, 3),
    (train((), (Belt(id="b", a="crank.O", b="wheel.Q", diameter_a_mm=30, diameter_b_mm=12,
                     crossed=True),)), -2.5, 2)])
def test_gears_and_belts_keep_their_ratio_over_the_cycle(sketch: Sketch, ratio: float,
                                                         turns: int) -> None:
    turn = solve_turn(sketch)
    assert (turn.crank_turns, turn.repeats) == (turns, True)
    assert turns_of(sketch, "wheel") == pytest.approx(ratio * turns, abs=1e-9)
    assert len(turn.crank_rad) <= 5760 + 90
    assert turn.residual_mm < 1e-9 * 60


def test_a_ratio_that_never_comes_back_shows_the_turns_asked_for() -> None:
    belt = Belt(id="b", a="crank.O", b="wheel.Q", diameter_a_mm=30, diameter_b_mm=30 * 2**.5)
    turn = solve_turn(replace(train((), (belt,)), turns=3))
    assert (turn.crank_turns, turn.repeats) == (3, False)
    assert len(turn.crank_rad) == 3 * 720
    mesh = Mesh(id="m", a="crank.O", b="wheel.Q", teeth_a=20, teeth_b=73)
    turn = solve_turn(train((mesh,)))
    assert (turn.crank_turns, turn.repeats) == (1, False)


def planetary(ring_fixed: bool = True) -> Sketch:
    """Sun 20 driven, planet 20, ring 60 on the frame; the carrier turns."""
    sketch = linkage(
        {"frame": {"O": 0j}, "crank": {"O": 0j, "A": 10 + 0j},
         "planet": {"C": 30 + 0j, "P": 45 + 0j}, "carrier": {"O": 0j, "C": 30 + 0j}},
        ["frame.O crank.O carrier.O", "carrier.C planet.C"],
        meshes=(Mesh(id="in", a="crank.O", b="planet.C", teeth_a=20, teeth_b=20),
                Mesh(id="out", a="frame.O", b="planet.C", teeth_a=60, teeth_b=20,
                     internal=True)))
    return sketch if ring_fixed else replace(sketch, meshes=sketch.meshes[:1])


def test_a_planetary_gear_turns_its_carrier() -> None:
    """Carrier Ts / (Ts + Tr) of the sun (Willis's formula; from memory)."""
    turn = solve_turn(planetary())
    assert turn.crank_turns == 4
    assert turns_of(planetary(), "carrier") == pytest.approx(1, abs=1e-9)
    assert turns_of(planetary(), "planet") == pytest.approx(-2, abs=1e-9)
    loose = structure(planetary(ring_fixed=False))
    assert loose.loose == ("planet", "carrier")
    assert loose.mobility == 2


def rolling_rocker(teeth: tuple[int, int]) -> Sketch:
    """A gear on the end of a rocker, meshed with one fast to the frame."""
    base = four_bar(100, 40, 120, 80, 40)
    end = complex(base.point("rocker.B").x, base.point("rocker.B").y)
    wheel = Part(id="wheel", points=(Point(id="B", x=end.real, y=end.imag),
                                     Point(id="T", x=end.real, y=end.imag + 20)))
    pins = tuple(replace(pin, at=(*pin.at, "wheel.B")) if pin.id == "B" else pin
                 for pin in base.pins)
    return replace(base, parts=(*base.parts, wheel), pins=pins, meshes=(
        Mesh(id="m", a="frame.Q", b="wheel.B", teeth_a=teeth[0], teeth_b=teeth[1]),))


def test_a_gear_rolling_to_and_fro_on_a_rocker_comes_back_every_turn() -> None:
    sketch = rolling_rocker((30, 47))
    turn = solve_turn(sketch)
    assert turn.crank_turns == 1
    rocker, wheel = (turn.angle_rad[:, turn.row(part)] for part in ("rocker", "wheel"))
    assert np.abs(wheel - (1 + 30 / 47) * rocker).max() < 1e-12
    spin = rates(turn).spin
    assert np.abs(spin[turn.row("wheel")] - (1 + 30 / 47) * spin[turn.row("rocker")]).max() \
        < 1e-12


def test_a_gear_on_a_turning_coupler_needs_as_many_turns_as_its_teeth_ask() -> None:
    """A double crank's driven link goes round once a turn; a gear on it 20 : 30 to the
    frame makes 1 + 2/3 turns, back after three."""
    base = four_bar(20, 50, 55, 60, 40)
    assert four_bars(solve_turn(base))[0].kind == "double crank"
    end = complex(base.point("rocker.B").x, base.point("rocker.B").y)
    wheel = Part(id="wheel", points=(Point(id="B", x=end.real, y=end.imag),))
    pins = tuple(replace(pin, at=(*pin.at, "wheel.B")) if pin.id == "B" else pin
                 for pin in base.pins)
    sketch = replace(base, parts=(*base.parts, wheel), pins=pins, meshes=(
        Mesh(id="m", a="frame.Q", b="wheel.B", teeth_a=20, teeth_b=30),))
    turn = solve_turn(sketch)
    assert (turn.crank_turns, turn.repeats) == (3, True)
    angle = turn.angle_rad[:, turn.row("wheel")]
    beyond = pose_at(turn, np.array([6 * np.pi, 0.0]))
    assert np.abs(beyond.rotation[:, 0] - beyond.rotation[:, 1]).max() < 1e-9
    assert beyond.angle_rad[0, turn.row("wheel")] - angle[0] == pytest.approx(10 * np.pi)


def test_a_geared_mechanism_that_locks_within_a_turn_shows_one_turn() -> None:
    sketch = four_bar(20, 10, 10, 10, 10)  # locks at ±75.5°
    wheel = Part(id="wheel", points=(Point(id="W", x=-30, y=0),))
    frame = sketch.part("frame")
    frame = replace(frame, points=(*frame.points, Point(id="W", x=-30, y=0)))
    sketch = replace(
        sketch, parts=(frame, *sketch.parts[1:], wheel),
        pins=(*sketch.pins, Pin(id="W", at=("frame.W", "wheel.W"))),
        meshes=(Mesh(id="m", a="crank.O", b="wheel.W", teeth_a=20, teeth_b=33),))
    turn = solve_turn(sketch)
    assert turn.crank_turns == 1
    assert turn.reached.sum() == 303
    angle = turn.angle_rad[turn.reached, turn.row("wheel")]
    crank = turn.angle_rad[turn.reached, turn.row("crank")]
    assert np.abs(angle + crank * 20 / 33).max() < 1e-12


def test_the_pins_of_one_axis_may_be_drawn_one_by_one() -> None:
    """Sun and carrier each pinned to the frame at the same place by a pin of its own."""
    sketch = planetary()
    pins = (Pin(id="sun axle", at=("frame.O", "crank.O")),
            Pin(id="carrier axle", at=("frame.O", "carrier.O")), *sketch.pins[1:])
    sketch = replace(sketch, pins=pins, drive=replace(sketch.drive, pin="sun axle"))
    assert structure(sketch).loose == ()
    assert turns_of(sketch, "carrier") == pytest.approx(1, abs=1e-9)
