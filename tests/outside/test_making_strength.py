"""Shafts, levers and teeth against textbook formulas.

Sources: textbook formulas of round shafts (torsion τ = 16 T / π d³, twist T L / G J, bending
σ = 32 M / π d³, both √(σ² + 3τ²)); table values worked out from them: d = 6.35 mm has
J = 159.62 mm⁴ and Z = 25.137 mm³, 50 MPa take 2.51 N·m, 100 MPa bending 2.51 N·m, 6061 winds up
1.381° per 100 mm and N·m. Beams are cut into thin slices here and summed up, apart from the
program's own closed forms. Lewis form factors: J. E. Shigley, *Mechanical Engineering Design*,
table 14-2, from memory.
"""

from __future__ import annotations

import cmath
import math

import numpy as np
import pytest
from msgspec.structs import replace

from core.effort import effort
from core.making.rods import GRIP_OUT_MM
from core.making.strength import Check, strength
from core.making.strength.tooth_checks import form_factor
from core.model import (
    Bar,
    Drive,
    Force,
    Gravity,
    Handle,
    HandStep,
    Hinge,
    Mass,
    Part,
    Pin,
    Plate,
    Point,
    Sketch,
    Slide,
    Torque,
)
from core.motion import solve_turn

D, T, LOAD_KG, RADIUS = 6.35, 1000.0, 1.5, 80.0
BACK, DRUM, FRONT = (0.0, 9.0), (9.0, 21.0), (21.0, 27.0)


def plate(name: str, layer: int, thick: float, fixed: bool, mass: Mass | None = None) -> Part:
    return Part(id=name, layer=layer, thickness_mm=thick, fixed=fixed, mass=mass,
                material="black-cherry", points=(Point(id="O", x=0.0, y=0.0),),
                outline=Plate(margin_mm=40.0))


def windlass(torque: float = T, kg: float = LOAD_KG) -> Sketch:
    """A drum on a 1/4-inch rod of 6061 between two plates of the frame; a constant torque
    pulls it back, its weight hangs on the rod, the hand is in front of the front plate."""
    return Sketch(
        parts=(plate("back", 0, 9.0, True), plate("front", 2, 6.0, True),
               plate("drum", 1, 12.0, False, Mass(mass_kg=kg, x=0.0, y=0.0))),
        pins=(Pin(id="shaft", at=("back.O", "drum.O", "front.O"), diameter_mm=D,
                  material="aluminium-6061"),),
        drive=Drive(pin="shaft", part="drum", rpm=10.0),
        torques=(Torque(id="rope", part="drum", torque_nmm=-torque),),
        friction=(0.0, 0.0), gravity=Gravity(g_m_s2=9.81), handle=Handle(radius_mm=RADIUS))


def checks(sketch: Sketch) -> dict[str, Check]:
    turn = solve_turn(sketch, steps=24)
    found = strength(turn, effort(turn))
    return {check.kind: check for check in found.checks if check.kind.startswith("rod")}


def test_a_shafts_torsion_is_sixteen_times_torque_by_pi_d_cubed() -> None:
    found = checks(windlass())["rod-torsion"]
    assert found.value == pytest.approx(16 * T / (math.pi * D**3), rel=1e-6)
    assert found.value == pytest.approx(19.89, abs=0.01)
    assert checks(windlass(torque=2513.7))["rod-torsion"].value == pytest.approx(50.0, abs=0.01)
    # It gives way at the yield stress over √3, 255 to 276 MPa.
    assert found.gives == pytest.approx((255 / math.sqrt(3), 276 / math.sqrt(3)))


def test_a_shaft_winds_up_as_the_table_says() -> None:
    found = checks(windlass())["rod-twist"]
    length = FRONT[1] + GRIP_OUT_MM - sum(DRUM) / 2  # from the drum's middle to the hand
    assert found.value == pytest.approx(1.381 * length / 100, rel=0.001)


def sliced(forces: list[tuple[float, float, float]]) -> np.ndarray:
    """Bending moment over 0 … 60 mm of forces (N, from, to) spread evenly: summed slices."""
    z = np.linspace(0.0, 60.0, 60001)
    pushed = np.zeros_like(z)
    for force, start, end in forces:
        inside = (z >= start) & (z <= end)
        pushed += force * inside / inside.sum()
    shear = np.cumsum(pushed)
    return np.cumsum(shear) * (z[1] - z[0])


def carried(force: float, at: float) -> list[tuple[float, float, float]]:
    """A force and what the two plates of the frame push back, by the lever rule."""
    one, two = sum(BACK) / 2, sum(FRONT) / 2
    share = (at - one) / (two - one)
    return [(-force * (1 - share), *BACK), (-force * share, *FRONT)]


@pytest.mark.parametrize(("torque", "kg"), [(T, LOAD_KG), (T, 0.0), (200.0, 8.0)])
def test_a_shaft_bent_by_its_load_and_by_the_hand_is_as_strained_as_its_slices_say(
    torque: float, kg: float
) -> None:
    weight, push, grip = 9.81 * kg, torque / RADIUS, FRONT[1] + GRIP_OUT_MM
    middle = sum(DRUM) / 2
    load = sliced([(weight, *DRUM), *carried(weight, middle)])
    hand = sliced([(push, grip - 0.001, grip + 0.001), *carried(push, grip)])
    assert max(abs(load[-1]), abs(hand[-1])) < 0.02  # in balance
    # The hand pushes in every direction as the handle goes round: the worst way counts.
    bent = np.abs(load) + np.abs(hand)
    z = np.linspace(0.0, 60.0, bent.size)
    twisted = np.where((z > middle) & (z < grip), torque, 0.0)
    both = np.sqrt((32 * bent / (math.pi * D**3)) ** 2
                   + 3 * (16 * twisted / (math.pi * D**3)) ** 2)
    assert checks(windlass(torque, kg))["rod-bending"].value == pytest.approx(
        both.max(), rel=0.01)


def test_stress_of_a_bent_round_rod_is_that_of_the_table() -> None:
    """100 MPa at 2.51 N·m: here as the moment of the hand alone at the front plate."""
    assert 32 * 2513.7 / (math.pi * D**3) == pytest.approx(100.0, abs=0.01)
    arm = FRONT[1] + GRIP_OUT_MM - sum(FRONT) / 2
    torque = 2513.7 * RADIUS / arm
    found = checks(windlass(torque, 0.0))["rod-bending"]
    spread = found.value / math.hypot(100.0, math.sqrt(3) * 16 * torque / (math.pi * D**3))
    assert 0.9 < spread <= 1.0  # a little less: the plate bears along its bore


@pytest.mark.parametrize(("teeth", "factor"), [
    (12, .245), (15, .290), (17, .303), (20, .322), (24, .337), (30, .359), (50, .409),
    (100, .447), (300, .472)])
def test_lewis_form_factors_are_those_of_the_table(teeth: int, factor: float) -> None:
    assert form_factor(teeth) == pytest.approx(factor, abs=1e-3)


def test_form_factors_grow_towards_a_rack() -> None:
    values = [form_factor(z) for z in range(8, 1000)]
    assert values == sorted(values)
    assert values[-1] < 0.485


def test_a_gear_tooth_bends_as_in_shigleys_example() -> None:
    """Example 14-1 without its velocity factor: 16 teeth, 8 to the inch of diameter, face 1.5
    in, Y = 0.296, 8 kpsi allow 444 lbf (from memory: 365 lbf with the factor 1.52)."""
    inch, lbf, kpsi = 25.4, 0.45359237 * 9.80665, 6.894757
    module, face, push = inch / 8, 1.5 * inch, 0.296 * 1.5 * 8000 / 8 * lbf
    assert push / lbf == pytest.approx(444)
    step = HandStep(driver=16, driven=48, module_mm=module, face_mm=face, efficiency=(1.0, 1.0),
                    material="steel")
    sketch = replace(windlass(push * 24 * module, 0.0), handle=Handle(steps=(step,)))
    turn = solve_turn(sketch, steps=24)
    found = next(c for c in strength(turn, effort(turn)).checks if c.kind == "tooth")
    assert found.value == pytest.approx(8 * kpsi, rel=0.002)


def strut(thick: float, length: float) -> Check:
    """The rod of a slider-crank in line, birch plywood, pushed by 10 N along the guide."""
    crank = 0.3 * length
    a = crank * cmath.exp(0.6j)
    b = a.real + math.sqrt(length**2 - a.imag**2)

    def part(name: str, fixed: bool = False, outline: Bar | None = None,
             **places: complex) -> Part:
        return Part(id=name, fixed=fixed, mass=Mass(mass_kg=0.0, x=0.0, y=0.0),
                    thickness_mm=thick, outline=outline,
                    points=tuple(Point(id=k, x=complex(z).real, y=complex(z).imag)
                                 for k, z in places.items()))

    sketch = Sketch(
        parts=(part("frame", True, O=0, L=5, R=9 * length), part("crank", O=0, A=a),
               part("rod", outline=Bar(width_mm=30.0), A=a, B=b), part("block", B=b)),
        pins=tuple(Pin(id=k, at=at) for k, at in (
            ("o", ("frame.O", "crank.O")), ("a", ("crank.A", "rod.A")),
            ("b", ("rod.B", "block.B")))),
        slides=(Slide(id="way", point="block.B", along=("frame.L", "frame.R")),),
        drive=Drive(pin="o", part="crank", rpm=1.0), gravity=Gravity(g_m_s2=0.0),
        friction=(0.0, 0.0), forces=(Force(id="load", at="block.B", fx_n=-10.0, fy_n=0.0),))
    turn = solve_turn(sketch, steps=360)
    return next(c for c in strength(turn, effort(turn)).checks
                if c.kind == "link-buckling" and c.parts[0] == "rod")


def test_a_long_strut_buckles_where_euler_says() -> None:
    """P = π² E I / L² (textbook), pinned ends, bent the thin way: birch plywood 6.5 mm, E 12.7
    GPa along the face grain (Handbook of Finnish Plywood, from memory)."""
    found = strut(6.5, 400.0)
    euler = math.pi**2 * 12_700 * 30.0 * 6.5**3 / 12 / 400.0**2
    assert euler == pytest.approx(538, abs=1)
    assert found.gives == pytest.approx((euler, euler), rel=1e-6)
    # The push along the rod is at its most where the rod stands steepest.
    assert found.value == pytest.approx(10 / math.cos(math.asin(0.3)), rel=1e-4)


def test_a_stout_strut_buckles_where_johnson_says() -> None:
    """S (1 − S s² / 4 π² E) below s = √(2 π² E / S): J. E. Shigley, from memory."""
    found = strut(18.0, 120.0)
    crush, stiff, slender = 27.2, 10_000.0, 120.0 / (18.0 / math.sqrt(12))
    assert slender < math.sqrt(2 * math.pi**2 * stiff / crush)
    johnson = crush * (1 - crush * slender**2 / (4 * math.pi**2 * stiff)) * 30.0 * 18.0
    assert found.gives == pytest.approx((johnson, johnson), rel=1e-6)


def test_screws_of_a_hinge_hold_what_the_wood_handbook_says() -> None:
    """P = 15 700 G² D L (lbf, inches; USDA Wood Handbook, from memory), that is 108.25 G² D L
    in N and mm: two screws of 3 mm, 12 mm deep in cherry (G = 0.50) hold 1948 N in the mean,
    half of it in the edge of the sheet (common practice)."""
    lbf, inch = 0.45359237 * 9.80665, 25.4
    whole = 2 * 15_700 * 0.5**2 * (3.0 / inch) * (12.0 / inch) * lbf
    assert whole == pytest.approx(1948, rel=0.001)
    for edge, share in ((False, 1.0), (True, 0.5)):
        made = windlass(0.0, 2.0)
        leaf = replace(made.pins[0], at=("back.O", "drum.O"), hinge=Hinge(
            screws=2, screw_mm=3.0, length_mm=12.0, edge=edge))
        sketch = replace(made, pins=(leaf,), parts=tuple(
            p for p in made.parts if p.id != "front"))
        turn = solve_turn(sketch, steps=24)
        found = [c for c in strength(turn, effort(turn)).checks if c.kind == "hinge-screws"]
        assert found
        for check in found:
            assert check.value == pytest.approx(2.0 * 9.81, rel=1e-3)
            assert sum(check.gives) / 2 == pytest.approx(share * whole, rel=0.002)
