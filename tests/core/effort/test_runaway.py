"""Where the crank runs away, the peaks, and turns that are not whole."""

from __future__ import annotations

import cmath
import math

import msgspec
import numpy as np
import pytest
from linkages import meet
from weighted import four_bar, mass, part, slider_crank

from core.effort import effort, free_acceleration
from core.effort.order import solving_order
from core.errors import SketchError
from core.model import Disc, Drive, Gravity, Mesh, Part, Pin, Point, Sketch
from core.motion import Turn, crank_motion, rates, solve_turn


def weight(at: complex, friction: tuple[float, float] = (0.0, 0.0),
           drive: Drive | None = None) -> Sketch:
    """A crank with a weight of 1 kg at `at`, its shaft 10 mm thick."""
    return Sketch(
        parts=(part("frame", fixed=True, O=0j),
               part("crank", mass(1.0, at, 0.0), O=0j, A=at)),
        pins=(Pin(id="o", at=("frame.O", "crank.O"), diameter_mm=10.0, friction=friction),),
        drive=drive or Drive(pin="o", part="crank", rpm=1e-6),
    )


def test_a_weight_runs_away_on_its_way_down() -> None:
    # Torque m·g·r·cos θ: negative from 90° to 270°, by hand.
    found = effort(solve_turn(weight(20 + 0j), steps=360))
    ((start, end),) = found.runaway
    assert start == pytest.approx(math.pi / 2, abs=1e-4)
    assert end == pytest.approx(3 * math.pi / 2, abs=1e-4)
    assert found.peak_nmm == pytest.approx(9.81 * 20)
    assert found.peak_rad == 0.0
    assert found.least_nmm == pytest.approx(-9.81 * 20)
    assert found.least_rad == pytest.approx(math.pi)


def test_wheels_in_balance_run_away_nowhere() -> None:
    """Two round blanks in mesh weigh on their shafts alone; what is left is rounding."""
    def wheel(name: str, x: float, radius: float) -> Part:
        return Part(id=name, points=(Point(id="A", x=x, y=0.0),),
                    outline=Disc(radius_mm=radius, centre="A"))

    found = effort(solve_turn(Sketch(
        parts=(part("frame", fixed=True, O=0j, P=35 + 0j), wheel("one", 0.0, 15.2),
               wheel("two", 35.0, 19.8)),
        pins=(Pin(id="p", at=("one.A", "frame.O")), Pin(id="q", at=("two.A", "frame.P"))),
        meshes=(Mesh(id="m", a="one.A", b="two.A", teeth_a=10, teeth_b=13),),
        drive=Drive(pin="p", part="one"))))
    assert np.abs(found.torque_nmm).max() < 1e-9
    assert found.runaway == ()


def test_an_interval_over_the_end_of_the_turn_is_one() -> None:
    found = effort(solve_turn(weight(-20 + 0j), steps=360))
    ((start, end),) = found.runaway
    assert start == pytest.approx(3 * math.pi / 2, abs=1e-4)
    assert end == pytest.approx(5 * math.pi / 2, abs=1e-4)


def test_friction_in_its_whole_range_may_hold_the_weight_or_not() -> None:
    # Held where m·g·r·|cos θ| ≤ μ·m·g·(radius of the shaft): friction in the shaft alone.
    held = effort(solve_turn(weight(20 + 0j, (0.1, 5.0)), steps=360))
    assert held.runaway
    assert held.surely_runaway == ()
    loose = effort(solve_turn(weight(20 + 0j, (0.1, 2.0)), steps=720))
    ((start, end),) = loose.surely_runaway
    assert start == pytest.approx(math.acos(-0.5), abs=1e-3)
    assert end == pytest.approx(2 * math.pi - math.acos(-0.5), abs=1e-3)
    assert loose.peak_high_nmm == pytest.approx(9.81 * 20 + 2 * 9.81 * 5)


def test_a_balanced_crank_does_not_run_away_by_rounding() -> None:
    sketch = four_bar(springs=(), gravity=Gravity(g_m_s2=0.0), rpm=1e-6)
    light = tuple(msgspec.structs.replace(p, mass=mass(0.0, 0j, 0.0)) for p in sketch.parts)
    found = effort(solve_turn(msgspec.structs.replace(sketch, parts=light), steps=90))
    assert np.abs(found.torque_nmm).max() == 0.0
    assert found.runaway == found.surely_runaway == ()
    assert not found.jams.any()
    assert np.abs(found.torque_high_nmm).max() == 0.0


def test_gravity_pulls_either_way_round() -> None:
    one = effort(solve_turn(weight(20 + 0j), steps=36))
    two = effort(solve_turn(weight(20 + 0j, drive=Drive(pin="o", part="crank", rpm=-1e-6)),
                            steps=36))
    assert np.allclose(one.torque_nmm, -two.torque_nmm)


def test_a_rocking_crank_pays_for_its_own_swing() -> None:
    drive = Drive(pin="o", part="crank", kind="rock", rpm=60.0, from_deg=-40.0, to_deg=50.0)
    turn = solve_turn(msgspec.structs.replace(
        weight(20 + 0j, drive=drive), gravity=Gravity(g_m_s2=0.0)), steps=180)
    found = effort(turn)
    _, alpha = crank_motion(turn)
    assert np.abs(alpha).max() > 10
    assert np.allclose(found.torque_nmm, 1e-3 * 400 * alpha)
    ((start, end),) = found.runaway  # slowing down: the second half of the swing
    assert start == pytest.approx(math.radians(5), abs=1e-2)
    assert end == pytest.approx(math.radians(50), abs=1e-9)


def test_loose_parts_are_left_out_and_named() -> None:
    sketch = slider_crank()
    dangling = part("rag", mass(5.0, 9j, 1.0), A=sketch_point(sketch, "rod.A"), E=90j)
    pins = (sketch.pins[0], Pin(id="a", at=("crank.A", "rod.A", "rag.A")), sketch.pins[2])
    more = msgspec.structs.replace(sketch, parts=(*sketch.parts, dangling), pins=pins)
    plain, found = (effort(solve_turn(s, steps=36)) for s in (sketch, more))
    assert any("rag" in note for note in found.notes)
    assert np.allclose(found.torque_nmm, plain.torque_nmm)
    assert np.isnan(found.reactions["a"][:, 2]).all()
    assert np.allclose(found.reactions["a"][:, :2], plain.reactions["a"])


def sketch_point(sketch: Sketch, ref: str) -> complex:
    point = sketch.point(ref)
    return complex(point.x, point.y)


def test_three_parts_on_a_pin_each_have_their_own_force() -> None:
    # A rod hangs from the crank pin beside the coupler, its other end on a second rocker.
    base = four_bar(springs=())
    a = sketch_point(base, "crank.A")
    r = -60 - 20j
    e = meet(a, r, 90, 75)
    more = msgspec.structs.replace(
        base, parts=(*base.parts, part("rod", mass(0.2, (a + e) / 2, 60.0), A=a, E=e),
                     part("arm", mass(0.1, (r + e) / 2, 30.0), R=r, E=e),
                     part("post", fixed=True, R=r)),
        pins=(base.pins[0], Pin(id="a", at=("coupler.A", "rod.A", "crank.A")),
              *base.pins[2:], Pin(id="e", at=("rod.E", "arm.E")),
              Pin(id="r", at=("post.R", "arm.R"))))
    one, two = effort(solve_turn(base, steps=36)), effort(solve_turn(more, steps=36))
    # The coupler bears the same as before; the crank bears both.
    assert np.allclose(two.reactions["a"][:, 0], one.reactions["a"][:, 1])
    assert np.allclose(two.reactions["a"].sum(axis=1), 0.0, atol=1e-12)
    assert np.abs(two.reactions["a"][:, 1]).max() > 0.5
    # The order in which the pin names its parts changes nothing, friction included.
    turned = msgspec.structs.replace(more, pins=tuple(
        msgspec.structs.replace(pin, at=pin.at[::-1]) for pin in more.pins))
    three = effort(solve_turn(turned, steps=36))
    assert np.allclose(three.reactions["a"], two.reactions["a"][:, ::-1])
    assert np.allclose(three.torque_high_nmm, two.torque_high_nmm)


def test_a_crank_let_go_accelerates_as_its_inertia_allows() -> None:
    # A single body: T = (I + m·r²)·α + m·g·x, by hand.
    sketch = weight(20 + 0j)
    found = free_acceleration(sketch, math.radians(60), 500.0, crank_speed=7.0)
    wanted = (500.0 - 9.81 * 20 * math.cos(math.radians(60))) / (1e-3 * 400)
    assert found.crank == pytest.approx(wanted, rel=1e-12)
    centre = 20 * cmath.exp(1j * math.radians(60)) * (1j * wanted - 49.0)
    assert found.centre["crank"] == pytest.approx(centre, rel=1e-12)
    assert found.spin["frame"] == 0.0


@pytest.mark.parametrize("crank_deg", [10.0, 130.0, 250.0])
def test_letting_go_with_the_torque_of_a_turn_gives_the_turn_back(crank_deg: float) -> None:
    sketch = four_bar(rpm=90.0)
    turn = solve_turn(sketch, steps=36)
    step = round(crank_deg / 10)
    found = effort(turn)
    omega, _ = crank_motion(turn)
    back = free_acceleration(turn, turn.crank_rad[step], found.torque_nmm[step], omega[step])
    assert abs(back.crank) <= 1e-7 * omega[step] ** 2


def test_a_mass_that_cannot_be_is_refused() -> None:
    turn = solve_turn(four_bar())
    parts = tuple(msgspec.structs.replace(p, mass=mass(-1.0, 0j, 0.0))
                  if p.id == "rocker" else p for p in turn.sketch.parts)
    with pytest.raises(SketchError, match="rocker"):
        effort(solve_turn(msgspec.structs.replace(turn.sketch, parts=parts)))


def test_groups_are_found_outwards_and_as_small_as_can_be() -> None:
    # Bodies 2, 3 a dyad on crank and frame; 4 a gear on the frame; 5, 6, 7 a triad.
    pins = [frozenset(p) for p in ((0, 1), (1, 2), (2, 3), (3, 0), (0, 4), (5, 2), (6, 3),
                                   (7, 0), (5, 8), (6, 8), (7, 8))]
    order = solving_order(9, pins, [(4, 1, 1)])
    assert order[0] == [1]
    assert sorted(order[1:3]) == [[2, 3], [4]]
    assert order[3] == [5, 6, 7, 8]


def test_a_group_that_shares_a_load_takes_in_what_it_hangs_on() -> None:
    # Crank 1, arms 3 and 4, bar 2 on all three; a dyad 5, 6 on the bar comes after.
    pins = [frozenset(p) for p in ((0, 1), (1, 2), (2, 3), (3, 0), (2, 5), (5, 6), (6, 0),
                                   (2, 4), (4, 0))]
    assert solving_order(7, pins, []) == [[1], [2, 3, 4], [5, 6]]


def test_a_part_without_a_shape_is_named() -> None:
    sketch = weight(20 + 0j)
    bare = Part(id="crank", points=(Point(id="O", x=0.0, y=0.0), Point(id="A", x=5.0, y=0.0)),
                thickness_mm=-1.0)
    with pytest.raises(SketchError, match=r"crank.*thickness"):
        effort(solve_turn(msgspec.structs.replace(sketch, parts=(sketch.parts[0], bare))))


def test_a_turn_with_no_step_reached_has_no_effort_and_no_error() -> None:
    turn = solve_turn(four_bar(), steps=24)
    nowhere = Turn(sketch=turn.sketch, crank_rad=turn.crank_rad, part_ids=turn.part_ids,
                   reached=np.zeros(24, dtype=bool), rotation=turn.rotation * np.nan,
                   shift=turn.shift * np.nan, angle_rad=turn.angle_rad * np.nan)
    found = effort(nowhere, rates(turn))
    assert np.isnan(found.torque_nmm).all()
    assert np.isnan(found.torque_high_nmm).all()
    assert np.isnan(found.reactions["a"]).all()
    assert math.isnan(found.peak_nmm)
    assert found.runaway == ()
    assert not found.jams.any()
