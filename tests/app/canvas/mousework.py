"""A hand that moves the mouse over a canvas, and sketches for it to work on."""

from __future__ import annotations

import cmath
import math

from PySide6.QtCore import QEvent, QPoint, QPointF, Qt
from PySide6.QtGui import QMouseEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from app.canvas import Canvas
from core.model import Bar, Drive, Part, Pin, Point, Sketch

LEFT = Qt.MouseButton.LeftButton
NONE = Qt.KeyboardModifier.NoModifier
ALT = Qt.KeyboardModifier.AltModifier
SHIFT = Qt.KeyboardModifier.ShiftModifier


class Hand:
    """Mouse and keys on a canvas; places are complex mm in the sketch's plane."""

    def __init__(self, canvas: Canvas) -> None:
        self.canvas = canvas

    def pixel(self, place: complex) -> QPoint:
        return self.canvas.camera.to_screen(place).toPoint()

    def at(self, place: complex) -> complex:
        """The place of the pixel the mouse really goes to."""
        return self.canvas.camera.to_plane(QPointF(self.pixel(place)))

    def move(self, place: complex, keys: Qt.KeyboardModifier = NONE) -> None:
        # QTest.mouseMove has no modifiers: they are held by a key event of their own kind.
        if keys == NONE:
            QTest.mouseMove(self.canvas, self.pixel(place))
        else:
            move_with(self.canvas, self.pixel(place), keys)

    def click(self, place: complex, keys: Qt.KeyboardModifier = NONE) -> None:
        self.move(place, keys)
        QTest.mouseClick(self.canvas, LEFT, keys, self.pixel(place))

    def double(self, place: complex) -> None:
        self.click(place)
        QTest.mouseDClick(self.canvas, LEFT, NONE, self.pixel(place))

    def press(self, place: complex, keys: Qt.KeyboardModifier = NONE) -> None:
        QTest.mousePress(self.canvas, LEFT, keys, self.pixel(place))

    def release(self, place: complex, keys: Qt.KeyboardModifier = NONE) -> None:
        QTest.mouseRelease(self.canvas, LEFT, keys, self.pixel(place))

    def drag(self, start: complex, *stops: complex, keys: Qt.KeyboardModifier = NONE) -> None:
        self.press(start, NONE if keys == ALT else keys)
        for stop in stops:
            self.move(start + 0.5 * (stop - start), keys)
            self.move(stop, keys)
            start = stop
        self.release(start, keys)

    def key(self, key: Qt.Key, keys: Qt.KeyboardModifier = NONE) -> None:
        QTest.keyClick(self.canvas, key, keys)

    def type(self, text: str) -> None:
        QTest.keyClicks(self.canvas, text)

    def draw_four_bar(self) -> None:
        """Four clicks: fixed pivot, joint, joint, fixed pivot."""
        self.canvas.set_tool("part")
        self.double(-50 - 15j)
        self.click(-40 + 5j)
        self.click(50 + 40j)
        self.double(65 - 15j)


def move_with(canvas: Canvas, pixel: QPoint, keys: Qt.KeyboardModifier) -> None:
    """A mouse move with keys held."""
    event = QMouseEvent(QEvent.Type.MouseMove, QPointF(pixel),
                        QPointF(canvas.mapToGlobal(pixel)), Qt.MouseButton.NoButton,
                        Qt.MouseButton.NoButton, keys)
    QApplication.sendEvent(canvas, event)


def loop(middle: complex, radius: float, count: int = 40, turns: float = 0.97) -> list[complex]:
    """Places round a circle, ending near the first."""
    return [middle + cmath.rect(radius, 2 * math.pi * turns * k / count)
            for k in range(count + 1)]


def draw(hand: Hand, places: list[complex]) -> None:
    """Press, go through places, let go."""
    hand.press(places[0])
    for place in places[1:]:
        hand.move(place)
    hand.release(places[-1])


def take_pen(hand: Hand, option: str) -> None:
    """The Wish tool with one of its pens, by its key."""
    hand.canvas.set_tool("wish")
    hand.type(option)


def only_wish(session):
    """The one wish of the sketch in hand."""
    (wish,) = session.committed.wanted
    return wish


def part(name: str, *places: complex, fixed: bool = False, layer: int | None = None,
         **more) -> Part:
    """A bar through places, its points called A, B, C…"""
    points = tuple(Point(id=chr(ord("A") + k), x=z.real, y=z.imag)
                   for k, z in enumerate(places))
    return Part(id=name, points=points, fixed=fixed, layer=layer, **more)


def four_bar_sketch() -> Sketch:
    """A crank-rocker with a coupler point."""
    a, b, c, d = -50 + 0j, -50 + 20j, 30 + 50j, 50 + 0j
    return Sketch(
        parts=(part("frame", a, d, fixed=True, layer=0),
               part("crank", a, b, layer=1),
               Part(id="coupler", layer=2, outline=Bar(through=("A", "B")), points=(
                   Point(id="A", x=b.real, y=b.imag), Point(id="B", x=c.real, y=c.imag),
                   Point(id="C", x=-10.0, y=60.0, trace=True))),
               part("rocker", d, c, layer=1)),
        pins=(Pin(id="pin 1", at=("frame.A", "crank.A")),
              Pin(id="pin 2", at=("crank.B", "coupler.A")),
              Pin(id="pin 3", at=("coupler.B", "rocker.B")),
              Pin(id="pin 4", at=("frame.B", "rocker.A"))),
        drive=Drive(pin="pin 1", part="crank", drawn_deg=90.0),
    )
