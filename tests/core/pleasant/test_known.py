"""Cases with a known answer, and figures of things one can buy."""

from __future__ import annotations

import math

import numpy as np
import pytest
from linkages import four_bar as linkage_four_bar
from weighted import mass, part

from core.making.gears import Gear
from core.model import Disc, Drive, Handle, Part, Pin, Point, Sketch, Torque
from core.pleasant import (
    FlywheelRules,
    GearRules,
    Options,
    WeightRules,
    advise,
)
from core.pleasant.coils import (
    INDEX,
    extension_coils,
    extension_rate,
    pull_limit,
    tensile_mpa,
    torsion_coils,
    torsion_rate,
)
from core.pleasant.flywheel import swing_of
from core.pleasant.ground import ground
from core.pleasant.stock import heaviest, nut_kg, pieces, washer_kg


def arm(rpm: float = 6.0, kg: float = 0.2, **more: object) -> Sketch:
    """A heavy arm on a crank's pin, turning alone."""
    fields: dict[str, object] = {
        "parts": (part("frame", fixed=True, O=0j, S=0 + 80j),
                  part("arm", mass(kg, 60 + 0j, 100.0), O=0j, A=80 + 0j)),
        "pins": (Pin(id="o", at=("frame.O", "arm.O")),),
        "drive": Drive(pin="o", part="arm", rpm=rpm), "friction": (0.0, 0.0),
    }
    return Sketch(**(fields | more))


def test_a_counterweight_balances_an_arm_at_every_angle() -> None:
    """m_c · r_c = m · r, a statement of moments: the torque is gone, and the programme
    proves that nothing less than nothing is to be had."""
    advice = advise(arm(), Options(kinds=("weights",)))
    best = min(advice.proposals, key=lambda one: one.value_after)
    assert best.before.peak_nmm == pytest.approx(0.2 * 9.81 * 60.0, rel=1e-6)
    assert best.plain_nmm <= 0.006 * best.before.peak_nmm  # thrift leaves half a hundredth
    assert 0.0 <= best.bound_nmm <= best.plain_nmm
    (weight,) = best.sketch.part("arm").weights
    moment = weight.mass_kg * weight.place + 0.2 * 60.0
    assert abs(moment) <= 0.02 * 0.2 * 60.0
    assert best.after.peak_nmm <= 0.02 * best.before.peak_nmm


def test_a_spring_textbook_example_has_its_published_rate() -> None:
    """Shigley, extension spring example: d .035 in, OD .248 in, 12.17 body turns,
    G 11.6 and E 28.7 Mpsi, so 12.57 active turns: 17.91 lbf/in (from memory). Ours uses the
    table's G of 80 GPa, scaled here to the example's."""
    inch, pound = 25.4, 4.4482216
    rate = extension_rate(0.035 * inch, 0.213 * inch, 12.17 + 11.6 / 28.7)
    example = rate * (11.6 * 6.894757 / 80.0) / pound * inch
    assert example == pytest.approx(17.91, abs=0.02)


def test_a_torsion_coil_turns_as_the_formula_says() -> None:
    """k = E d⁴ / (10.8 D N) for a turn (textbook, from memory), written out."""
    assert torsion_rate(1.0, 9.0, 5.0) == pytest.approx(198e3 / (10.8 * 9.0 * 5.0) / 360.0)


def test_coils_can_be_wound_and_bear_their_pull() -> None:
    wires = (0.4, 0.5, 0.8, 1.0)
    found = extension_coils(0.3, 6.0, 60.0, wires)
    assert found
    for one in found:
        coil = one.coil
        assert INDEX[0] - 1e-9 <= coil.mean_mm / coil.wire_mm <= INDEX[1] + 1e-9
        assert one.rate_n_per_mm == pytest.approx(0.3, rel=0.031)
        assert pull_limit(coil.wire_mm, coil.mean_mm) == pytest.approx(one.most_n)
        assert (
            one.most_n >= 6.0)
        assert one.shortest_mm - one.tension_n / one.rate_n_per_mm <= 60.0
        # The torsion stress alone, without curvature, is within 45 % of the strength.
        shear = 8 * one.most_n * coil.mean_mm / (math.pi * coil.wire_mm**3)
        assert shear <= 0.45 * tensile_mpa(coil.wire_mm)
    assert extension_coils(0.3, 500.0, 60.0, wires) == []
    assert all(coil.mean_mm - coil.wire_mm >= 1.1 * 6.0
               for coil, _ in torsion_coils(1.0, 100.0, 6.0, (0.8, 1.0, 1.2)))


def test_washers_and_nuts_weigh_what_tables_say() -> None:
    """Masses for 1000 pieces, steel, of fastener tables: washers M8 1.83 kg, M12 6.27 kg;
    nuts M6 2.5 kg, M8 5.2 kg (from memory; nuts are chamfered: a tenth either way)."""
    assert washer_kg("M8") * 1e3 == pytest.approx(1.83, rel=0.02)
    assert washer_kg("M12") * 1e3 == pytest.approx(6.27, rel=0.02)
    assert nut_kg("M8") * 1e3 == pytest.approx(5.2, rel=0.1)
    assert nut_kg("M6") * 1e3 == pytest.approx(2.5, rel=0.1)


def test_pieces_fit_in_the_room_and_the_nearest_comes_first() -> None:
    sketch, rules = arm(), WeightRules()
    own = Part(id="p", points=(Point(id="A", x=0.0, y=0.0),), outline=Disc(radius_mm=40.0))
    found = pieces(sketch, own, rules, 12.0, 0.02)
    assert found
    assert all(each.diameter_mm <= 24.0 for each in found)
    off = [abs(each.kg - 0.02) for each in found]
    assert off == sorted(off) or max(np.diff(sorted(off))) < 1e-6
    flush = pieces(sketch, own, rules, 12.0, 0.02, flush=True)
    assert all(each.sticks_out_mm == 0.0 for each in flush)
    steel = [each for each in flush if each.made_of.startswith("disc of mild steel")]
    assert steel[0].kg == pytest.approx(
        math.pi / 4 * steel[0].diameter_mm**2 * steel[0].thickness_mm * (7850 - 680) * 1e-9)
    assert heaviest(sketch, own, rules, 12.0) >= max(each.kg for each in found)


def test_gears_bring_the_push_under_the_limit_and_say_what_they_cost() -> None:
    heavy = arm(kg=2.0, handle=Handle(radius_mm=50.0, who="child"))
    advice = advise(heavy, Options(kinds=("gears",)))
    (made,) = advice.proposals
    assert made.value_before == pytest.approx(2.0 * 9.81 * 60.0 / 50.0)
    assert made.value_after <= 10.0 < made.value_before
    (step,) = made.sketch.handle.steps
    assert step.ratio >= made.value_before / (10.0 * step.efficiency[0]) - 1e-9
    assert made.turns == pytest.approx(step.ratio)
    assert any("other way round" in one for one in made.words)
    # As small as can be: no pair with a smaller wheel of the same module is enough.
    assert step.module_mm == 2.0
    # Of 12 teeth 20° undercuts: x ≥ 1 − z sin² α / 2 = 0.298 (common practice, textbook).
    assert step.driver == 12.0
    assert step.shift[0] == pytest.approx(1 - 6 * math.sin(math.radians(20)) ** 2, abs=1e-3)
    assert any("shifted +0.30" in one for one in made.words)
    assert not Gear(12, 2.0, shift=step.shift[0] + 1e-4).undercut


def test_two_steps_are_taken_when_one_pair_would_be_too_large() -> None:
    heavy = arm(kg=6.0, handle=Handle(radius_mm=50.0, who="child"))
    small = GearRules(largest_mm=90.0, modules_mm=(2.0,))
    (made,) = advise(heavy, Options(kinds=("gears",), gears=small)).proposals
    assert len(made.sketch.handle.steps) == 2
    assert made.value_after <= 10.0
    assert any("same way round" in one for one in made.words)
    none = advise(heavy, Options(kinds=("gears",), gears=GearRules(
        largest_mm=40.0, modules_mm=(2.0,), most_steps=1)))
    assert none.proposals == ()
    assert "turns of the handle" in none.declined[0].words
    light = advise(arm(kg=0.01), Options(kinds=("gears",)))
    assert light.proposals == ()
    assert "No gears needed" in light.declined[0].words


def test_the_swing_of_energy_of_a_sine_is_twice_its_amplitude() -> None:
    """∫ A sin φ dφ between its zeros is 2 A; I = E / (C ω²) (textbook)."""
    loaded = arm(torques=(Torque(id="brake", part="arm", torque_nmm=-300.0),), rpm=30.0)
    swing = swing_of(ground(loaded))
    amplitude = 0.2 * 9.81 * 60.0
    assert swing.mean_nmm == pytest.approx(300.0)
    assert swing.energy_nmm == pytest.approx(2.0 * amplitude, rel=1e-4)
    assert swing.inertia_kgmm2 == pytest.approx(100.0 + 0.2 * 60.0**2)
    omega = math.pi
    assert swing.needed(0.1) + swing.inertia_kgmm2 == pytest.approx(
        2e3 * amplitude / (0.1 * omega**2), rel=1e-4)


def test_a_flywheel_is_proposed_where_it_helps_and_declined_with_a_number() -> None:
    loaded = arm(torques=(Torque(id="brake", part="arm", torque_nmm=-300.0),), rpm=120.0)
    large = FlywheelRules(largest_mm=400.0, most_kg=10.0)
    (made,) = advise(loaded, Options(kinds=("flywheel",), flywheel=large)).proposals
    assert made.value_after <= large.fluctuation < made.value_before
    wheel = made.sketch.parts[-1]
    assert ground(made.sketch).before.peak_nmm == pytest.approx(made.before.peak_nmm)
    assert any(wheel.id in lock.parts for lock in made.sketch.locks)
    slow = advise(loaded, Options(kinds=("flywheel",), flywheel=FlywheelRules(
        most_kg=0.05))).declined[0]
    assert "more than is allowed" in slow.words
    idle = advise(arm(), Options(kinds=("flywheel",))).declined[0]
    assert "nothing to store" in idle.words
    rocks = arm(drive=Drive(pin="o", part="arm", kind="rock"))
    assert "rocks" in advise(rocks, Options(kinds=("flywheel",))).declined[0].words


def test_a_flywheel_whose_friction_costs_more_than_it_evens_is_declined() -> None:
    light = arm(torques=(Torque(id="brake", part="arm", torque_nmm=-20.0),), rpm=20.0, kg=0.01,
                friction=(0.3, 0.6))
    large = FlywheelRules(largest_mm=1000.0, most_kg=100.0)
    told = advise(light, Options(kinds=("flywheel",), flywheel=large))
    assert not told.proposals
    assert "friction its weight adds" in told.declined[0].words


def test_a_crank_that_locks_is_refused_in_one_sentence() -> None:
    from core.errors import MotionError

    with pytest.raises(MotionError, match="the crank locks") as refused:
        advise(linkage_four_bar(100.0, 90.0, 60.0, 80.0, 70.0))
    assert refused.value.sentence().count(".") == 1


def test_the_words_of_a_gear_step_are_those_of_hand_formulas() -> None:
    """d_a = m (z + 2 + 2 x), a = m (z1 + z2) cos α / (2 cos α'), inv α' = inv α + 2 tan α
    (x1 + x2) / (z1 + z2), push / (ratio · least efficiency) (textbook, from memory)."""
    heavy = arm(kg=2.0, handle=Handle(radius_mm=50.0, who="child"))
    (made,) = advise(heavy, Options(kinds=("gears",))).proposals
    (step,) = made.sketch.handle.steps
    z, x, m = (step.driver, step.driven), step.shift, step.module_mm or 0.0
    angle = math.radians(20.0)
    wanted = math.tan(angle) - angle + 2.0 * math.tan(angle) * sum(x) / sum(z)
    low, high = 0.1, 1.0
    for _ in range(60):
        middle = (low + high) / 2.0
        low, high = (low, middle) if math.tan(middle) - middle > wanted else (middle, high)
    centre = m * sum(z) * math.cos(angle) / (2.0 * math.cos(low))
    text = made.words[0]
    for one, shift in zip(z, x, strict=True):
        assert f"{m * (one + 2.0 + 2.0 * shift):.1f}" in text
    assert f"centres {float(f'{centre:.4g}'):g} mm apart" in text
    push = 2.0 * 9.81 * 60.0 / 50.0
    assert made.value_after == pytest.approx(push * z[0] / z[1] / step.efficiency[0])
