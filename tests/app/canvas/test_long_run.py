"""Ten thousand drags: nothing leaks, and undoing all gives the first sketch back."""

from __future__ import annotations

import functools
import gc
import resource
import sys
from collections import Counter
from functools import partial

import numpy as np
import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest

from app import engine
from app.canvas.camera import Camera
from core.motion.redimension import drag_points

LEFT = Qt.MouseButton.LeftButton


def objects() -> Counter[str]:
    """What there is, apart from what bounded caches keep for the next call."""
    for each in gc.get_objects():
        if isinstance(each, functools._lru_cache_wrapper):
            each.cache_clear()
    gc.collect()
    return Counter(type(each).__name__ for each in gc.get_objects())


def test_ten_thousand_edits_undo_to_the_very_same_sketch(canvas, session, four_bar):
    session.worker.close()  # the checks of ten thousand sketches are not the matter here
    chance = np.random.default_rng(7)
    sketch = four_bar
    for step in range(10_000):
        ref, home = (("coupler.B", 30 + 50j), ("coupler.C", -10 + 60j))[step % 2]
        place = home + complex(*chance.uniform(-4, 4, 2))
        sketch = drag_points(session.committed, {ref: (place.real, place.imag)})
        assert session.commit(f"Move {ref}", sketch)
        if step % 500 == 0:
            canvas.repaint()
    assert session.undo_stack.count() == 10_000
    assert len(canvas.shapes._held) < 100
    session.undo_stack.setIndex(0)
    assert session.committed is four_bar


def test_thousands_of_mouse_moves_leave_nothing_behind(canvas, session, four_bar, qtbot):
    canvas.set_camera(Camera(4.0, 0j, 1000.0, 700.0))

    def drags(count: int) -> None:
        for turn in range(count):
            session.set_crank(0.1 * turn)
            start = canvas.camera.to_screen(canvas.pose.at("coupler.B")).toPoint()
            QTest.mousePress(canvas, LEFT, pos=start)
            for step in range(1, 21):
                QTest.mouseMove(canvas, start + QPoint(step % 11, -(step % 7)))
            QTest.keyClick(canvas, Qt.Key.Key_Escape)
            QTest.mouseRelease(canvas, LEFT, pos=start)
            assert session.sketch is four_bar
            qtbot.wait(1)
        canvas.repaint()
        # When the newest answer is here, none is on its way.
        with qtbot.waitSignal(
                session.worker.done, timeout=60000,
                check_params_cb=lambda token, answer: token == session.worker.latest):
            session.worker.ask(partial(engine.look_into, four_bar, session.turn, False))
        session.study = None

    drags(10)
    before, none_before = objects(), sys.getrefcount(None)
    size_before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    drags(100)
    after, none_after = objects(), sys.getrefcount(None)
    size_after = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    if sys.version_info < (3, 12):  # from then on None is immortal, its count says nothing
        assert abs(none_after - none_before) < 1000
    grown = {name: after[name] - before[name] for name in after
             if after[name] - before[name] > 300}
    assert not grown
    if sys.platform == "linux":  # kilobytes there
        assert size_after - size_before < 60_000


@pytest.mark.parametrize("tool", ["arrange", "hand", "part", "pin", "slide", "slot", "mesh",
                                  "belt", "lock", "spring", "load", "crank", "trace", "scale"])
def test_any_tool_may_be_abandoned_at_any_moment(canvas, session, four_bar, tool):
    """Whatever is clicked, Escape enough times leaves sound state and no preview."""
    chance = np.random.default_rng(sum(map(ord, tool)))
    canvas._ground.pictures.folder = None
    for _ in range(10):
        session.undo_stack.setIndex(0)
        canvas.set_tool(tool)
        if tool == "scale" and session.committed.underlay is None:
            break  # would ask for a picture
        for _ in range(int(chance.integers(1, 6))):
            pixel = QPoint(*(int(v) for v in chance.integers((250, 120), (750, 400))))
            other = QPoint(*(int(v) for v in chance.integers((250, 120), (750, 400))))
            QTest.mousePress(canvas, LEFT, pos=pixel)
            QTest.mouseMove(canvas, (pixel + other) / 2)
            QTest.mouseMove(canvas, other)
            if chance.random() < 0.7:
                QTest.mouseRelease(canvas, LEFT, pos=other)
        for _ in range(3):
            QTest.keyClick(canvas, Qt.Key.Key_Escape)
        QTest.mouseRelease(canvas, LEFT, pos=QPoint(500, 300))
        assert session.sketch is session.committed
        canvas.repaint()
    session.undo_stack.setIndex(0)
    assert session.committed is four_bar
