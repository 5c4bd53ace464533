"""Whatever a hand does with the wish tools, the sketch stays sound."""

from __future__ import annotations

import random

import pytest
from mousework import ALT, NONE, SHIFT, four_bar_sketch
from PySide6.QtCore import Qt

from app.canvas.camera import Camera
from core.files import dumps, loads
from core.model.validate import problems

KEYS = (Qt.Key.Key_Return, Qt.Key.Key_Escape, Qt.Key.Key_Backspace, Qt.Key.Key_Delete,
        Qt.Key.Key_Left, Qt.Key.Key_Up, Qt.Key.Key_Tab)


@pytest.mark.parametrize("seed", range(12))
def test_the_sketch_stays_sound_whatever_is_done(hand, session, canvas, seed):
    """pytest-qt fails a test in which a handler raised."""
    draw = random.Random(seed)
    session.adopt_file(four_bar_sketch(), None)
    canvas.set_camera(Camera(4.0, 0j, 1000.0, 700.0))
    spots = [complex(draw.uniform(-90, 90), draw.uniform(-60, 80)) for _ in range(6)]
    spots += [-10 + 60j, -50 + 20j, 30 + 50j]

    def place() -> complex:
        made = [complex(*p) for wish in session.sketch.wanted
                for p in getattr(wish, "through", ())]
        near = draw.choice(spots + made)
        return near + complex(draw.uniform(-1, 1), draw.uniform(-1, 1))

    for _ in range(70):
        keys = draw.choice((NONE, NONE, NONE, ALT, SHIFT))
        match draw.randrange(9):
            case 0:
                canvas.set_tool(draw.choice(("wish", "wish", "region", "arrange", "arrange")))
            case 1:
                hand.type(draw.choice("123456"))
            case 2:
                hand.click(place(), keys)
            case 3:
                hand.double(place())
            case 4 | 5:
                hand.drag(place(), place(), place(), keys=keys)
            case 6:
                hand.key(draw.choice(KEYS))
                canvas.setFocus()
            case 7:
                draw.choice((session.undo, session.redo))()
            case _:
                session.set_crank(draw.uniform(0, 6.28))
    hand.key(Qt.Key.Key_Escape)
    canvas.grab()
    assert [problem for problem in problems(session.committed)
            if problem.fatal or problem.place.startswith(("wanted", "zones"))] == []
    assert loads(dumps(session.committed), strict=False) == session.committed
