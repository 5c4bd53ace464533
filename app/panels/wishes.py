"""The list of what is wanted: each wish with how it is met; click to select it."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from PySide6.QtCore import QEvent, QObject, QRectF, QSignalBlocker, Qt, Slot
from PySide6.QtGui import QAction, QIcon, QPainter, QPixmap
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QSizePolicy,
    QToolButton,
    QTreeWidget,
    QTreeWidgetItem,
    QVBoxLayout,
    QWidget,
)

from app import icons
from app.later import Later
from app.session import Item, Session
from app.theme import Theme
from core import units
from core.model import Sketch

if TYPE_CHECKING:
    from core.wanted.measure import Met

#: While dragging, the list is brought up to date this often and no oftener.
REFRESH_MS = 100
MARK_PX = 14
#: So many lines are seen at once where there is room, and at least; more are scrolled.
LINES_SEEN, LINES_KEPT = 8, 5
#: What lies above, between and below heading and list.
EDGES_PX = 14
ITEM_ROLE = Qt.ItemDataRole.UserRole


class WishList(QWidget):
    """Wishes, regions and rules for lengths; hidden while there are none."""

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self._shown: object = None
        self._other: QWidget | None = None
        self.heading = QLabel(self)
        self.heading.setProperty("role", "heading")
        self.heading.setContentsMargins(4, 0, 4, 0)
        self.tree = QTreeWidget(self)
        self.tree.setAccessibleName("Wanted motion")
        self.tree.setColumnCount(2)
        self.tree.setHeaderHidden(True)
        self.tree.setRootIsDecorated(False)
        self.tree.setUniformRowHeights(True)
        self.tree.setSelectionMode(QAbstractItemView.SelectionMode.ExtendedSelection)
        self.tree.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.tree.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Expanding)
        self.tree.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        head = self.tree.header()
        head.setStretchLastSection(False)
        head.setMinimumSectionSize(20)
        head.setSectionResizeMode(0, QHeaderView.ResizeMode.Stretch)
        head.setSectionResizeMode(1, QHeaderView.ResizeMode.ResizeToContents)
        column = QVBoxLayout(self)
        column.setContentsMargins(8, 4, 8, 4)
        column.setSpacing(3)
        column.addWidget(self.heading)
        column.addWidget(self.tree, 1)
        self._offers = QHBoxLayout()
        column.addLayout(self._offers)
        self._later = Later(self, REFRESH_MS, self.refresh)
        session.sketch_changed.connect(self._soon)
        session.study_changed.connect(self._soon)
        session.selection_changed.connect(self._follow_selection)
        session.look.changed.connect(self._relook)
        self.tree.itemSelectionChanged.connect(self._chosen)
        self.tree.itemActivated.connect(self._opened)
        self.refresh()

    def offer(self, *actions: QAction) -> None:
        """Buttons below the list for what can be done about it."""
        for action in actions:
            button = QToolButton(self)
            button.setDefaultAction(action)
            self._offers.addWidget(button)
        self._offers.addStretch(1)

    def give_way_to(self, other: QWidget) -> None:
        """Be hidden while a panel is shown that lists the wishes too."""
        self._other = other
        other.installEventFilter(self)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() in (QEvent.Type.ShowToParent, QEvent.Type.HideToParent):
            self.refresh()
        return False

    @Slot()
    def _soon(self) -> None:
        if self._session.sketch is self._session.committed:
            self.refresh()
        else:
            self._later.soon()

    @Slot()
    def _relook(self) -> None:
        self._shown = None
        self.refresh()

    @Slot()
    def refresh(self) -> None:
        """Show what the sketch wants and how the latest study meets it."""
        sketch = self._session.sketch
        lines = _lines(sketch, self._mets())
        self.setVisible(bool(lines) and (self._other is None or self._other.isHidden()))
        if lines == self._shown:
            return
        self._shown = lines
        self.heading.setText(headline(lines))
        blocked = QSignalBlocker(self.tree)
        theme = self._session.look.theme
        right = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
        while self.tree.topLevelItemCount() > len(lines):
            self.tree.takeTopLevelItem(self.tree.topLevelItemCount() - 1)
        while self.tree.topLevelItemCount() < len(lines):
            self.tree.addTopLevelItem(QTreeWidgetItem())
        for place, (item, state, text, tip) in enumerate(lines):
            line = self.tree.topLevelItem(place)
            look = (state, theme.name)
            if line.data(1, ITEM_ROLE) != look:
                line.setIcon(0, mark(state, theme))
                line.setData(1, ITEM_ROLE, look)
            line.setData(0, ITEM_ROLE, item)
            line.setText(0, item[1])
            line.setText(1, text)
            line.setTextAlignment(1, right)
            line.setToolTip(0, tip)
            line.setToolTip(1, tip)
        del blocked
        # As high as its lines, within reason: the room is the particulars' otherwise.
        row = self.tree.sizeHintForRow(0) if lines else 0
        high = row * min(len(lines), LINES_SEEN) + 2 * self.tree.frameWidth() + 2
        self.tree.setMinimumHeight(min(high, LINES_KEPT * row + 4))
        self.tree.setMaximumHeight(high)
        self.setMaximumHeight(high + self.heading.sizeHint().height()
                              + self._offers.sizeHint().height() + EDGES_PX)
        self._follow_selection()

    def _mets(self) -> dict[str, Met]:
        study = self._session.study
        return {} if study is None else {met.wish: met for met in study.wanted}

    @Slot()
    def _follow_selection(self) -> None:
        blocked = QSignalBlocker(self.tree)
        for place in range(self.tree.topLevelItemCount()):
            line = self.tree.topLevelItem(place)
            line.setSelected(tuple(line.data(0, ITEM_ROLE)) in self._session.selection)
        del blocked
        chosen = self.tree.selectedItems()
        if chosen:
            self.tree.scrollToItem(chosen[0])

    @Slot()
    def _chosen(self) -> None:
        chosen: list[Item] = [tuple(line.data(0, ITEM_ROLE))
                              for line in self.tree.selectedItems()]
        if chosen:
            self._session.select(chosen)

    @Slot(QTreeWidgetItem, int)
    def _opened(self, line: QTreeWidgetItem, _: int) -> None:
        """Turn the crank to where the wish is missed most."""
        met = self._mets().get(line.text(0))
        if met is not None and math.isfinite(met.crank_rad):
            self._session.player.set_playing(False)
            self._session.set_crank(met.crank_rad)


#: Thing, state ("met", "missed", "open" or "rule"), what is said of it, the sentence.
Line = tuple[Item, str, str, str]


def _lines(sketch: Sketch, mets: dict[str, Met]) -> list[Line]:
    lines: list[Line] = []
    for wish in sketch.wanted:
        met = mets.get(wish.id)
        if met is None:
            lines.append((("wish", wish.id), "open", "not measured",
                          "It is not attached to a part or point yet, or nothing turns."))
        elif not math.isfinite(met.worst):
            lines.append((("wish", wish.id), "missed", "out of reach", met.text))
        else:
            off = units.show_error(met.worst, met.unit, sketch.units)
            lines.append((("wish", wish.id), "met" if met.met else "missed",
                          f"met, {off} off" if met.met else f"{off} off", met.text))
    lines += [(("zone", zone.id), "rule", f"keep {zone.keep}", "A region for a fit")
              for zone in sketch.zones]
    return lines + [(("length_rule", rule.id), "rule", "equal" if rule.equal else "bounds",
                     "A rule for lengths in a fit") for rule in sketch.length_rules]


def headline(lines: list[Line]) -> str:
    """How many wishes are met."""
    told = [state for _, state, _, _ in lines if state != "rule"]
    return f"Wanted motion: {told.count('met')} of {len(told)} met" if told else \
        "Rules for a fit"


def mark(state: str, theme: Theme, ratio: int = 2) -> QIcon:
    """Tick, triangle, ring or nothing: its shape tells the state as well as its colour."""
    picture = QPixmap(MARK_PX * ratio, MARK_PX * ratio)
    picture.setDevicePixelRatio(ratio)
    picture.fill(Qt.GlobalColor.transparent)
    painter = QPainter(picture)
    box = QRectF(0.5, 0.5, MARK_PX - 1, MARK_PX - 1)
    if state in ("met", "missed"):
        icons.paint_met(painter, state == "met", box, theme)
    elif state == "open":
        icons.paint_grade(painter, "note", box, theme)
    painter.end()
    return QIcon(picture)
