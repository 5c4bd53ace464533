"""Locks: what each hold bears, what goes through it, the room it needs, which one to choose."""

from __future__ import annotations

import math
import re

import numpy as np
import pytest
from msgspec.structs import replace

from core.effort import effort, hand
from core.errors import SketchError
from core.making.locks import Locks, Seat, access, advise, capacity, lock_checks, locks_of
from core.making.locks.faces import FACES
from core.making.locks.room import need
from core.making.locks.stock import holding_n, usual_mm
from core.making.locks.torque import GIVE_RAD
from core.materials import MATERIALS
from core.model import (
    LOCK_KINDS,
    Bar,
    Disc,
    Drive,
    Gravity,
    Handle,
    HandStep,
    Lock,
    Mesh,
    Part,
    Pin,
    Point,
    Sketch,
    Torque,
    edits,
)
from core.motion import rates, solve_turn

LOAD_NMM = 500.0


def disc(name: str, x: float, radius: float, layer: int, **more) -> Part:
    return Part(id=name, points=(Point(id="o", x=x, y=0),), layer=layer,
                outline=Disc(radius_mm=radius, centre="o"), **more)


def train(load_nmm: float = LOAD_NMM, kind: str = "glued", teeth: tuple[int, int] = (20, 40),
          flag_layer: int = 2, handle: Handle | None = None, thick: float = 6.0) -> Sketch:
    """A crank gear drives a wheel; on the wheel's shaft, locked to it, a flag with a load
    that acts against the turn."""
    a, b = teeth
    module = 100.0 / ((a + b) / 2)
    frame = Part(id="frame", fixed=True, layer=0, thickness_mm=9.0, points=(
        Point(id="a", x=0, y=0), Point(id="b", x=100, y=0)), outline=Bar(width_mm=20.0))
    flag = Part(id="flag", layer=flag_layer, thickness_mm=thick, points=(
        Point(id="o", x=100, y=0), Point(id="tip", x=100, y=60)), outline=Bar(width_mm=24.0))
    return Sketch(
        parts=(frame, disc("gear", 0.0, module * a / 2, 1), disc("wheel", 100.0,
                                                                  module * b / 2, 1), flag),
        pins=(Pin(id="shaft", at=("frame.a", "gear.o"), diameter_mm=8.0),
              Pin(id="axle", at=("frame.b", "wheel.o", "flag.o"), diameter_mm=8.0)),
        meshes=(Mesh(id="mesh", a="gear.o", b="wheel.o", teeth_a=a, teeth_b=b),),
        locks=(Lock(id="fast", parts=("wheel", "flag"), pin="axle", kind=kind),),
        torques=(Torque(id="load", part="flag", torque_nmm=load_nmm),),
        gravity=Gravity(g_m_s2=0.0), friction=(0.0, 0.0),
        drive=Drive(pin="shaft", part="gear", rpm=1e-6), handle=handle or Handle())


def worked(sketch: Sketch) -> Locks:
    turn = solve_turn(sketch, steps=72)
    strain = effort(turn)
    found = locks_of(turn, strain, hand(turn, strain))
    assert found is not None
    return found


def of(locks: Locks, part: str):
    return next(check for check in locks.checks if check.hold.part == part)


def seat(length: float = 6.0, shaft: str = "steel", hub: str = "birch-plywood") -> Seat:
    return Seat(8.0, length, 6.0, MATERIALS[shaft], MATERIALS[hub], 8.0)


# -- what a hold bears ----------------------------------------------------------------------

@pytest.mark.parametrize("kind", LOCK_KINDS)
def test_every_kind_has_a_range_a_weakest_member_and_a_source(kind: str) -> None:
    found = capacity(kind, seat())
    assert 0.0 < found.low <= found.high
    assert found.weakest.bears.low == found.low
    assert all(one.bears.source and one.formula for one in found.members)


@pytest.mark.parametrize("kind", LOCK_KINDS)
def test_no_hold_on_a_thicker_shaft_or_longer_bore_bears_less(kind: str) -> None:
    thin = capacity(kind, seat())
    for wide in (replace_seat(shaft_mm=12.0), replace_seat(length_mm=9.0, thickness_mm=9.0)):
        assert capacity(kind, wide).low >= thin.low * (1 - 1e-9)


def replace_seat(**more) -> Seat:
    from dataclasses import replace as other

    return other(seat(), **more)


def test_a_kind_nobody_knows_is_refused_with_what_is_known() -> None:
    with pytest.raises(SketchError, match="cottered"):
        capacity("welded", seat())


def test_a_set_screw_bears_nothing_on_a_wooden_shaft() -> None:
    assert capacity("screwed", seat(shaft="beech")).high == 0.0


def test_between_and_beyond_the_tables_a_screw_holds_by_its_area() -> None:
    assert holding_n(8.0).low == pytest.approx(holding_n(6.35).low * (8 / 6.35) ** 2)
    sizes = [holding_n(size).low for size in (3.0, 4.0, 4.5, 5.0, 6.0, 8.0)]
    assert sizes == sorted(sizes)


@pytest.mark.parametrize(("d", "sheet", "pin"), [(6.35, 12, 2.0), (8, 6, 2.0), (8, 9, 2.5),
                                                 (6, 3, 1.0), (12, 18, 4.0)])
def test_a_pin_is_a_third_of_the_shaft_and_of_the_sheet_at_most(d, sheet, pin) -> None:
    assert usual_mm("pinned", d, sheet) == pin


# -- what goes through it -------------------------------------------------------------------

def test_the_load_goes_through_both_parts_of_the_lock_and_the_crank_carries_its_share() -> None:
    """Statics: the flag's torque goes through flag and wheel; the crank has it times the
    ratio of teeth, 20 / 40."""
    locks = worked(train())
    for part in ("wheel", "flag"):
        assert of(locks, part).through.use_nmm[1] == pytest.approx(LOAD_NMM, rel=1e-9)
    assert of(locks, "gear").through.use_nmm[1] == pytest.approx(LOAD_NMM / 2, rel=1e-9)
    handle = next(one for one in locks.checks if one.hold.role == "handle")
    assert handle.through.use_nmm[1] == pytest.approx(LOAD_NMM / 2, rel=1e-9)


def test_a_jam_puts_the_hands_torque_times_the_gearing_on_the_lock() -> None:
    """Virtual work: 20 N on 80 mm is 1.6 N·m at the crank; a wheel twice as slow has twice
    that."""
    locks = worked(train(handle=Handle(radius_mm=80.0, limit_n=20.0)))
    assert of(locks, "gear").through.jam_nmm == pytest.approx(1600.0)
    assert of(locks, "flag").through.jam_nmm == pytest.approx(3200.0)
    assert of(locks, "flag").through.jam_times == pytest.approx(2.0)


def rocker(kind: str = "pinned") -> Sketch:
    """A crank-rocker; on the rocker's shaft a flag is locked to it."""
    a, b = complex(20, 0), complex(100, 70)
    # crank 20, ground 100: the rocker's pin lies where coupler and rocker meet.
    frame = Part(id="frame", fixed=True, layer=0, thickness_mm=9.0, points=(
        Point(id="a", x=0, y=0), Point(id="b", x=100, y=0)))

    def bar(name: str, one: complex, two: complex, layer: int) -> Part:
        return Part(id=name, layer=layer, points=(
            Point(id="p", x=one.real, y=one.imag), Point(id="q", x=two.real, y=two.imag)))

    return Sketch(
        parts=(frame, bar("crank", 0j, a, 1), bar("coupler", a, b, 2),
               bar("rocker", complex(100, 0), b, 1), bar("flag", complex(100, 0),
                                                         complex(140, 0), 2)),
        pins=(Pin(id="shaft", at=("frame.a", "crank.p")),
              Pin(id="throw", at=("crank.q", "coupler.p")),
              Pin(id="knee", at=("coupler.q", "rocker.q")),
              Pin(id="axle", at=("frame.b", "rocker.p", "flag.p"))),
        locks=(Lock(id="fast", parts=("rocker", "flag"), pin="axle", kind=kind),),
        gravity=Gravity(g_m_s2=0.0), drive=Drive(pin="shaft", part="crank"))


def test_near_a_dead_point_play_and_give_bound_the_torque_of_a_jam() -> None:
    sketch = rocker()
    turn = solve_turn(sketch, steps=720)
    strain = effort(turn)
    push = hand(turn, strain)
    check = next(one for one in lock_checks(turn, strain, push) if one.hold.part == "flag")
    speed = rates(turn)
    row = turn.row("flag")
    spin, bend = speed.spin[row], speed.spin2[row]
    dead = np.argmin(np.abs(spin))
    assert check.through.toggled
    assert check.through.jam_nmm >= push.jam_torque_nmm / np.sqrt(
        spin[dead]**2 + 2 * abs(bend[dead]) * GIVE_RAD) * (1 - 1e-9)
    assert math.isfinite(check.through.jam_nmm)


def test_what_does_not_go_round_is_not_checked() -> None:
    sketch = rocker()
    parts = tuple(edits.get(sketch, "crank") if part.id != "crank" else replace(
        part, points=(part.points[0], replace(part.points[1], x=90.0)))
        for part in sketch.parts if part.id == "crank")
    locked = edits.put(sketch, parts[0])
    coupler = edits.get(locked, "coupler")
    locked = edits.put(locked, replace(coupler, points=(
        replace(coupler.points[0], x=90.0), coupler.points[1])))
    turn = solve_turn(locked, steps=72)
    assert turn.limits
    assert lock_checks(turn, effort(turn)) == ()


# -- room -----------------------------------------------------------------------------------

def test_a_collar_needs_its_width_and_flange_a_pin_through_the_edge_nothing_more() -> None:
    assert need("screwed", seat(), 4.0).along == 8.0 + 2.0
    assert need("screwed", seat(hub="aluminium-6061"), 2.5).along == 0.0
    assert need("pinned", seat(), 2.0).along == 0.0
    assert need("pinned", seat(), 2.0).thick == 6.0
    assert need("pinned", replace_seat(length_mm=12.0), 2.0).along == 6.0


def test_free_length_ends_at_whatever_comes_there_over_the_turn() -> None:
    """The wheel lies on the frame and under the flag, which has nothing above it."""
    locks = worked(train())
    wheel = locks.surroundings(of(locks, "wheel").hold)
    assert wheel.free(above=True, around_mm=10.0).along == 0.0
    assert wheel.free(above=False, around_mm=10.0).by == "frame"
    assert locks.surroundings(of(locks, "flag").hold).free(True, 10.0).along == math.inf


def test_a_spare_layer_gives_its_thickness_as_room_and_the_gear_may_be_in_the_way() -> None:
    locks = worked(edits.add(train(flag_layer=3), "parts", disc("far", 300.0, 20.0, 2)))
    above = locks.surroundings(of(locks, "wheel").hold)
    assert above.free(True, 10.0).along == pytest.approx(6.0)
    near = worked(edits.add(train(flag_layer=3), "parts", disc("near", 130.0, 22.0, 2)))
    beside = near.surroundings(of(near, "wheel").hold)
    assert beside.free(True, 7.0).along == pytest.approx(6.0)
    assert beside.free(True, 9.0).along == 0.0
    assert beside.free(True, 9.0).by == "near"


def test_a_drill_reaches_an_arm_in_the_open_and_not_one_walled_in() -> None:
    locks = worked(train(teeth=(40, 20)))
    flag = of(locks, "flag")
    station = flag.hold.seat_of
    reached = access(locks.turn, flag.hold, station.middle_mm, 2.0, 12.0)
    assert reached.reaches
    assert not reached.captive
    ring = Part(id="wall", fixed=True, layer=2, points=(Point(id="o", x=100, y=0),),
                outline=Disc(radius_mm=90.0, centre="o"))
    walled = worked(edits.add(train(teeth=(40, 20)), "parts", ring))
    shut = access(walled.turn, of(walled, "flag").hold, station.middle_mm, 2.0, 12.0)
    assert not shut.reaches
    assert shut.by == "wall"


# -- advice ---------------------------------------------------------------------------------

def test_what_is_advised_first_holds_and_fits_and_sets_the_lock_in_one_edit() -> None:
    sketch = train()
    locks = worked(sketch)
    advice = advise(locks, "fast")
    best = advice.best
    assert best is advice.options[0]
    assert best.holds
    assert best.fits
    after = worked(best.edit(sketch))
    checks = [one for one in after.checks if one.hold.lock == "fast"]
    assert checks
    for check in checks:
        assert check.in_use == "holds"
        assert check.in_jam == "holds"


def test_parts_that_lie_on_each_other_are_best_glued_face_to_face() -> None:
    advice = advise(worked(train()), "fast")
    assert advice.options[0].kind == FACES
    glued = advice.options[0].edit(train()).locks[0]
    assert (glued.pin, glued.kind) == ("", "glued")
    apart = advise(worked(train(flag_layer=3)), "fast")
    assert FACES in {one.kind for one in apart.options}  # nothing lies in layer 2: no air
    spaced = advise(worked(edits.add(train(flag_layer=3), "parts",
                                     disc("far", 300.0, 20.0, 2))), "fast")
    assert FACES not in {one.kind for one in spaced.options}


def test_glued_faces_bear_the_wood_over_their_polar_moment() -> None:
    """Two discs of R = 20 with a bore of r = 4: J / R = π (R⁴ − r⁴) / 2 R, 1.8 MPa."""
    sketch = edits.change(train(), "parts", "flag", outline=Disc(radius_mm=20.0, centre="o"))
    best = next(one for one in advise(worked(sketch), "fast").options if one.kind == FACES)
    shear = best.worst.bears.low / (math.pi * (20.0**4 - 4.0**4) / 40.0)
    assert shear == pytest.approx(1.8, rel=2e-3)


def test_faces_that_only_the_shaft_goes_through_are_no_faces() -> None:
    sketch = train()
    for name in ("wheel", "flag"):
        sketch = edits.change(sketch, "parts", name, outline=Disc(radius_mm=3.0, centre="o"))
    sketch = edits.change(sketch, "locks", "fast", pin="", kind="glued")
    assert "fast" not in {one.hold.lock for one in worked(sketch).checks}


@pytest.mark.parametrize("change", [{"thickness_mm": 1000.0}, {"thickness_mm": 0.1}])
def test_a_part_thicker_than_any_sheet_is_advised_about_too(change: dict[str, float]) -> None:
    sketch = edits.change(train(load_nmm=1e6), "parts", "flag", **change)
    sketch = edits.change(sketch, "parts", "wheel", **change)
    assert advise(worked(sketch), "fast").changes


def test_a_crank_that_nothing_holds_gets_a_lock_of_its_own() -> None:
    sketch = train()
    option = next(one for one in advise(worked(sketch), "gear").options if one.kind == "pinned")
    after = option.edit(sketch)
    lock = after.locks[-1]
    assert (lock.parts, lock.pin, lock.kind) == (("gear",), "shaft", "pinned")
    assert of(worked(after), "gear").hold.lock == lock.id
    assert of(worked(after), "gear").through.use_nmm[1] == pytest.approx(LOAD_NMM / 2)


def test_where_nothing_fits_it_is_said_what_to_change_with_numbers() -> None:
    heavy = train(load_nmm=6000.0, flag_layer=3, handle=Handle(radius_mm=200.0))
    advice = advise(worked(edits.add(heavy, "parts", disc("far", 300.0, 20.0, 2))), "fast")
    assert advice.best is None
    assert advice.changes
    assert all(any(ch.isdigit() for ch in line) for line in advice.changes)


@pytest.mark.parametrize("load", [2000.0, 4000.0, 8000.0])
def test_what_is_said_to_hold_on_a_thicker_shaft_or_sheet_does(load: float) -> None:
    sketch = edits.add(train(load_nmm=load, flag_layer=3), "parts", disc("far", 300.0, 20.0, 2))
    for line in advise(worked(sketch), "fast").changes:
        changed = sketch
        if shaft := re.search("shaft of ([0-9.]+) mm", line):
            changed = edits.change(changed, "pins", "axle", diameter_mm=float(shaft[1]))
        if sheet := re.search("([0-9.]+) mm thick", line):
            for part in ("wheel", "flag"):
                changed = edits.change(changed, "parts", part, thickness_mm=float(sheet[1]))
        if shaft or sheet:
            assert advise(worked(changed), "fast").best is not None, line


def test_pins_of_inch_sketches_are_sold_in_inches() -> None:
    inches = replace(train(), units="in")
    options = {one.kind: one for one in advise(worked(inches), "fast").options}
    assert options["pinned"].size_mm == pytest.approx(25.4 * 5 / 64)
    assert "5/64 in cross pin" in options["pinned"].name
    assert "mm" not in options["pinned"].to_do
    assert options["spring-pinned"].name == "2 mm spring pin"


def test_lengths_of_inch_sketches_are_told_in_inches() -> None:
    inches = replace(train(load_nmm=6000.0, flag_layer=3), units="in")
    inches = edits.add(inches, "parts", disc("far", 300.0, 20.0, 2))
    for line in advise(worked(inches), "fast").changes:
        assert not re.search("[0-9] mm (more|thick|,)", line)
    told = " ".join(advise(worked(inches), "fast").changes)
    for size in re.findall("(?:shaft of|make [a-z]+) (.*?) in", told, re.IGNORECASE):
        assert re.fullmatch("([0-9]+ )?[0-9]+(/[0-9]+)?", size), told  # sold so, no 0.315


def test_faces_are_not_offered_on_the_shaft_that_the_hand_turns() -> None:
    sketch = edits.add(train(), "parts", disc("disc", 0.0, 30.0, 2))
    shaft = edits.get(sketch, "shaft")
    sketch = edits.put(sketch, replace(shaft, at=(*shaft.at, "disc.o")))
    sketch = edits.add(sketch, "locks", Lock(id="both", parts=("gear", "disc"), pin="shaft"))
    advice = advise(worked(sketch), "both")
    assert FACES not in {one.kind for one in advice.options}
    assert advice.best is not None


def test_the_wheel_of_the_hands_steps_is_what_sits_on_the_shaft() -> None:
    steps = (HandStep(driver=12, driven=36, module_mm=3.0),)
    check = next(one for one in worked(train(handle=Handle(steps=steps))).checks
                 if one.hold.role == "handle")
    assert "wheel" in check.hold.name
    assert check.through.jam_nmm == pytest.approx(22.0 * 75.0 * 3.0 * 0.95)


def test_a_name_that_holds_nothing_is_refused() -> None:
    with pytest.raises(SketchError, match="holds nothing"):
        advise(worked(train()), "frame")


# -- a lock of one part ---------------------------------------------------------------------

def test_a_lock_of_one_part_changes_no_load() -> None:
    bare, fast = train(), edits.add(train(), "locks", Lock(
        id="own", parts=("gear",), pin="shaft", kind="pinned"))
    one, other = (effort(solve_turn(each, steps=72)) for each in (bare, fast))
    np.testing.assert_allclose(one.torque_nmm, other.torque_nmm, atol=1e-9)
    for joint in one.reactions:
        np.testing.assert_allclose(one.reactions[joint], other.reactions[joint], atol=1e-9)


def test_it_goes_with_its_part_or_its_pin() -> None:
    fast = edits.add(train(), "locks", Lock(id="own", parts=("gear",), pin="shaft"))
    assert [lock.id for lock in edits.remove(fast, ["shaft"]).locks] == ["fast"]
    assert [lock.id for lock in edits.remove(fast, ["flag"]).locks] == ["own"]
