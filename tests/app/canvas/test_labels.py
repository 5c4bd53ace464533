"""Texts on the drawing keep clear of each other, of pins and of the crank's knob."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QImage, QPainter

from app.canvas.labels import Labels
from app.canvas.shapes import build_shape
from core.model import Part, Point


def _spots(labels: Labels, texts: list[tuple[str, list[QPointF]]]) -> list[QPointF]:
    picture = QImage(200, 200, QImage.Format.Format_ARGB32)
    painter = QPainter(picture)
    spots = [labels.place(painter, text, centres) for text, centres in texts]
    painter.end()
    return spots


def test_the_second_text_at_a_place_gives_way(qapp) -> None:
    middle, below = QPointF(100, 100), QPointF(100, 150)
    first, second = _spots(Labels(), [("0.02 N·m", [middle]), ("74.3°", [middle, below])])
    assert abs(first.y() - 100) < 12
    assert abs(second.y() - 150) < 12


def test_a_reserved_box_stays_free(qapp) -> None:
    labels = Labels()
    labels.reserve(QRectF(80, 80, 40, 40))
    (spot,) = _spots(labels, [("90°", [QPointF(100, 100), QPointF(100, 40)])])
    assert spot.y() < 60


def test_a_text_without_a_free_place_is_still_written(qapp) -> None:
    labels = Labels()
    labels.reserve(QRectF(0, 0, 200, 200))
    (spot,) = _spots(labels, [("90°", [QPointF(100, 100), QPointF(100, 40)])])
    assert abs(spot.y() - 100) < 12


def test_a_name_stands_in_the_longest_stretch_between_points() -> None:
    bar = Part(id="lever", points=(Point(id="A", x=0, y=0), Point(id="B", x=30, y=0),
                                   Point(id="C", x=120, y=0)))
    shape = build_shape(bar)
    assert abs(shape.name_at - (75 + 0j)) < 1e-6
    assert abs(shape.name_room_mm - 90) < 1e-6
