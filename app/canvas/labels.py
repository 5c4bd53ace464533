"""Room for the short texts on the drawing: none lies over another."""

from __future__ import annotations

from collections.abc import Iterable

from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QPainter

PAD_PX = 3.0


class Labels:
    """What has been written in one picture, as boxes in pixels."""

    def __init__(self) -> None:
        self._taken: list[QRectF] = []

    def reserve(self, box: QRectF) -> None:
        """Keep a box free of texts."""
        self._taken.append(box)

    def place(self, painter: QPainter, text: str, centres: Iterable[QPointF]) -> QPointF:
        """Where the baseline of a text begins: about the first of the centres at which it
        lies over nothing, else about the first of all. The place is taken then."""
        metrics = painter.fontMetrics()
        wide, tall = metrics.horizontalAdvance(text) + 2 * PAD_PX, metrics.height() + 2.0
        boxes = [QRectF(at.x() - wide / 2, at.y() - tall / 2, wide, tall) for at in centres]
        box = next((box for box in boxes if not self._hits(box)), boxes[0])
        self.reserve(box)
        return QPointF(box.left() + PAD_PX, box.top() + 1.0 + metrics.ascent())

    def _hits(self, box: QRectF) -> bool:
        return any(box.intersects(other) for other in self._taken)
