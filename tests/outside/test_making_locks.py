"""What holds an arm on its shaft, against textbook formulas and makers' tables.

Sources: ISO 8752 slotted spring pins, least force in double shear (three makers' tables that
agree, read); set screws: a table on the web (read, the low one) and Shigley, *Mechanical
Engineering Design*, table of set screws (from memory, the high one); cross pins after Roloff
and Matek, *Machine Elements* (from memory); square and hexagonal bores with pressure rising
from nothing at the middle of each flat (worked out); keys after Shigley (from memory). Check
numbers are for a shaft of 6.35 mm, worked out.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from core.effort import effort, hand
from core.making.locks import Capacity, Seat, capacity, lock_checks
from core.making.locks.stock import ISO_8752_AUSTENITIC_KN, ISO_8752_KN, holding_n
from core.materials import breaking, material
from core.model import Drive, Handle, Lock, Mass, Part, Pin, Plate, Point, Sketch, Torque
from core.motion import solve_turn

D = 6.35
NEWTON_METRE = 1000.0
LBF = 0.45359237 * 9.80665
STEEL_SHEAR = breaking(material("steel"), "shear").low


def seat(length: float = 12.0, hub: str = "black-cherry", shaft: str = "aluminium-6061",
         wall: float = 8.0) -> Seat:
    return Seat(D, length, length, material(shaft), material(hub), wall)


def bears(found: Capacity, name: str) -> float:
    """The low end of what one thing in a hold bears, N·mm."""
    return next(member.bears.low for member in found.members if name == member.name)


@pytest.mark.parametrize(("size", "kn"), [
    (1.0, .70), (1.5, 1.58), (2.0, 2.82), (2.5, 4.38), (3.0, 6.32), (3.5, 9.06), (4.0, 11.24),
    (5.0, 17.54), (6.0, 26.04)])
def test_spring_pins_are_those_of_the_table(size: float, kn: float) -> None:
    assert ISO_8752_KN[size] == kn
    found = capacity("spring-pinned", seat(), size)
    assert bears(found, "the spring pin") == pytest.approx(1000 * kn * D / 2)


@pytest.mark.parametrize(("size", "kn"), [
    (1.5, .98), (2.0, 1.81), (2.5, 2.84), (3.0, 4.07), (4.0, 7.25), (5.0, 10.75)])
def test_austenitic_spring_pins_are_those_of_the_table(size: float, kn: float) -> None:
    assert ISO_8752_AUSTENITIC_KN[size] == kn
    found = capacity("spring-pinned", seat(), size, austenitic=True)
    assert bears(found, "the spring pin") == pytest.approx(1000 * kn * D / 2)


@pytest.mark.parametrize(("size", "torque"), [(1.5, 5.02), (2.0, 8.95)])
def test_check_numbers_of_spring_pins_across_a_quarter_inch_shaft(
    size: float, torque: float
) -> None:
    assert bears(capacity("spring-pinned", seat(), size), "the spring pin") == pytest.approx(
        torque * NEWTON_METRE, abs=5)


def test_glue_in_a_smooth_bore_bears_its_shear_stress_round_the_shaft() -> None:
    """T = τ π d² L / 2: at 2, 5 and 10 MPa 1.52, 3.80 and 7.60 N·m at 12 mm. Reckoned with
    are 1 to 2 MPa (common practice): 0.76 to 1.52 N·m."""
    found = capacity("glued", seat())
    glue = next(member.bears for member in found.members if "glue" in member.name)
    assert (glue.low, glue.high) == pytest.approx((760.0, 1520.1), abs=0.5)
    assert math.pi * D**2 * 12 / 2 * 5 == pytest.approx(3800, abs=1)


def test_a_cross_pin_is_cut_twice() -> None:
    """τ = 4 T / π ds² d: 1 N·m at ds = 2 gives 50.1 MPa."""
    found = capacity("pinned", seat(), 2.0)
    assert STEEL_SHEAR / bears(found, "the pin") * NEWTON_METRE == pytest.approx(50.1, abs=0.05)


def test_a_cross_pin_presses_shaft_and_hub() -> None:
    """p = 6 T / ds d²: 74.4 MPa in the shaft; T / ds s (d + s): 4.36 MPa in a hub with 8 mm
    on each side; at 1 N·m and ds = 2."""
    found = capacity("pinned", seat(), 2.0)
    shaft = breaking(material("aluminium-6061"), "bearing", diameter_mm=2.0).low
    hub = breaking(material("black-cherry"), "bearing", 12.0, 0.0, 2.0).low
    assert shaft / bears(found, "the hole in the shaft") * NEWTON_METRE == pytest.approx(
        74.4, abs=0.05)
    assert hub / bears(found, "the hub under the pin") * NEWTON_METRE == pytest.approx(
        4.36, abs=0.005)


def test_square_and_hexagonal_bores_press_towards_their_corners() -> None:
    """T = p L b² / 3 and p L s² / 6: at 20 MPa and 12 mm, a side of 6.35 mm takes 3.23 N·m
    and 8 mm across flats 2.56 N·m."""
    weak = breaking(material("black-cherry"), "compression", 12.0, math.pi / 2).low
    square, hexagon = capacity("square", seat(), D), capacity("hex", seat(), 8.0)
    assert bears(square, "the bore on the flats") * 20 / weak == pytest.approx(3230, abs=5)
    assert bears(hexagon, "the bore on the flats") * 20 / weak == pytest.approx(2560, abs=1)


def test_a_key_is_sheared_and_pressed() -> None:
    """τ = 2 T / d w L, p = 4 T / d h L with a key of 2 × 2 mm."""
    found = capacity("keyed", seat(), 2.0)
    assert bears(found, "the key") == pytest.approx(STEEL_SHEAR * D * 2 * 12 / 2)
    yield_ = breaking(material("aluminium-6061"), "compression").low
    assert bears(found, "the keyway in the shaft") == pytest.approx(yield_ * D * 2 * 12 / 4)


@pytest.mark.parametrize(("inch", "low", "high"), [
    (0.164, 150, 385), (0.190, 200, 540), (0.250, 400, 1000)])
def test_set_screws_hold_what_the_two_tables_say(inch: float, low: float, high: float) -> None:
    found = holding_n(25.4 * inch)
    assert (found.low, found.high) == pytest.approx((low * LBF, high * LBF))


def test_a_set_screw_holds_with_half_the_shaft_as_its_arm_and_half_on_aluminium() -> None:
    """T = F d / 2; halved on aluminium (common practice)."""
    steel = capacity("screwed", seat(hub="steel", shaft="steel"), 4.0)
    soft = capacity("screwed", seat(hub="steel"), 4.0)
    assert bears(steel, "the set screw") == pytest.approx(holding_n(4.0).low * D / 2)
    assert bears(soft, "the set screw") == pytest.approx(bears(steel, "the set screw") / 2)


def test_no_hold_bears_more_than_the_shaft_it_is_on() -> None:
    """π d³ / 16 · yield / √3: 7.4 N·m of 6061."""
    shaft = math.pi * D**3 / 16 * 255 / math.sqrt(3)
    assert shaft == pytest.approx(7402, abs=5)
    for kind in ("glued", "screwed", "clamped"):
        found = capacity(kind, seat(hub="steel", length=200.0))
        assert bears(found, "the shaft") == pytest.approx(shaft)
        assert found.low <= shaft + 1e-9


def test_square_and_hexagonal_shafts_bear_what_saint_venant_says() -> None:
    """0.208 side³ (textbook); a hexagon is worked out here from Prandtl's stress function:
    about 0.188 of across flats cubed."""
    yield_ = breaking(material("aluminium-6061"), "shear").low
    assert bears(capacity("square", seat(), D), "the shaft") == pytest.approx(
        0.208 * D**3 * yield_, rel=0.002)
    assert bears(capacity("hex", seat(), 8.0), "the shaft") == pytest.approx(
        prandtl(6) * 8.0**3 * yield_, rel=0.01)
    assert prandtl(4) == pytest.approx(0.2082, abs=0.0002)


def prandtl(corners: int) -> float:
    """T / (τ s³) of a regular polygon of width s across flats at which the stress at the
    middle of a side is τ. Prandtl's function φ = −r²/2 + Σ c_k Re zⁿᵏ is 0 on the sides
    (least squares), T = 2 ∫ φ, τ = |∂φ/∂x| there (textbook of elasticity)."""
    half = math.pi / corners
    side = 0.5 + 0.5j * np.linspace(0, math.tan(half), 400)
    powers = corners * np.arange(14)
    waves = ((2 * side[:, None]) ** powers).real
    c = np.linalg.lstsq(waves, np.abs(side) ** 2 / 2, rcond=None)[0]
    # Over one of 2n triangles, to x = 1/2 and from the middle of a side to a corner.
    x, y = np.polynomial.legendre.leggauss(40)
    u, wu = (x + 1) / 2, y / 2
    across, up = 0.5 * u[:, None], 0.5 * u[:, None] * math.tan(half) * u[None]
    z = across + 1j * up
    phi = -np.abs(z) ** 2 / 2 + ((2 * z[..., None]) ** powers).real @ c
    weight = wu[:, None] * wu[None] * 0.5 * across * math.tan(half)
    torque = 2 * 2 * corners * float((phi * weight).sum())
    stress = abs(-0.5 + 2 * float(powers @ c))
    return torque / stress


def shaft_with_arm(torque: float, driven: float = 0.0) -> Sketch:
    """A disc that is the crank and an arm, both locked to one shaft; `torque` pulls the arm
    back, `driven` the disc."""
    def part(name: str, layer: int, fixed: bool = False) -> Part:
        return Part(id=name, layer=layer, fixed=fixed, thickness_mm=9.0,
                    mass=Mass(mass_kg=0.0, x=0.0, y=0.0), outline=Plate(margin_mm=30.0),
                    points=(Point(id="O", x=0.0, y=0.0),))

    return Sketch(
        parts=(part("frame", 0, True), part("disc", 1), part("arm", 2)),
        pins=(Pin(id="shaft", at=("frame.O", "disc.O", "arm.O"), diameter_mm=D),),
        locks=(Lock(id="glue", parts=("disc", "arm"), pin="shaft", kind="glued"),),
        drive=Drive(pin="shaft", part="disc", rpm=10.0), friction=(0.0, 0.0),
        torques=(Torque(id="rope", part="arm", torque_nmm=-torque),
                 Torque(id="belt", part="disc", torque_nmm=-driven)),
        handle=Handle(radius_mm=80.0, limit_n=20.0))


@pytest.mark.parametrize(("torque", "driven"), [(800.0, 0.0), (300.0, 500.0)])
def test_each_hold_bears_the_torque_of_its_own_part_and_in_a_jam_that_of_the_hand(
    torque: float, driven: float
) -> None:
    """Statics: the hand turns the shaft, the shaft each part."""
    turn = solve_turn(shaft_with_arm(torque, driven), steps=24)
    strain = effort(turn)
    found = {one.hold.part: one for one in lock_checks(turn, strain, hand(turn, strain))}
    assert found["arm"].through.use_nmm == pytest.approx((torque, torque))
    assert found["disc"].through.use_nmm == pytest.approx((driven, driven), abs=1e-6)
    for one in found.values():
        assert one.through.jam_nmm == pytest.approx(20.0 * 80.0)
        low, high = one.bears.low, one.bears.high
        assert one.jam_safety == pytest.approx((low / 1600.0, high / 1600.0))
    assert found["arm"].use_safety == pytest.approx(
        (found["arm"].bears.low / torque, found["arm"].bears.high / torque))
