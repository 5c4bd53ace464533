"""What leaves the window: sheets, tables, pictures."""

from __future__ import annotations

import csv
import sys
from pathlib import Path

import pytest
from pypdf import PdfReader
from PySide6.QtWidgets import QLineEdit


def test_sheets_are_looked_at_and_written(qtbot, window, tmp_path: Path) -> None:
    window.action("sheets").trigger()
    dialog = window.making.dialog
    qtbot.waitUntil(lambda: bool(dialog.pages), timeout=20_000)
    assert not dialog.view.pixmap().isNull()
    dialog.scale.setText("one to two")
    dialog.redraw()
    assert dialog.error.text().endswith(".")
    assert not dialog.go.isEnabled()
    dialog.scale.setText("1:2")
    dialog.redraw()
    assert dialog.options().scale == 0.5
    window.making._ready = dialog._study, dialog.options()
    window.making.write_pdf(str(tmp_path / "otter.pdf"))
    assert (tmp_path / "otter.pdf").read_bytes().startswith(b"%PDF")
    dialog.reject()


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="the system's own dialog")
def test_sheets_are_printed_through_the_print_dialog(qtbot, window, tmp_path: Path) -> None:
    window.action("print").trigger()
    sheets = window.making.dialog
    qtbot.waitUntil(lambda: bool(sheets.pages), timeout=20_000)
    sheets.go.click()
    qtbot.waitUntil(lambda: window.making.printing is not None
                    and window.making.printing.isVisible())
    file = tmp_path / "printed.pdf"
    # Without a printer Qt's dialog offers a file.
    window.making.printing.findChild(QLineEdit, "filename").setText(str(file))
    window.making.printing.accept()
    assert len(PdfReader(file).pages) == len(sheets.pages)


def test_the_turn_table_is_written(window, tmp_path: Path) -> None:
    window.making.write_table(str(tmp_path / "turn.csv"))
    with (tmp_path / "turn.csv").open() as file:
        rows = list(csv.reader(file))
    assert rows[0][0] == "crank_deg"
    assert len(rows) > 360
    assert {len(row) for row in rows} == {len(rows[0])}


def test_the_picture_of_the_canvas_is_written(window, tmp_path: Path) -> None:
    from PySide6.QtGui import QImage

    window.making.write_picture(str(tmp_path / "canvas.png"))
    image = QImage(str(tmp_path / "canvas.png"))
    assert image.width() == 2 * window.canvas.width()


