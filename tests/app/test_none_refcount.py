"""A release of the Qt binding lost a reference to None in every call without a result,
and the program died after some thousands; see the version range in pyproject.toml."""

from __future__ import annotations

import sys

import pytest
from PySide6.QtGui import QPainterPath
from PySide6.QtWidgets import QLabel
from pytestqt.qtbot import QtBot


@pytest.mark.skipif(sys.version_info >= (3, 12), reason="None is immortal from 3.12 on")
def test_calls_without_a_result_leave_the_count_of_none_alone(qtbot: QtBot) -> None:
    label = QLabel()
    qtbot.addWidget(label)
    path = QPainterPath()
    before = sys.getrefcount(None)
    for step in range(5000):
        label.setText(str(step))
        label.resize(10 + step % 50, 10)
        path.lineTo(step, step)
    assert abs(sys.getrefcount(None) - before) < 500
