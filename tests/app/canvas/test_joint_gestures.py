"""Pins, slides, slots, gears, belts, locks, springs, loads, crank and traces."""

from __future__ import annotations

import math

import pytest
from mousework import ALT, part
from PySide6.QtCore import Qt
from PySide6.QtGui import QImage

from app.canvas.hits import hits
from app.canvas.paint_drives import KNOB_PX, knob_place
from app.gestures.wheels import shares
from core.errors import FileError
from core.model import Disc, Part, Point, Sketch, Underlay


def disc(name: str, centre: complex, radius: float) -> Part:
    return Part(id=name, points=(Point(id="A", x=centre.real, y=centre.imag),),
                outline=Disc(radius_mm=radius, centre="A"))


@pytest.fixture
def put(session):
    """Puts parts on the paper."""
    def put(*parts: Part, **more) -> Sketch:
        sketch = Sketch(parts=parts, **more)
        session.commit("Start", sketch)
        return sketch
    return put


@pytest.fixture
def said(session) -> list[str]:
    lines: list[str] = []
    session.hint_changed.connect(lines.append)
    return lines


# -- pins ------------------------------------------------------------------------------


def test_a_click_where_parts_overlap_pins_them(hand, session, put):
    put(part("one", -40 + 0j, 40 + 0j), part("two", 0 - 40j, 0 + 40j))
    hand.canvas.set_tool("pin")
    hand.click(0j)
    (pin,) = session.committed.pins
    assert sorted(pin.at) == ["one.C", "two.C"]
    assert session.selection == {("pin", pin.id)}


def test_parts_brought_together_on_a_pin_lie_in_layers_of_their_own(hand, session, put):
    put(part("one", -40 + 0j, 0j, layer=1), part("two", 30 + 0j, 60 + 0j, layer=1))
    hand.canvas.set_tool("pin")
    hand.drag(30 + 0j, 0j)
    sketch = session.committed
    assert (sketch.part("one").layer, sketch.part("two").layer) == (1, 2)
    session.undo()
    assert session.committed.part("two").layer == 1


def test_a_click_on_one_part_makes_a_fixed_pivot_and_the_crank(hand, session, put):
    put(part("arm", 0j, 40 + 0j))
    hand.canvas.set_tool("pin")
    hand.click(0j)
    sketch = session.committed
    assert sketch.part("frame").fixed
    assert sketch.pins[0].at == ("arm.A", "frame.O")
    assert sketch.drive.part == "arm"
    assert sketch.drive.drawn_deg == 0
    session.undo()
    assert session.committed.drive is None


def test_a_pin_takes_in_the_frame_when_clicked_again(hand, session, four_bar):
    hand.canvas.set_tool("pin")
    hand.click(30 + 50j)
    pin = next(pin for pin in session.committed.pins if pin.id == "pin 3")
    assert any(ref.startswith("frame.") for ref in pin.at)


def test_dragging_point_to_point_brings_them_together(hand, session, put):
    put(part("one", -60 + 0j, -20 + 0j), part("two", 20 + 10j, 60 + 10j))
    hand.canvas.set_tool("pin")
    hand.drag(-20 + 0j, 20 + 10j)
    (pin,) = session.committed.pins
    assert set(pin.at) == {"two.A", "one.B"}
    point = session.committed.point("one.B")
    assert (point.x, point.y) == (20, 10)
    assert session.undo_stack.count() == 2


def test_a_pin_let_go_on_bare_paper_changes_nothing(hand, session, put, said):
    sketch = put(part("one", -60 + 0j, -20 + 0j))
    hand.canvas.set_tool("pin")
    hand.drag(-20 + 0j, 20 + 30j)
    assert session.committed is sketch
    assert session.sketch is sketch
    assert any("another part" in line for line in said)


def test_a_click_on_bare_paper_says_what_to_do(hand, session, put, said):
    sketch = put(part("one", -60 + 0j, -20 + 0j))
    hand.canvas.set_tool("pin")
    hand.click(100 + 60j)
    assert session.committed is sketch
    assert said[-1] == "there is no part here; click on a part."


# -- slides and slots ------------------------------------------------------------------


def test_a_slider_crank_is_drawn_with_part_and_slide(hand, session):
    hand.canvas.set_tool("part")
    hand.double(-60 + 0j)
    hand.click(-50 + 15j)
    hand.click(20 + 0j)
    hand.key(Qt.Key.Key_Return)
    hand.canvas.set_tool("slide")
    hand.drag(20 + 0j, 50 + 0j)
    sketch = session.committed
    (slide,) = sketch.slides
    assert slide.point == "block.A"
    assert all(ref.startswith("frame.") for ref in slide.along)
    assert session.trouble == ""
    assert session.turn.reached.all()
    path = session.turn.path("bar 2.B")
    assert abs(path[:, 1]).max() < 1e-9
    stroke = path[:, 0].max() - path[:, 0].min()
    assert stroke == pytest.approx(2 * math.hypot(10, 15), rel=1e-6)  # in line: two cranks


def test_a_part_itself_slides_when_asked(hand, session, put):
    put(part("bolt", -20 + 0j, 20 + 0j))
    hand.canvas.set_tool("slide")
    hand.type("2")
    hand.drag(20 + 0j, 60 + 0j)
    assert session.committed.slides[0].point == "bolt.B"
    assert [part.id for part in session.committed.parts] == ["frame", "bolt"]


def test_a_slot_lies_in_the_other_part_below(hand, session, put):
    put(part("arm", -60 + 0j, 60 + 0j), part("lever", 0 + 0j, 0 + 50j))
    hand.canvas.set_tool("slot")
    hand.drag(0 + 0j, 25 + 0j)
    (slot,) = session.committed.slots
    assert slot.point == "lever.A"
    assert all(ref.startswith("arm.") for ref in slot.slot)
    xs = sorted(session.committed.point(ref).x for ref in slot.slot)
    assert xs == [-25, 25]
    assert session.selection == {("slot", slot.id)}


def test_a_slotted_lever_lies_beside_the_crank_that_runs_in_it(hand, session, put):
    put(part("crank", -40 + 0j, 0j, layer=1), part("lever", 0 - 50j, 0 + 50j, layer=1))
    hand.canvas.set_tool("slot")
    hand.drag(0 + 0j, 0 + 30j)
    sketch = session.committed
    (slot,) = sketch.slots
    sliding = slot.point.split(".")[0]
    assert {sketch.part("crank").layer, sketch.part("lever").layer} == {1, 2}
    assert sketch.part(sliding).layer == 1  # the part that carries the slot gave way


def test_escape_gives_up_a_guide(hand, session, put):
    sketch = put(part("bolt", -20 + 0j, 20 + 0j))
    hand.canvas.set_tool("slide")
    hand.press(20 + 0j)
    hand.move(60 + 0j)
    hand.key(Qt.Key.Key_Escape)
    hand.release(60 + 0j)
    assert session.committed is sketch


# -- gears and belts -------------------------------------------------------------------


def test_two_discs_become_a_gear_pair_that_turns(hand, session, put):
    put(disc("pinion", -30 + 0j, 20), disc("wheel", 30 + 0j, 38))
    hand.canvas.set_tool("mesh")
    hand.click(-35 + 12j)
    hand.click(35 + 20j)
    sketch = session.committed
    (mesh,) = sketch.meshes
    assert session.selection == {("mesh", mesh.id)}  # its teeth stand in the particulars
    assert {mesh.a, mesh.b} == {"pinion.A", "wheel.A"}
    assert mesh.teeth_a + mesh.teeth_b == 40  # module 3 over 60 mm
    knob = knob_place(hand.canvas.frame())  # on its own wheel, clear of the other's pivot
    assert abs(knob - hand.canvas.pose.at("wheel.A")) * 4.0 > 2 * KNOB_PX
    radii = [sketch.part(name).outline.radius_mm for name in ("pinion", "wheel")]
    assert sum(radii) == pytest.approx(60)
    assert session.trouble == ""
    turn = session.turn
    ratio = (turn.angle_rad[-1] - turn.angle_rad[0])[turn.row("wheel")] / (
        turn.angle_rad[-1] - turn.angle_rad[0])[turn.row("pinion")]
    assert ratio == pytest.approx(-mesh.teeth_a / mesh.teeth_b)
    assert session.undo_stack.count() == 2


def test_a_pinion_drawn_inside_a_wheel_runs_inside_it(hand, session):
    """Drawn on the wheel it is pinned to it; meshed, both turn on the frame."""
    hand.canvas.set_tool("part")
    hand.type("4")
    for place in (0j, 40 + 0j, 10 + 0j, 28 + 0j):
        hand.click(place)
    assert len(session.committed.pins) == 1
    hand.canvas.set_tool("mesh")
    hand.click(-30 + 0j)
    hand.click(15 + 5j)
    sketch = session.committed
    (mesh,) = sketch.meshes
    assert mesh.internal
    assert len(sketch.pins) == 2
    assert all("frame" in " ".join(pin.at) for pin in sketch.pins)
    assert len(sketch.part("disc").points) == 1  # the point made for the pin went with it
    assert sketch.part("disc").layer == sketch.part("disc 2").layer
    module = 2 * 10 / abs(mesh.teeth_a - mesh.teeth_b)
    assert sketch.part("disc 2").outline.radius_mm == pytest.approx(module * mesh.teeth_b / 2)
    assert sketch.part("disc").outline.radius_mm >= module * (mesh.teeth_a / 2 + 3) - 1e-9
    assert session.trouble == ""
    turn = session.turn
    angles = turn.angle_rad[-1] - turn.angle_rad[0]
    ratio = angles[turn.row("disc 2")] / angles[turn.row("disc")]
    assert ratio == pytest.approx(mesh.teeth_a / mesh.teeth_b)  # inside: the same way round
    assert ("part", "disc") not in hits(hand.canvas.frame(), 0 + 3j)  # the ring is cut out


@pytest.mark.parametrize(("radii", "distance", "internal"), [
    ((20, 40), 60, False), ((20, 60), 40, True), ((60, 20), 38, True), ((5, 500), 505, False)])
def test_teeth_follow_from_the_sizes(radii, distance, internal):
    teeth_a, teeth_b, inside = shares(*radii, distance)
    assert inside is internal
    assert min(teeth_a, teeth_b) >= 8
    assert (teeth_a < teeth_b) == (radii[0] < radii[1])


def test_a_belt_runs_round_two_discs(hand, session, put):
    put(disc("one", -40 + 0j, 20), disc("two", 40 + 0j, 10))
    hand.canvas.set_tool("belt")
    hand.type("2")
    hand.click(-40 + 12j)
    hand.click(42 + 5j)
    (belt,) = session.committed.belts
    assert (belt.diameter_a_mm, belt.diameter_b_mm, belt.crossed) == (40, 20, True)
    turn = session.turn
    angles = turn.angle_rad[-1] - turn.angle_rad[0]
    assert angles[turn.row("two")] == pytest.approx(-2 * angles[turn.row("one")])


def test_discs_too_near_for_a_belt_are_refused(hand, session, put, said):
    put(disc("one", -15 + 0j, 20), disc("two", 15 + 0j, 20))
    hand.canvas.set_tool("belt")
    hand.click(-30 + 0j)
    hand.click(30 + 0j)
    assert not session.committed.belts
    assert "too near" in said[-1]


def test_two_parts_are_locked_on_the_shaft_they_share(hand, session, four_bar):
    hand.canvas.set_tool("lock")
    hand.click(-50 + 10j)
    hand.click(-10 + 35j)
    (lock,) = session.committed.locks
    assert set(lock.parts) == {"crank", "coupler"}
    assert lock.pin == "pin 2"
    hand.click(-10 + 35j)
    hand.click(40 + 25j)
    (lock,) = session.committed.locks
    assert set(lock.parts) == {"crank", "coupler", "rocker"}


# -- springs and loads -----------------------------------------------------------------


def test_a_spring_from_the_paper_hangs_on_the_frame(hand, session, four_bar):
    hand.canvas.set_tool("spring")
    hand.drag(-90 + 60j, -10 + 60j)
    (spring,) = session.committed.springs
    assert spring.a.startswith("frame.")
    assert spring.b == "coupler.C"
    assert spring.free_length_mm == pytest.approx(0.7 * 80)


def test_a_click_on_a_pin_winds_a_torsion_spring(hand, session, four_bar):
    hand.canvas.set_tool("spring")
    hand.click(50 + 0j)
    (spring,) = session.committed.torsion_springs
    assert (spring.pin, spring.a, spring.b) == ("pin 4", "frame", "rocker")


def test_a_force_is_as_large_as_its_arrow_is_long(hand, session, four_bar):
    hand.canvas.set_tool("load")
    hand.drag(-10 + 60j, -10 + 80j)
    (force,) = session.committed.forces
    assert (force.at, force.fx_n, force.fy_n) == ("coupler.C", 0, 2)
    hand.canvas.set_tool("arrange")
    hand.drag(-10 + 75j, 10 + 75j)
    (force,) = session.committed.forces
    assert force.fx_n == pytest.approx(2)


def test_a_click_on_a_part_twists_it(hand, session, four_bar):
    hand.canvas.set_tool("load")
    hand.click(40 + 25j)
    (torque,) = session.committed.torques
    assert torque.part == "rocker"
    assert session.selection == {("torque", torque.id)}


# -- crank, trace, picture -------------------------------------------------------------


def test_another_part_becomes_the_crank_and_nothing_jumps(hand, session, four_bar):
    before = {ref: place for part in four_bar.parts for ref, place in
              hand.canvas.pose.points(part)}
    hand.canvas.set_tool("crank")
    hand.click(40 + 25j)
    drive = session.committed.drive
    assert (drive.part, drive.pin) == ("rocker", "pin 4")
    assert drive.drawn_deg == pytest.approx(math.degrees(math.atan2(50, -20)))
    for each in session.sketch.parts:
        for ref, place in hand.canvas.pose.points(each):
            assert place == pytest.approx(before[ref], abs=1e-6)


def test_a_part_without_a_fixed_pivot_cannot_be_the_crank(hand, session, four_bar, said):
    hand.canvas.set_tool("crank")
    hand.click(-10 + 35j)
    assert session.committed is four_bar
    assert "not pinned to the frame" in said[-1]


def test_trace_comes_and_goes_and_makes_points(hand, session, four_bar):
    hand.canvas.set_tool("trace")
    hand.click(-10 + 60j)
    assert not session.committed.point("coupler.C").trace
    hand.click(-10 + 60j)
    assert session.committed.point("coupler.C").trace
    hand.click(-10 + 35j, ALT)
    made = session.committed.part("coupler").points[-1]
    assert made.trace
    assert made.x == pytest.approx(-10, abs=0.2)


def test_a_traced_point_is_put_where_it_is_seen(hand, session, four_bar):
    session.set_crank(math.radians(250))
    seen = hand.canvas.pose.place("coupler", -10 + 35j)
    hand.canvas.set_tool("trace")
    hand.click(seen, ALT)
    made = session.committed.part("coupler").points[-1]
    now = hand.canvas.pose.at(f"coupler.{made.id}")
    assert abs(now - seen) < 0.3


def test_a_picture_is_laid_and_dragged(hand, session, tmp_path, said):
    picture = QImage(200, 100, QImage.Format.Format_RGB32)
    picture.save(str(tmp_path / "plan.png"))
    hand.canvas.set_tool("scale")
    hand.canvas.gesture.lay(str(tmp_path / "plan.png"))
    laid = session.committed.underlay
    assert complex(laid.x, laid.y) == pytest.approx(-complex(200, 100) * laid.mm_per_px / 2)
    hand.drag(0j, 20 + 10j)
    moved = session.committed.underlay
    assert (moved.x - laid.x, moved.y - laid.y) == pytest.approx((20, 10))
    assert session.undo_stack.undoText() == "Move picture"
    with pytest.raises(FileError):
        hand.canvas.gesture.lay(str(tmp_path / "no such.png"))


def test_two_clicks_and_a_distance_scale_the_picture(hand, session, qtbot, tmp_path):
    picture = QImage(200, 100, QImage.Format.Format_RGB32)
    picture.fill(0xFF808080)
    path = tmp_path / "plan.png"
    picture.save(str(path))
    session.commit("Lay", Sketch(underlay=Underlay(path=str(path), mm_per_px=0.5)))
    hand.canvas.set_tool("scale")
    hand.click(0j)
    hand.click(50 + 0j)
    qtbot.keyClicks(hand.canvas.entry.box, "10 in")
    qtbot.keyClick(hand.canvas.entry.box, Qt.Key.Key_Return)
    underlay = session.committed.underlay
    assert underlay.mm_per_px == pytest.approx(0.5 * 254 / 50)
    assert (underlay.x, underlay.y) == (0, 0)
    assert session.undo_stack.undoText() == "Scale picture"
