"""What is painted, read back from the pixels."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
import shapely
from mousework import four_bar_sketch, part
from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import QColor, QImage

from app.canvas.camera import Camera
from app.canvas.paint_paths import dot_steps, reached_runs
from app.canvas.shapes import build_shape
from core.findings import Finding
from core.model import (
    Belt,
    Disc,
    Drive,
    Force,
    Lock,
    Mesh,
    Part,
    Pin,
    PinInSlot,
    Point,
    Sketch,
    Slide,
    Spring,
    Torque,
    TorsionSpring,
    Twin,
    Underlay,
)
from core.model.edits import change_point


def image(canvas) -> QImage:
    return canvas.grab().toImage()


def colour_at(canvas, place: complex) -> QColor:
    return image(canvas).pixelColor(canvas.camera.to_screen(place).toPoint())


def count(canvas, colour: QColor, within: int = 12) -> int:
    """Pixels that are nearly of a colour."""
    picture = image(canvas).convertToFormat(QImage.Format.Format_RGB32)
    import numpy as np

    data = np.frombuffer(picture.constBits(), np.uint8).reshape(
        picture.height(), picture.bytesPerLine() // 4, 4)[:, :picture.width(), :3]
    wanted = np.array([colour.blue(), colour.green(), colour.red()])
    return int((np.abs(data.astype(int) - wanted).max(axis=2) <= within).sum())


@pytest.mark.parametrize("mode", ["light", "dark"])
def test_paper_and_wood_follow_the_theme(canvas, session, four_bar, mode):
    session.look.set_mode(mode)
    session.look.set_shown("grid", False)
    theme = session.look.theme
    assert colour_at(canvas, -100 - 60j) == theme.paper
    assert count(canvas, theme.wood(2), 6) > 3000
    assert count(canvas, theme.brass, 40) > 200


def test_parts_move_with_the_crank(canvas, session, four_bar):
    session.look.set_shown("grid", False)
    session.look.set_shown("paths", False)
    paper, drawn = session.look.theme.paper, -50 + 25j
    assert colour_at(canvas, drawn) != paper
    session.set_crank(math.radians(270))
    assert colour_at(canvas, drawn) == paper
    assert colour_at(canvas, canvas.pose.place("coupler", drawn)) != paper


def test_hidden_parts_are_not_painted(canvas, session, four_bar):
    wood = session.look.theme.wood(2)
    shown = count(canvas, wood, 6)
    session.look.set_hidden("coupler", True)
    assert count(canvas, wood, 6) < shown / 10


def test_paths_are_painted_and_can_be_put_away(canvas, session, four_bar):
    ink = session.look.theme.path
    shown = count(canvas, ink, 30)
    assert shown > 200
    session.look.set_shown("paths", False)
    assert count(canvas, ink, 30) < shown / 10


def test_the_selection_shows(canvas, session, four_bar):
    accent = session.look.theme.accent
    before = count(canvas, accent)
    session.select((("part", "coupler"),))
    assert count(canvas, accent) > before + 300


def test_a_point_off_the_wood_is_tied_to_its_part():
    """The coupler's point stands 25 mm above its axis."""
    sketch = four_bar_sketch()
    (tie,) = build_shape(sketch.part("coupler")).ties
    assert tie[1] == -10 + 60j
    axis = (80 + 30j) / abs(80 + 30j)
    assert abs(((tie[1] - tie[0]) * axis.conjugate()).real) < 1e-9  # the shortest way
    assert not build_shape(sketch.part("rocker")).ties


@pytest.mark.parametrize("far", [-10 + 300j, 500 + 50j, -50 - 80j, 30 + 50j])
def test_a_point_far_off_leaves_the_name_on_the_bar(far):
    """Wherever a traced point is dragged, the bar goes from A to B and says its name there."""
    coupler = change_point(four_bar_sketch(), "coupler.C", x=far.real, y=far.imag)
    shape = build_shape(coupler.part("coupler"))
    assert shape.along_rad == pytest.approx(math.atan2(30, 80))
    assert shape.polygon.covers(shapely.Point(shape.name_at.real, shape.name_at.imag))


def test_marks_lie_on_the_wood_of_a_ring():
    ring = Part(id="ring", points=(Point(id="A", x=5.0, y=0.0),),
                outline=Disc(radius_mm=40.0, centre="A"))
    shape = build_shape(ring, bore_mm=30.0)
    assert all(30 <= abs(place - 5) <= 40
               for place in (shape.mark_at, shape.lock_at, shape.middle, shape.name_at))
    assert not shape.ties  # a ring is carried at its middle all the same


def test_a_part_being_drawn_has_no_fault_yet(canvas, session, hand, qtbot):
    canvas.set_tool("part")
    hand.double(-50 + 0j)
    hand.click(-40 + 20j)
    hand.move(30 + 40j)
    qtbot.waitUntil(lambda: session.study_is_current, timeout=20000)
    warned = session.look.theme.grade("warning")
    assert any(finding.code == "loose" for finding in session.study.findings)
    assert count(canvas, warned) < 20
    hand.click(30 + 40j)
    hand.key(Qt.Key.Key_Return)
    session.select(())
    qtbot.waitUntil(lambda: session.study_is_current, timeout=20000)
    assert count(canvas, warned) > 100


def test_gaps_that_are_too_small_are_marked(canvas, session, qtbot):
    tight = Sketch(parts=(part("frame", 0j, 26 + 0j, fixed=True, layer=0),
                          part("arm", 0j, 0 + 40j, layer=1),
                          part("post", 26 + 0j, 26 + 30j, layer=1, )),
                   pins=(Pin(id="p", at=("frame.A", "arm.A")),
                         Pin(id="q", at=("frame.B", "post.A"))),
                   drive=Drive(pin="p", part="arm", drawn_deg=90.0))
    session.adopt_file(tight, None)
    session.set_crank(math.radians(60))
    qtbot.waitUntil(lambda: session.study_is_current, timeout=20000)
    assert count(canvas, session.look.theme.fault, 30) > 60


def test_a_study_repaints_only_for_other_marks(canvas, session, four_bar, qtbot, monkeypatch):
    qtbot.waitUntil(lambda: session.study_is_current, timeout=20000)
    canvas.repaint()
    painted: list[int] = []
    monkeypatch.setattr(canvas, "update", lambda: painted.append(1))
    session.study_changed.emit()
    assert not painted
    worse = Finding(code="test", grade="fault", text="made up", parts=("crank",))
    session.study = replace(session.study, findings=(*session.study.findings, worse))
    session.study_changed.emit()
    assert painted


def test_the_underlay_is_painted_under_everything(canvas, session, tmp_path):
    picture = QImage(100, 50, QImage.Format.Format_RGB32)
    picture.fill(QColor("#00ff00"))
    picture.save(str(tmp_path / "p.png"))
    session.look.set_shown("grid", False)
    under = Underlay(path=str(tmp_path / "p.png"), mm_per_px=1.0, opacity=1.0)
    session.adopt_file(Sketch(underlay=under, parts=(part("bar", 20 + 20j, 80 + 20j),)), None)
    canvas.set_camera(Camera(4.0, 0j, 1000.0, 700.0))
    assert colour_at(canvas, 50 + 45j) == QColor("#00ff00")
    assert colour_at(canvas, 50 + 55j) == session.look.theme.paper
    assert colour_at(canvas, 50 + 26j) != QColor("#00ff00")


def test_a_missing_underlay_leaves_the_paper(canvas, session):
    session.adopt_file(Sketch(underlay=Underlay(path="/nowhere/at/all.png")), None)
    assert count(canvas, session.look.theme.paper, 2) > 100_000


def rich_sketch() -> Sketch:
    """One of everything."""
    def disc(name: str, x: float, r: float) -> Part:
        return Part(id=name, layer=1, outline=Disc(radius_mm=r, centre="A"),
                    points=(Point(id="A", x=x, y=0),))
    return Sketch(
        parts=(part("frame", -60 + 0j, 0j, 60 + 0j, 90 + 0j, -90 + 60j, -40 + 60j, 20 + 60j,
                    fixed=True, layer=0),
               disc("one", -60, 36), disc("two", 0, 24), disc("three", 60, 12),
               part("arm", 0j, 15 + 15j, layer=2, lengths_locked=True),
               part("rod", 15 + 15j, -60 + 60j, layer=3),
               part("block", -60 + 60j, layer=2),
               part("lever", 90 + 0j, 90 + 50j, layer=2),
               part("slotted", 60 + 40j, 110 + 40j, layer=3)),
        pins=(Pin(id="p", at=("frame.A", "one.A")),
              Pin(id="q", at=("frame.B", "two.A", "arm.A")),
              Pin(id="r", at=("frame.C", "three.A")), Pin(id="s", at=("arm.B", "rod.A")),
              Pin(id="t", at=("rod.B", "block.A")), Pin(id="u", at=("frame.D", "lever.A"))),
        slides=(Slide(id="sl", point="block.A", along=("frame.E", "frame.F")),),
        slots=(PinInSlot(id="so", point="lever.B", slot=("slotted.A", "slotted.B")),),
        meshes=(Mesh(id="m", a="one.A", b="two.A", teeth_a=24, teeth_b=16),),
        belts=(Belt(id="b", a="two.A", b="three.A", diameter_a_mm=30, diameter_b_mm=20,
                    crossed=True),),
        locks=(Lock(id="k", parts=("two", "arm"), pin="q"), Lock(id="l", parts=("one", "rod"))),
        springs=(Spring(id="sp", a="frame.G", b="lever.B", rate_n_per_mm=1,
                        free_length_mm=90),),
        torsion_springs=(TorsionSpring(id="ts", pin="u", a="frame", b="lever",
                                       rate_nmm_per_deg=1),),
        forces=(Force(id="f", at="lever.B", fx_n=1, fy_n=1, turns_with_part=True),),
        torques=(Torque(id="to", part="lever", torque_nmm=-50),),
        twins=(Twin(id="tw", parts=(("one", "two"),)),),
        drive=Drive(pin="p", part="one", rpm=-20),
    )


@pytest.mark.parametrize("mode", ["light", "dark"])
def test_everything_there_is_can_be_painted_selected_and_hit(canvas, session, mode):
    from app.canvas.hits import hits

    session.look.set_mode(mode)
    session.adopt_file(rich_sketch(), None)
    plain = image(canvas)
    everything = [(kind, item.id) for kind, group in
                  (("part", "parts"), ("pin", "pins"), ("slide", "slides"), ("slot", "slots"),
                   ("mesh", "meshes"), ("belt", "belts"), ("lock", "locks"),
                   ("spring", "springs"), ("torsion_spring", "torsion_springs"),
                   ("force", "forces"), ("torque", "torques"))
                  for item in getattr(session.sketch, group)]
    for item in everything:
        session.select((item,))
        assert image(canvas) != plain, f"{item} looks the same when selected"
    frame = canvas.frame()
    seen = {item for x in range(-110, 131, 3) for y in range(-50, 81, 3)
            for item in hits(frame, complex(x, y))}
    assert set(everything) - {("part", "frame")} <= seen


def test_dots_stand_at_equal_crank_steps():
    import numpy as np

    crank = np.radians(np.arange(0, 360, 0.5))
    assert dot_steps(crank, 10.0) == list(range(0, 720, 20))
    rocking = np.radians(np.linspace(-30, 30, 121))
    assert [round(math.degrees(rocking[k])) for k in dot_steps(rocking, 10.0)] == [
        -30, -20, -10, 0, 10, 20, 30]


def test_a_path_breaks_only_where_it_is_not_reached():
    import numpy as np

    pixels = np.stack([np.arange(10.0), np.zeros(10)], axis=-1)
    pixels[4:6] = np.nan
    runs = reached_runs(pixels, closed=True)
    assert [len(run) for run in runs] == [8]
    assert [len(run) for run in reached_runs(pixels[1:5], closed=False)] == [3]


def test_a_picture_with_more_pixels_is_sharp(canvas, session, four_bar):
    from PySide6.QtGui import QPixmap

    picture = QPixmap(canvas.size() * 2)
    picture.setDevicePixelRatio(2)
    canvas.render(picture)
    pixel = canvas.camera.to_screen(-100 - 60j) * 2
    assert picture.toImage().pixelColor(QPointF(pixel).toPoint()) in (
        session.look.theme.paper, session.look.theme.grid)
    assert canvas.frame().ratio in (1.0, 2.0)


def test_the_four_bar_of_the_tests_turns(canvas, session):
    session.adopt_file(four_bar_sketch(), None)
    assert session.turn.reached.all()
