"""Strength held against hand calculations with textbook formulas.

Check values with d = 6.35 mm and the formulas of shafts (16 T/(π d³), 32 M/(π d³)): any
textbook of machine design."""

from __future__ import annotations

import math

import numpy as np
import pytest
from msgspec.structs import replace

from core.effort import effort
from core.making.rods import rods
from core.making.strength import Check, Strength, strength
from core.making.strength.beam import beam
from core.making.strength.check import CheckKind
from core.making.strength.link_checks import _critical
from core.making.strength.tooth_checks import form_factor, shifted_factor
from core.model import (
    Bar,
    Disc,
    Drive,
    Force,
    Gravity,
    Handle,
    HandStep,
    Hinge,
    Lock,
    Mass,
    Mesh,
    OwnMaterial,
    Part,
    Pin,
    Point,
    Polygon,
    Sketch,
    Torque,
)
from core.model.stuff import OwnFigure
from core.motion import solve_turn

LIGHT = Mass(mass_kg=0.0, x=0.0, y=0.0)


def part(name: str, layer: int, thick: float = 6.0, fixed: bool = False, width: float = 20.0,
         **points: complex) -> Part:
    """A weightless bar through its points."""
    shape = Bar(width_mm=width) if len(points) > 1 else Disc(radius_mm=width)
    return Part(id=name, layer=layer, thickness_mm=thick, fixed=fixed, outline=shape,
                mass=LIGHT, points=tuple(Point(id=key, x=at.real, y=at.imag)
                                         for key, at in points.items()))


def checked(sketch: Sketch, friction: bool = False) -> Strength:
    turn = solve_turn(sketch)
    return strength(turn, effort(turn), friction=friction)


def one(found: Strength, kind: CheckKind, *ids: str) -> Check:
    return next(each for each in found.checks if each.kind == kind
                and set(ids) <= {*each.parts, *each.joints})


def wheel(torque_nmm: float = 0.0, force_n: float = 0.0, d: float = 6.35,
          **extra: object) -> Sketch:
    """A weightless crank on one bearing 9 mm long, turned against a torque, its pin pulled
    down: no friction, no gravity."""
    given: dict[str, object] = {
        "parts": (part("frame", 0, 9.0, True, o=0j), part("crank", 1, o=0j, a=20j)),
        "pins": (Pin(id="shaft", at=("frame.o", "crank.o"), diameter_mm=d,
                     material="aluminium-6061"),),
        "torques": (Torque(id="load", part="crank", torque_nmm=-torque_nmm),),
        "forces": (Force(id="pull", at="crank.o", fx_n=0.0, fy_n=-force_n),),
        "gravity": Gravity(g_m_s2=0.0),
        "drive": Drive(pin="shaft", part="crank", rpm=1e-6)}
    return Sketch(**(given | extra))  # type: ignore[arg-type]


def test_a_shaft_of_6_35_mm_bears_2_51_newton_metres_at_50_mpa() -> None:
    found = one(checked(wheel(torque_nmm=2514.0)), "rod-torsion")
    assert found.value == pytest.approx(50.0, rel=1e-3)
    assert found.gives[0] == pytest.approx(255 / math.sqrt(3), rel=1e-3)


def test_it_winds_up_by_1_381_degrees_for_100_mm_and_a_newton_metre() -> None:
    found = one(checked(wheel(torque_nmm=1000.0)), "rod-twist")
    # from the grip, 30 mm behind the frame of 9 mm, to the middle of a crank of 6 mm
    assert found.value == pytest.approx(1.381 * 42 / 100, rel=2e-3)
    assert found.soft


def test_an_overhung_crank_bends_its_shaft_inside_the_bearing() -> None:
    """F at 7.5 mm from the middle of a bearing 9 mm long: bending by integrating the
    straight-line pressure of force and couple."""
    force, d, half = 40.0, 6.35, 4.5
    found = one(checked(wheel(force_n=force, d=d)), "rod-bending")
    z = np.linspace(-half, half, 20001)
    couple = force * 7.5
    pressure = -(force / 9.0) - 12.0 * couple / 9.0**3 * z
    shear = np.cumsum(pressure) * (z[1] - z[0])
    moment = np.abs(np.cumsum(shear) * (z[1] - z[0])).max()
    assert found.value == pytest.approx(32 * moment / (math.pi * d**3), rel=2e-2)
    assert "alone" in found.formula


def test_a_rod_on_two_supports_bends_as_a_beam_with_its_load_spread_over_the_part() -> None:
    crank = part("crank", 1, 12.0, o=0j, a=20j)
    sides = (part("back", 0, 6.0, True, o=0j), part("front", 2, 6.0, True, o=0j))
    shaft = Pin(id="shaft", at=("back.o", "crank.o", "front.o"), diameter_mm=8.0)
    sketch = wheel(force_n=60.0, parts=(*sides, crank), pins=(shaft,))
    found = one(checked(sketch), "rod-bending")
    moment = 60.0 * 18 / 4 - 60.0 * 12 / 8  # middle of bearings 18 mm apart, load over 12 mm
    assert found.value == pytest.approx(32 * moment / (math.pi * 8**3), rel=1e-6)
    assert one(checked(sketch), "rod-shear").value == pytest.approx(
        30.0 / (math.pi * 16), rel=1e-6)


def test_supports_off_the_middle_share_by_the_lever_rule() -> None:
    parts = (part("back", 0, 6.0, True, o=0j), part("crank", 1, 6.0, o=0j, a=20j),
             part("gap", 2, 18.0, p=500 + 0j), part("front", 3, 6.0, True, o=0j))
    shaft = Pin(id="shaft", at=("back.o", "crank.o", "front.o"))
    (rod,) = rods(wheel(parts=parts, pins=(shaft,)))
    share = beam(rod).share
    assert share[1] == pytest.approx([-24 / 30, 1.0, -6 / 30])


def test_bending_and_torsion_together_count_as_mises_has_it() -> None:
    far = Handle(radius_mm=1e7)  # next to no push, but all of the torque
    bend = one(checked(wheel(force_n=40.0, handle=far)), "rod-bending").value
    twist = one(checked(wheel(torque_nmm=1500.0, handle=far)), "rod-torsion").value
    both = one(checked(wheel(torque_nmm=1500.0, force_n=40.0, handle=far)), "rod-bending")
    assert both.value == pytest.approx(math.hypot(bend, math.sqrt(3) * twist), rel=1e-4)


def test_the_push_of_the_hand_bends_the_shaft_over_the_edge_of_its_bearing() -> None:
    """1500 N·mm on a handle of 75 mm push with 20 N, 30 mm beyond the bearing."""
    found = one(checked(wheel(torque_nmm=1500.0)), "rod-bending")
    twist = one(checked(wheel(torque_nmm=1500.0)), "rod-torsion").value
    least = 32 * 20.0 * 30.0 / (math.pi * 6.35**3)
    assert found.value > math.hypot(least, math.sqrt(3) * twist)
    assert found.value < math.hypot(1.2 * least, math.sqrt(3) * twist)


def tie(force_n: float = 100.0, width: float = 16.0, length: float = 120.0,
        thick: float = 6.0, d: float = 4.0, material: str = "birch-plywood",
        grain: float | None = None, drop: float = 60.0) -> Sketch:
    """A crank with a link to a lever that is pulled straight along the link when the crank
    stands at 0, the pose it is drawn in: statics on one pose by hand."""
    end = 20 + length
    link = replace(part("link", 2, thick, width=width, a=20 + 0j, b=complex(end)),
                   material=material, grain_deg=grain)
    lever = part("lever", 1, b=complex(end), q=end - drop * 1j)
    return Sketch(
        parts=(part("frame", 0, 9.0, True, o=0j, q=end - drop * 1j),
               part("crank", 1, o=0j, a=20 + 0j), link, lever),
        pins=(Pin(id="shaft", at=("frame.o", "crank.o"), diameter_mm=8.0),
              Pin(id="throw", at=("crank.a", "link.a"), diameter_mm=d),
              Pin(id="wrist", at=("link.b", "lever.b"), diameter_mm=d),
              Pin(id="post", at=("frame.q", "lever.q"))),
        forces=(Force(id="pull", at="lever.b", fx_n=force_n, fy_n=0.0),),
        gravity=Gravity(g_m_s2=0.0), drive=Drive(pin="shaft", part="crank", kind="rock",
                                                 from_deg=0.0, to_deg=0.02, rpm=1e-6))


def test_a_pulled_link_bears_on_the_wood_beside_its_bore() -> None:
    found = one(checked(tie()), "link-stress", "link")
    assert found.value == pytest.approx(100.0 / ((16 - 4) * 6), rel=1e-3)
    assert found.size_mm == pytest.approx(12.0, rel=1e-3)


def test_a_pushed_link_buckles_as_euler_says_and_a_stout_one_as_johnson_does() -> None:
    found = one(checked(tie(-100.0, thick=3.0, length=200.0)), "link-buckling", "link")
    slender = 200 / (3 / math.sqrt(12))
    stiff = found.gives[0] / (16 * 3) * slender**2 / math.pi**2
    assert 6e3 < stiff < 14e3  # plywood, MPa, bent out of its plane
    assert found.value == pytest.approx(100.0, rel=1e-3)
    assert _critical(60.0, 10e3, 30.0) == pytest.approx(
        30 * (1 - 30 * 60**2 / (4 * math.pi**2 * 10e3)))
    turning = math.sqrt(2 * math.pi**2 * 10e3 / 30.0)
    assert _critical(turning, 10e3, 30.0) == pytest.approx(15.0)


def test_the_rod_of_a_link_is_sheared_once_and_pressed_over_its_bores() -> None:
    found = checked(tie())
    u = np.linspace(-3, 3, 2001)  # within the bore that holds the rod
    cross = np.abs(100 * (u + 3) / 6 - 6 * 600 / 6**3 * (9 - u**2))
    assert one(found, "rod-shear", "wrist").value == pytest.approx(
        cross.max() / (math.pi * 4), rel=1e-2)
    # the crank holds the throw pin: the link's bore bears the force alone
    far = next(each for each in found.checks if each.kind == "bearing"
               and each.parts[0] == "link" and "throw" in each.joints)
    assert far.value == pytest.approx(100.0 / (6 * 4), rel=1e-3)
    near = next(each for each in found.checks if each.kind == "bearing"
                and each.parts[0] == "crank" and "throw" in each.joints)
    couple = 100.0 * 6
    assert near.value == pytest.approx(
        (2 * couple + math.hypot(2 * couple, 600.0)) / 36 / 4, rel=1e-3)


def test_wood_tears_out_along_two_planes_to_the_edge() -> None:
    found = one(checked(tie(width=16.0)), "tear-out", "link", "throw")
    assert found.value == pytest.approx(100.0 / (2 * 6 * (8 - 2)), rel=2e-3)


def test_a_link_across_the_grain_is_weaker_in_solid_wood() -> None:
    along = one(checked(tie(material="black-cherry", grain=0.0)), "link-stress", "link")
    across = one(checked(tie(material="black-cherry", grain=90.0)), "link-stress", "link")
    assert across.gives[1] < 0.2 * along.gives[0]


def test_a_thick_rod_presses_less_hard_across_the_grain_than_hankinson_lets_it() -> None:
    """Cherry under a rod of 1/4 inch: 38.6 MPa along, 30.8 across (NDS dowel bearing)."""
    for grain, wanted in ((0.0, 38.6), (90.0, 30.8),
                          (45.0, 2 * 38.6 * 30.8 / (38.6 + 30.8))):
        found = next(each for each in checked(
            tie(d=6.35, material="black-cherry", grain=grain)).checks
            if each.kind == "bearing" and each.parts[0] == "link")
        assert found.gives[0] == pytest.approx(wanted, rel=3e-3)


def test_a_lever_is_bent_most_at_its_middle_bore() -> None:
    """Crank pulled at one end against a load at the other, pivot between: 6 M/(t w²) less
    the bore."""
    bar = replace(part("crank", 1, 6.0, width=20.0, a=-40 + 0j, o=0j, b=60 + 0j),
                  outline=Bar(width_mm=20.0, through=("a", "o", "b")))
    sketch = wheel(parts=(part("frame", 0, 9.0, True, o=0j), bar), d=8.0,
                   forces=(Force(id="end", at="crank.b", fx_n=0.0, fy_n=-10.0,
                                 turns_with_part=True),))
    found = one(checked(sketch), "link-stress", "crank")
    second = 6 * (20**3 - 8**3) / 12
    assert found.value == pytest.approx(10.0 * 60 * 10 / second, rel=1e-3)


def test_a_crooked_part_is_cut_where_it_is_narrow() -> None:
    """An angle bracket pulled at both ends: force and the moment of its offset at the cut."""
    corner = Polygon(outer=((-10, -10), (110, -10), (110, 10), (10, 10), (10, 110),
                            (-10, 110)))
    bracket = replace(part("crank", 1, 6.0, o=0j, b=100 + 0j), outline=corner)
    sketch = wheel(parts=(part("frame", 0, 9.0, True, o=0j), bracket), d=6.0,
                   forces=(Force(id="end", at="crank.b", fx_n=0.0, fy_n=-10.0,
                                 turns_with_part=True),))
    found = one(checked(sketch), "link-stress", "crank")
    assert 10.0 * 100 * 6 / (6 * 20**2) > found.value > 10.0 * 80 * 6 / (6 * 20**2)


def test_lewis_factors_are_those_of_the_table_and_rise_between_its_rows() -> None:
    assert form_factor(17) == pytest.approx(0.303)
    assert form_factor(50) == pytest.approx(0.409)
    assert form_factor(1e12) == pytest.approx(0.485, abs=1e-6)
    teeth = [form_factor(z) for z in range(8, 200)]
    assert teeth == sorted(teeth)


def geared(torque_nmm: float = 2000.0) -> Sketch:
    """A pinion of 12 turns a wheel of 36 teeth, module 2, against a torque."""
    return Sketch(
        parts=(part("frame", 0, 9.0, True, o=0j, w=48 + 0j),
               part("pinion", 1, 6.0, width=12.0, o=0j), part("wheel", 1, 9.0, width=36.0,
                                                             w=48 + 0j)),
        pins=(Pin(id="shaft", at=("frame.o", "pinion.o")),
              Pin(id="axle", at=("frame.w", "wheel.w"))),
        meshes=(Mesh(id="teeth", a="pinion.o", b="wheel.w", teeth_a=12, teeth_b=36),),
        torques=(Torque(id="load", part="wheel", torque_nmm=torque_nmm),),
        gravity=Gravity(g_m_s2=0.0), drive=Drive(pin="shaft", part="pinion", rpm=1e-6))


def test_teeth_are_bent_by_the_mesh_over_the_thinner_wheel() -> None:
    found = one(checked(geared()), "tooth", "teeth")
    assert found.parts[0] == "pinion"
    assert found.value == pytest.approx(2000 / 36 / (6 * 2 * 0.245), rel=1e-6)
    assert found.trust in ("from memory", "practice")


def test_a_hinge_bears_what_its_screws_do_and_half_in_an_edge() -> None:
    sketch = tie(material="black-cherry")
    hinge = Hinge(screws=2, screw_mm=3.0, length_mm=12.0)

    def held(one_hinge: Hinge) -> Check:
        pins = tuple(replace(pin, hinge=one_hinge) if pin.id == "wrist" else pin
                     for pin in sketch.pins)
        return one(checked(replace(sketch, pins=pins)), "hinge-screws", "link")

    face = held(hinge)
    middle = 2 * 108.25 * 0.5**2 * 3.0 * 12.0
    assert face.value == pytest.approx(100.0, rel=1e-3)
    assert face.gives == pytest.approx((0.75 * middle, 1.25 * middle), rel=0.05)
    edge = held(replace(hinge, edge=True))
    assert edge.gives[0] == pytest.approx(face.gives[0] / 2)


def test_a_tip_wags_by_the_play_over_the_length_of_its_bore() -> None:
    sketch = tie()
    pins = tuple(replace(pin, clearance_mm=0.3) if pin.id == "post" else pin
                 for pin in sketch.pins[:1] + sketch.pins[3:])
    arm = replace(part("lever", 1, 6.0, b=complex(140), q=140 - 60j))
    loose = replace(sketch, parts=(*sketch.parts[:2], arm), pins=pins, locks=(
        Lock(id="weld", parts=("crank", "lever")),), forces=())
    loose = replace(loose, pins=(loose.pins[0],))
    hung = replace(sketch, pins=tuple(replace(pin, clearance_mm=0.3) for pin in sketch.pins))
    found = one(checked(hung), "wag", "link")
    assert found.value == pytest.approx(0.3 / 6 * 8.0, rel=1e-2)  # across its two bores
    assert found.trust == "calculated"
    assert one(checked(sketch), "wag", "link").trust == "practice"
    assert not [each for each in checked(loose).checks if each.kind == "wag"
                and each.parts == ("lever",)]


def test_where_the_crank_locks_nothing_is_checked_and_it_is_said() -> None:
    sketch = tie(drop=30.0)
    locked = replace(sketch, drive=replace(sketch.drive, kind="turn"))
    turn = solve_turn(locked)
    assert turn.limits
    found = strength(turn, effort(turn))
    assert found.checks == ()
    assert "lock" in found.notes[0]


def test_friction_only_ever_adds_to_what_is_looked_at() -> None:
    sketch = tie()
    plain, rubbing = checked(sketch), checked(sketch, friction=True)
    for each in plain.checks:
        same = next(other for other in rubbing.checks
                    if (other.kind, other.thing) == (each.kind, each.thing))
        assert same.share >= each.share - 1e-9


def test_safety_is_a_range_where_the_figures_are() -> None:
    metal = OwnMaterial(id="tin", name="tin", density_kg_m3=7000.0, stuff="metal", figures=(
        OwnFigure(name="yield_mpa", low=100.0, high=200.0),))
    sketch = wheel(torque_nmm=2514.0, materials=(metal,))
    sketch = replace(sketch, pins=(replace(sketch.pins[0], material="tin"),))
    found = one(checked(sketch), "rod-torsion")
    assert found.safety == pytest.approx((2 / math.sqrt(3), 4 / math.sqrt(3)), rel=1e-3)
    assert found.allowed == pytest.approx((50 / math.sqrt(3), 200 / 1.5 / math.sqrt(3)),
                                          rel=1e-3)


@pytest.mark.parametrize(("value", "word"), [
    (4.9, "holds"), (5.1, "near"), (10.1, "doubtful"), (30.1, "breaks")])
def test_the_verdict_follows_what_may_be_built_on_and_what_gives_way(value: float,
                                                                   word: str) -> None:
    check = Check("rod-shear", "x", (), (), value, (20.0, 30.0), (3.0, 4.0), "MPa", 0.0, "",
                  "", "practice")
    assert check.verdict == word


def test_a_rod_on_two_supports_stands_askew_at_its_ends_as_a_beam_does() -> None:
    """F L²/(16 E I) at the supports of a beam loaded in the middle (textbook)."""
    crank = part("crank", 1, 1.0, o=0j, a=20j)
    sides = (part("back", 0, 20.0, True, o=0j), part("front", 2, 20.0, True, o=0j))
    shaft = Pin(id="shaft", at=("back.o", "crank.o", "front.o"), diameter_mm=6.0)
    found = one(checked(wheel(force_n=60.0, parts=(*sides, crank), pins=(shaft,))), "rod-slope")
    # spread over bores of 20 mm at either end of 21 mm: integrated by hand below
    z = np.linspace(0.0, 41.0, 4101)
    load = np.where(z < 20, 30.0 / 20, np.where(z > 21, 30.0 / 20, -60.0))
    moment = np.cumsum(np.cumsum(load)) * (z[1] - z[0])**2
    slope = np.cumsum(moment) * (z[1] - z[0])
    sag = np.cumsum(slope) * (z[1] - z[0])
    askew = slope[1000] - (sag[3100] - sag[1000]) / 21.0
    stiffness = 200e3 * math.pi * 6.0**4 / 64
    assert found.value == pytest.approx(math.degrees(abs(askew) / stiffness), rel=0.03)
    assert found.gives[0] == pytest.approx(math.degrees(0.15 / 20))
    # of the same order as all of it at the middles of the bearings
    assert found.value < math.degrees(60.0 * 21**2 / 16 / stiffness) * 1.5


def test_a_tooth_of_a_handles_step_is_as_stout_as_its_shift_makes_it() -> None:
    """Stress of the weaker wheel is in proportion to 1 / form factor; a tooth of 20 teeth
    shifted by half a module is about a quarter stouter (tooth form factors 2.8 and 2.25 of
    strength standards, from memory)."""
    assert shifted_factor(20, 0.5) / form_factor(20) == pytest.approx(2.8 / 2.25, rel=0.03)
    assert shifted_factor(20, 0.0) == form_factor(20)

    def stress(shift: tuple[float, float]) -> float:
        step = HandStep(driver=12, driven=60, module_mm=2.0, shift=shift)
        turn = solve_turn(replace(geared(), handle=Handle(steps=(step,))))
        return next(each.value for each in strength(turn, effort(turn)).checks
                    if each.kind == "tooth" and "handle" in each.text)

    plain = stress((0.0, 0.0))
    assert stress((0.3, 0.0)) / plain == pytest.approx(
        form_factor(12) / shifted_factor(12, 0.3), rel=1e-9)
    # A thinned large wheel becomes the weaker one.
    assert stress((0.3, -0.6)) / plain == pytest.approx(
        form_factor(12) / shifted_factor(60, -0.6), rel=1e-9)
    assert stress((0.0, 0.3)) == plain
