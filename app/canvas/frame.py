"""What a painter needs to know about the picture being painted."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
from PySide6.QtCore import QPointF
from PySide6.QtGui import QColor, QFont, QPen

from app.canvas.camera import Camera
from app.canvas.labels import Labels
from app.canvas.pose import Pose
from app.canvas.shapes import Shapes
from app.look import Look
from app.theme import Theme, font
from core.model import Part, Pin, Sketch
from core.motion.turn import Turn

if TYPE_CHECKING:
    from core.study import Study

Selected = frozenset[tuple[str, str]]


@dataclass(frozen=True)
class Frame:
    """One picture: the view, the pose, the colours, and what is lit up.

    `ratio` is device pixels per logical pixel; `unfinished` the parts being drawn, which
    get no marks; `busy` while something is drawn that is not in the sketch yet; `labels` the
    texts written so far.
    """

    camera: Camera
    pose: Pose
    turn: Turn
    study: Study | None
    look: Look
    theme: Theme
    shapes: Shapes
    selection: Selected = frozenset()
    hovered: tuple[str, str] | None = None
    fixed: frozenset[str] = frozenset()
    ratio: float = 1.0
    unfinished: frozenset[str] = frozenset()
    busy: bool = False
    labels: Labels = field(default_factory=Labels)

    @property
    def sketch(self) -> Sketch:
        """The sketch of the pose."""
        return self.pose.sketch

    def screen(self, ref: str) -> QPointF:
        """Pixel of the point ``"part.point"``."""
        return self.camera.to_screen(self.pose.at(ref))

    def is_lit(self, kind: str, item: str) -> bool:
        """True when selected."""
        return (kind, item) in self.selection

    def is_hovered(self, kind: str, item: str) -> bool:
        """True when under the cursor."""
        return self.hovered == (kind, item)

    def stacked(self) -> Iterator[Part]:
        """The parts that are shown, lowest layer first."""
        layers = self.shapes.layers(self.sketch)
        shown = (part for part in self.sketch.parts if part.id not in self.look.hidden)
        return iter(sorted(shown, key=lambda part: layers[part.id]))

    def is_grounded(self, pin: Pin) -> bool:
        """True when the pin goes through a part of the frame."""
        return any(ref.partition(".")[0] in self.fixed for ref in pin.at)

    def pin_radius(self, diameter_mm: float) -> float:
        """Pixels; small pins stay large enough to see and hit."""
        return max(diameter_mm * self.camera.scale / 2, 4.0)

    def symbol(self) -> float:
        """Size in pixels of a symbol that grows a little with the zoom."""
        return float(np.clip(9.0 * self.camera.scale**0.25, 8.0, 16.0))

    def pen(self, colour: QColor, width: float = 1.0) -> QPen:
        """A pen of so many logical pixels whatever the zoom.

        Opaque pens of one device pixel (see `hair`) are drawn about ten times as fast
        as any other.
        """
        pen = QPen(colour, width * self.ratio)
        pen.setCosmetic(True)
        return pen

    def hair(self, colour: QColor) -> QPen:
        """A pen of one device pixel, for long lines; quick when opaque. Drawn at each of
        the `strokes` it is about a logical pixel wide."""
        pen = QPen(colour, 1.0)
        pen.setCosmetic(True)
        return pen

    @property
    def strokes(self) -> tuple[QPointF, ...]:
        """Shifts (logical pixels) at which a hair line is repeated: two hairs are still
        much quicker than one line of two pixels."""
        return (QPointF(),) if self.ratio < 1.5 else (QPointF(), QPointF(0.5, 0.3))

    def face(self, size_pt: float = 8.5, bold: bool = False) -> QFont:
        """The bundled font."""
        return font(size_pt, bold)


def mixed(colour: QColor, ground: QColor, share: float) -> QColor:
    """So much of a colour on a ground, opaque."""
    rest = 1.0 - share
    return QColor.fromRgbF(colour.redF() * share + ground.redF() * rest,
                           colour.greenF() * share + ground.greenF() * rest,
                           colour.blueF() * share + ground.blueF() * rest)


def with_alpha(colour: QColor, alpha: float) -> QColor:
    """The colour, let through: alpha 0 to 1."""
    copy = QColor(colour)
    copy.setAlphaF(alpha)
    return copy
