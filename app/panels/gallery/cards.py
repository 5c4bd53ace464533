"""How a card looks and what on it can be pressed."""

from __future__ import annotations

from functools import partial

from PySide6.QtCore import (
    QAbstractItemModel,
    QEvent,
    QModelIndex,
    QObject,
    QPointF,
    QRectF,
    QSize,
    QSizeF,
    Qt,
    Signal,
)
from PySide6.QtGui import QHelpEvent, QMouseEvent, QPainter, QPen, QPixmap, QPolygonF
from PySide6.QtWidgets import (
    QAbstractItemView,
    QStyle,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QToolTip,
)

from app import icons
from app.look import Look
from app.panels.gallery.model import ENTRY, Cards, facts, in_the_way
from app.panels.gallery.moving import Moving, moving
from app.panels.gallery.order import Entry
from app.panels.gallery.thumbnail import Thumbnail
from app.theme import Theme, font
from core.model import Sketch

CARD = QSize(250, 260)
_GAP, _PAD = 5.0, 7.0
_PICTURE = QSize(CARD.width() - 24, 142)
#: Motions solved within one frame, so that the others go on turning meanwhile.
SOLVED_A_FRAME = 2

TIPS = {
    "mean miss": "Root mean square of all errors, in tolerances: 1 is just met",
    "worst": "Where it misses most, anywhere on the turn",
    "transmission": "Smallest transmission angle over the turn: 90° is best, below 40° "
                    "it may run stiffly",
    "size": "Longest side of the box everything moves in",
    "torque": "Largest torque at the crank of a build in default sheet, from weight alone",
}
BEST = "Nothing here beats it: no other is as good in error, transmission, size and torque"

MEETS = ("{}. Stacked as it is, they are in each other's way somewhere on the turn; once it is "
         "in the sketch, the findings say where, and often how to mend it")


class CardPainter(QStyledItemDelegate):
    """Paints cards. `kin_pressed(index)` when the line about kin is pressed."""

    kin_pressed = Signal(QModelIndex)

    def __init__(self, look: Look, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._look = look
        self.crank_rad = 0.0
        self._thumbs: dict[int, tuple[Sketch, Thumbnail | None]] = {}
        self._faces: dict[int, tuple[object, QPixmap]] = {}
        self._solved = 0

    def begin_frame(self, crank_rad: float) -> None:
        """A new picture of all cards, at a reading of the crank."""
        self.crank_rad = crank_rad
        self._solved = 0

    def keep_only(self, entries: list[Entry]) -> None:
        """Forget the pictures of mechanisms that are shown no more."""
        now = {id(entry.proposal.sketch) for entry in entries}
        self._thumbs = {key: held for key, held in self._thumbs.items() if key in now}
        self._faces = {row: face for row, face in self._faces.items() if row < len(entries)}

    def sizeHint(self, option: QStyleOptionViewItem, index: QModelIndex) -> QSize:
        return CARD

    # -- painting ----------------------------------------------------------------------

    def paint(self, painter: QPainter, option: QStyleOptionViewItem,
              index: QModelIndex) -> None:
        entry: Entry = index.data(ENTRY)
        thumb, known = self._thumb(entry.proposal.sketch)
        chosen = bool(option.state & QStyle.StateFlag.State_Selected)
        focused = bool(option.state & QStyle.StateFlag.State_HasFocus)
        model, ratio = index.model(), painter.device().devicePixelRatioF()
        shown = model.units if isinstance(model, Cards) else "mm"
        key = (entry, chosen, focused, self._look.theme.name, ratio, known, shown)
        face = self._faces.get(index.row())
        if face is None or face[0] != key:
            face = (key, self._face(entry, thumb, known, chosen, focused, ratio, shown))
            self._faces[index.row()] = face
        corner = _corner(option)
        painter.drawPixmap(corner, face[1])
        if thumb is not None:
            painter.save()
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            thumb.paint(painter, corner + Spots().picture.topLeft(), self.crank_rad,
                        self._look.theme)
            if entry.proposal.meets:
                _paint_meets(painter, Spots().meets.translated(corner), self._look.theme)
            painter.restore()

    def _thumb(self, sketch: Sketch) -> tuple[Thumbnail | None, bool]:
        """The motion of a sketch, and whether it is known yet."""
        held = self._thumbs.get(id(sketch))
        if held is None:
            if self._solved >= SOLVED_A_FRAME:
                return None, False
            self._solved += 1
            motion: Moving | None = moving(sketch)
            held = (sketch, Thumbnail(motion, _PICTURE) if motion is not None else None)
            self._thumbs[id(sketch)] = held
        return held[1], True

    def _face(self, entry: Entry, thumb: Thumbnail | None, known: bool, chosen: bool,
              focused: bool, ratio: float, shown: str) -> QPixmap:
        """All of a card that stands still."""
        face = QPixmap(CARD * ratio)
        face.setDevicePixelRatio(ratio)
        face.fill(Qt.GlobalColor.transparent)
        painter, theme, spots = QPainter(face), self._look.theme, Spots()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(QPen(theme.accent if chosen or focused else theme.rule,
                            2.5 if chosen else 1.0))
        painter.setBrush(theme.field)
        painter.drawRoundedRect(spots.body, 6, 6)
        painter.fillRect(spots.picture, theme.paper)
        if thumb is not None:
            thumb.paint_still(painter, spots.picture.topLeft(), theme)
        else:
            painter.setPen(theme.faint)
            painter.drawText(spots.picture, Qt.AlignmentFlag.AlignCenter,
                             "does not go all round" if known else "…")
        self._paint_words(painter, spots, entry, shown)
        painter.end()
        return face

    def _paint_words(self, painter: QPainter, spots: Spots, entry: Entry,
                     shown: str) -> None:
        theme, one = self._look.theme, entry.proposal
        icons.paint_met(painter, one.worst <= 1.0, spots.mark, theme)
        if one.pareto:
            _paint_best(painter, spots.best, theme)
        painter.setPen(theme.ink)
        painter.setFont(font(9.0, bold=True))
        left = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
        right = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
        painter.drawText(spots.name, left, painter.fontMetrics().elidedText(
            entry.title, Qt.TextElideMode.ElideRight, int(spots.name.width())))
        painter.setFont(font(8.5))
        painter.setPen(theme.faint)
        painter.drawText(spots.detail, left, painter.fontMetrics().elidedText(
            entry.detail, Qt.TextElideMode.ElideRight, int(spots.detail.width())))
        for box, (head, value) in zip(spots.facts, facts(entry, shown), strict=True):
            painter.setPen(theme.faint)
            painter.drawText(box, left, head)
            painter.setPen(theme.ink)
            painter.drawText(box, right, value)
        if entry.others or entry.follows:
            painter.setPen(theme.accent if entry.others else theme.faint)
            painter.drawText(spots.kin, right, kin_text(entry))

    # -- pressing and asking -----------------------------------------------------------

    def editorEvent(self, event: QEvent, model: QAbstractItemModel,
                    option: QStyleOptionViewItem, index: QModelIndex) -> bool:
        """A press on the line about kin folds or spreads it, and does nothing else."""
        entry = index.data(ENTRY)
        if (entry is not None and entry.others and isinstance(event, QMouseEvent)
                and event.button() == Qt.MouseButton.LeftButton
                and Spots().kin.contains(event.position() - _corner(option))):
            if event.type() == QEvent.Type.MouseButtonRelease:
                self.kin_pressed.emit(index)
            return True
        return bool(super().editorEvent(event, model, option, index))

    def helpEvent(self, event: QHelpEvent, view: QAbstractItemView,
                  option: QStyleOptionViewItem, index: QModelIndex) -> bool:
        """What the thing under the mouse means."""
        entry = index.data(ENTRY)
        if event.type() != QEvent.Type.ToolTip or entry is None:
            return bool(super().helpEvent(event, view, option, index))
        QToolTip.showText(event.globalPos(),
                          tip_at(Spots(), QPointF(event.pos()) - _corner(option), entry), view)
        return True


class Spots:
    """Where things are on a card, from its upper left corner."""

    def __init__(self) -> None:
        self.body = QRectF(QPointF(), CARD.toSizeF()).adjusted(_GAP, _GAP, -_GAP, -_GAP)
        inner = self.body.adjusted(_PAD, _PAD, -_PAD, -_PAD)
        self.picture = QRectF(inner.topLeft(), _PICTURE.toSizeF())
        self.meets = QRectF(self.picture.topLeft(), QSizeF(92, 18))
        top = self.picture.bottom() + 5
        self.mark = QRectF(inner.left() + 1, top + 3, 14, 14)
        self.best = QRectF(inner.right() - 16, top + 2, 16, 16)
        self.name = QRectF(inner.left() + 21, top, inner.width() - 42, 20)
        self.detail = QRectF(inner.left(), top + 20, inner.width(), 17)
        half = (inner.width() - 14) / 2
        place = partial(QRectF, inner.left())
        rows = [place(top + 38 + 17 * row, half, 17) for row in range(3)]
        self.facts = [box.translated(side * (half + 14), 0) for box in rows
                      for side in (0, 1)][:5]
        self.kin = rows[2].translated(half + 14, 0)


def tip_at(spots: Spots, at: QPointF, entry: Entry) -> str:
    """One sentence about what is at a place of a card."""
    if spots.best.contains(at) and entry.proposal.pareto:
        return BEST
    if spots.meets.contains(at) and entry.proposal.meets:
        return MEETS.format(in_the_way(entry).capitalize())
    if spots.mark.contains(at):
        return ("Meets the wish within its tolerance everywhere" if entry.proposal.worst <= 1
                else f"Misses the wish by up to {entry.proposal.worst:.2g} tolerances")
    for box, head in zip(spots.facts, TIPS, strict=True):
        if box.contains(at):
            return TIPS[head]
    if spots.kin.contains(at) and (entry.others or entry.follows):
        return "Other mechanisms whose point takes the same path; press, or Space, to see them"
    return f"{entry.proposal.name}. Double-click puts it into the sketch.{_asked(entry)}"


def _asked(entry: Entry) -> str:
    """What the numbers in the picture stand for, where there are some."""
    wishes: dict[str, list[str]] = {}
    for wish in entry.proposal.sketch.wanted:
        if getattr(wish, "part", ""):
            wishes.setdefault(wish.part, []).append(wish.id)
    if len(wishes) < 2:
        return ""
    return " " + "; ".join(f"{number}: {', '.join(names)}" for number, names
                           in enumerate(wishes.values(), start=1)) + "."


def kin_text(entry: Entry) -> str:
    """What the line about kin says."""
    if entry.follows:
        return "same path"
    return "fold ▴" if entry.spread else f"{entry.others} more, same path ▾"


def _corner(option: QStyleOptionViewItem) -> QPointF:
    """Where a card begins. (The view has centred it in its place of the grid.)"""
    return QPointF(option.rect.topLeft())


def _paint_meets(painter: QPainter, box: QRectF, theme: Theme) -> None:
    """A label over the moving picture: two bars across each other, and the words."""
    painter.setPen(QPen(theme.warning, 1.2))
    painter.setBrush(theme.field)
    painter.drawRoundedRect(box.adjusted(1, 1, -1, -1), 3, 3)
    mid = QPointF(box.left() + 12, box.center().y())
    painter.setPen(QPen(theme.warning_text, 2.6, Qt.PenStyle.SolidLine,
                        Qt.PenCapStyle.RoundCap))
    painter.drawLine(mid + QPointF(-4.5, 3.5), mid + QPointF(4.5, -3.5))
    painter.drawLine(mid + QPointF(-4.5, -3.5), mid + QPointF(4.5, 3.5))
    painter.setFont(font(8.5))
    painter.setPen(theme.ink)
    painter.drawText(box.adjusted(22, 0, -4, 0),
                     Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter, "parts meet")


def _paint_best(painter: QPainter, box: QRectF, theme: Theme) -> None:
    """A filled lozenge with a light heart: nothing beats this one."""
    mid, r = box.center(), box.width() / 2 - 1
    painter.setPen(Qt.PenStyle.NoPen)
    for size, colour in ((r, theme.accent), (r * 0.42, theme.field)):
        painter.setBrush(colour)
        painter.drawPolygon(QPolygonF([mid + QPointF(0, -size), mid + QPointF(size, 0),
                                       mid + QPointF(0, size), mid + QPointF(-size, 0)]))
