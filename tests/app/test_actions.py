"""Every command of the menus does something or says why not, whatever is selected."""

from __future__ import annotations

import pytest
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QDialog

from app import demos
from app.actions import COMMANDS
from core.files import loads
from core.model import Sketch

EMPTY = "nothing drawn"


@pytest.mark.parametrize("chosen", ["nothing", "a part", "a pin", "all parts"])
@pytest.mark.parametrize("name", ["night-moth", "stiff-otter", EMPTY])
def test_every_command_runs(window, name: str, chosen: str) -> None:
    """pytest-qt fails a test in which a slot raised."""
    sketch = Sketch() if name == EMPTY else loads(demos.data(name))
    picked = {
        "nothing": [],
        "a part": [("part", part.id) for part in sketch.parts[1:2]],
        "a pin": [("pin", pin.id) for pin in sketch.pins[:1]],
        "all parts": [("part", part.id) for part in sketch.parts],
    }[chosen]
    for command in COMMANDS:
        if command.id == "quit":
            continue
        window.session.adopt_file(sketch, None)
        window.session.select(picked)
        window.action(command.id).trigger()
        QTest.qWait(1)
        for widget in QApplication.topLevelWidgets():
            if isinstance(widget, QDialog) and widget.isVisible():
                widget.reject()
        window.session.player.set_playing(False)
    assert window.isVisible()
