"""Which of the curves in a file is meant."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from PySide6.QtCore import QRectF, QSize, Qt, Signal
from PySide6.QtGui import QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QLabel,
    QListWidget,
    QVBoxLayout,
    QWidget,
)

from app.canvas.shapes import to_polygon
from app.theme import Theme
from core.files.curves import Curve
from core.units import show_length

_MOST_LISTED = 200
_MARGIN_PX = 12.0


class CurvesDialog(QDialog):
    """A list of curves, the longest chosen, and a picture with the chosen one in colour.

    `chosen(curve)` when one is taken.
    """

    chosen = Signal(object)

    def __init__(self, curves: Sequence[Curve], units: str, theme: Theme,
                 parent: QWidget) -> None:
        super().__init__(parent)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setWindowTitle("Which path?")
        self._curves = tuple(curves[:_MOST_LISTED])
        text = f"The file has {len(curves)} curves. Choose the path that is wanted."
        if len(curves) > _MOST_LISTED:
            text += f" The {_MOST_LISTED} longest are listed."
        self.picture = _Picture(self._curves, theme, self)
        self.list = QListWidget(self)
        self.list.addItems([_words(curve, units) for curve in self._curves])
        self.list.currentRowChanged.connect(self.picture.show_curve)
        self.list.itemActivated.connect(self.accept)
        self.list.setCurrentRow(0)
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Cancel, self)
        buttons.addButton("Take this path", QDialogButtonBox.ButtonRole.AcceptRole)
        buttons.accepted.connect(self.accept)
        buttons.rejected.connect(self.reject)
        column = QVBoxLayout(self)
        for widget in (QLabel(text, self), self.picture, self.list, buttons):
            column.addWidget(widget)
        self.accepted.connect(self._taken)
        self.list.setFocus()

    def _taken(self) -> None:
        self.chosen.emit(self._curves[max(self.list.currentRow(), 0)])


def _words(curve: Curve, units: str) -> str:
    shape = "single places" if curve.kind == "places" else "loop" if curve.closed else "open"
    name = f"{curve.name}: " if curve.name else ""
    timed = ", with crank angles" if curve.crank_deg is not None else ""
    return f"{name}{show_length(curve.length_mm, units)} long, {shape}{timed}"


class _Picture(QWidget):
    """All curves, one of them in the colour of wishes."""

    def __init__(self, curves: Sequence[Curve], theme: Theme, parent: QWidget) -> None:
        super().__init__(parent)
        self._curves, self._theme, self._row = curves, theme, 0
        self.setMinimumSize(360, 240)

    def sizeHint(self) -> QSize:
        return QSize(420, 280)

    def show_curve(self, row: int) -> None:
        """Paint that one in colour."""
        self._row = row
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.fillRect(self.rect(), self._theme.paper)
        every = np.concatenate([curve.places for curve in self._curves])
        low = complex(every.real.min(), every.imag.min())
        span = complex(every.real.max(), every.imag.max()) - low
        room = QRectF(self.rect()).adjusted(_MARGIN_PX, _MARGIN_PX, -_MARGIN_PX, -_MARGIN_PX)
        scale = min(room.width() / max(span.real, 1e-9), room.height() / max(span.imag, 1e-9))
        order = sorted(range(len(self._curves)), key=lambda row: row == self._row)
        for row in order:
            curve = self._curves[row]
            run = np.append(curve.places, curve.places[:1]) if curve.closed else curve.places
            at = (run - low - span / 2) * scale
            middle = room.center()
            painter.setPen(QPen(self._theme.wish, 2.0) if row == self._row
                           else QPen(self._theme.faint, 1.0))
            painter.drawPolyline(to_polygon(np.column_stack(
                [middle.x() + at.real, middle.y() - at.imag])))
        painter.end()
