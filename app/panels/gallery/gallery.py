"""The gallery window: found mechanisms as cards that turn together."""

from __future__ import annotations

import math
from dataclasses import replace

from PySide6.QtCore import (
    QElapsedTimer,
    QEvent,
    QModelIndex,
    QObject,
    QSettings,
    QSize,
    Qt,
    QTimer,
    Slot,
)
from PySide6.QtGui import QCloseEvent, QHideEvent, QKeyEvent, QShowEvent
from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QHBoxLayout,
    QLabel,
    QListView,
    QProgressBar,
    QPushButton,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from app.panels.gallery.cards import CARD, CardPainter
from app.panels.gallery.kinds import KindsMenu
from app.panels.gallery.model import ENTRY, Cards
from app.panels.gallery.order import ORDERS, Choice, Entry, arrange, held
from app.seeking.find_run import FindRun
from app.session import Session

FRAME_MS = 40
#: One crank turn on the screen, s.
TURN_S = 3.0
#: Round the cards; so narrow that three go beside each other on a screen of 800 points.
_MARGIN = 8
#: Width and height a window manager may put round a window.
_BORDER = (16, 64)
KEEP_KEY, SIZE_KEY = "gallery/keep open", "gallery/geometry"


class Gallery(QWidget):
    """A window of its own, never in the way of the drawing: `look` opens it."""

    def __init__(self, session: Session, run: FindRun, settings: QSettings,
                 parent: QWidget | None = None) -> None:
        super().__init__(parent, Qt.WindowType.Window)
        self._session, self.run, self._settings = session, run, settings
        self.choice = Choice()
        self.setWindowTitle("Find mechanisms – Crankwright")
        self.setObjectName("gallery")
        self.cards = Cards(self)
        self.painter_of_cards = CardPainter(session.look, self)
        self._build()
        self._angle = 0.0
        self._clock = QElapsedTimer()
        self._ticker = QTimer(self)
        self._ticker.setInterval(FRAME_MS)
        self._ticker.timeout.connect(self._tick)
        run.changed.connect(self.refresh)
        session.look.changed.connect(self._relook)
        self.painter_of_cards.kin_pressed.connect(self._fold)
        room = self.screen().availableGeometry()
        room.adjust(0, 0, -_BORDER[0], -_BORDER[1])
        self.resize(QSize(4 * CARD.width() + 60, 3 * CARD.height() - 60).boundedTo(
            room.size()))
        geometry = settings.value(SIZE_KEY)
        if geometry is not None:
            self.restoreGeometry(geometry)
        elif parent is not None:
            here = self.rect().translated(parent.geometry().center() - self.rect().center())
            self.move(max(room.left(), min(here.left(), room.right() - here.width())),
                      max(room.top(), min(here.top(), room.bottom() - here.height())))
        self.refresh()

    def _build(self) -> None:
        self.order_box = QComboBox(self)
        self.order_box.addItems(list(ORDERS))
        self.order_box.setAccessibleName("Sort by")
        self.kinds_button = QToolButton(self)
        self.kinds_button.setPopupMode(QToolButton.ToolButtonPopupMode.InstantPopup)
        self.kinds_menu = KindsMenu(self.kinds_button)
        self.kinds_button.setMenu(self.kinds_menu)
        self.kinds_button.setToolTip("Which kinds of mechanism are shown")
        self.best_box = QCheckBox("Only the unbeaten ◆", self)
        self.best_box.setToolTip("Only those that no other is as good as in error, "
                                 "transmission, size and torque at once")
        self.free_box = QCheckBox("Only where no parts meet", self)
        self.free_box.setToolTip("Only those in which, as they are stacked, no part or pin is "
                                 "in another's way")
        self.again_button = QPushButton("Search further", self)
        top = QHBoxLayout()
        sort = QLabel("Sort by", self)
        sort.setBuddy(self.order_box)
        for widget in (sort, self.order_box, self.kinds_button, self.best_box,
                       self.free_box):
            top.addWidget(widget)
        top.addStretch(1)
        top.addWidget(self.again_button)
        self.list = _list(self)
        self.list.setModel(self.cards)
        self.list.setItemDelegate(self.painter_of_cards)
        self.list.viewport().installEventFilter(self)
        self.list.installEventFilter(self)
        self.words = QLabel(self)
        self.words.setWordWrap(True)
        self.words.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self.bar = QProgressBar(self)
        self.bar.setRange(0, 1000)
        self.bar.setTextVisible(False)
        self.bar.setFixedHeight(6)
        self.stage = QLabel(self)
        self.stage.setProperty("role", "faint")
        self.keep_box = QCheckBox("Keep open", self)
        self.keep_box.setToolTip("Leave this window open when a mechanism is taken")
        self.keep_box.setChecked(self._settings.value(KEEP_KEY, False, type=bool) is True)
        self.use_button = QPushButton("Use this", self)
        self.use_button.setToolTip("Put the chosen mechanism into the sketch (Enter); one undo "
                                   "takes it out again")
        self.close_button = QPushButton("Close", self)
        bottom = QHBoxLayout()
        bottom.addWidget(self.stage, 1)
        for widget in (self.keep_box, self.use_button, self.close_button):
            bottom.addWidget(widget)
        column = QVBoxLayout(self)
        column.setContentsMargins(*4 * (_MARGIN,))
        column.addLayout(top)
        column.addWidget(self.bar)
        column.addWidget(self.words)
        column.addWidget(self.list, 1)
        column.addLayout(bottom)
        self.order_box.currentTextChanged.connect(self._order_chosen)
        self.best_box.toggled.connect(self._best_chosen)
        self.free_box.toggled.connect(self._free_chosen)
        self.kinds_menu.chosen.connect(self._kind_chosen)
        self.again_button.clicked.connect(self._again)
        self.keep_box.toggled.connect(self._keep_chosen)
        self.use_button.clicked.connect(self.use)
        self.close_button.clicked.connect(self.close)
        self.list.doubleClicked.connect(self.use)
        self.list.selectionModel().selectionChanged.connect(self._refresh_use)

    # -- what the user does --------------------------------------------------------------

    def look(self) -> None:
        """Open, and search unless the answer is there."""
        self.run.look()
        self.show()
        self.raise_()
        self.activateWindow()
        self.list.setFocus()

    @Slot()
    def _again(self) -> None:
        if self.run.running:
            self.run.stop()
        else:
            self.run.start()

    @Slot()
    def use(self) -> None:
        """Put the chosen mechanism into the sketch."""
        entry = self.chosen()
        if entry is not None and self.run.use(entry.proposal) and not self.keep_box.isChecked():
            self.close()

    def chosen(self) -> Entry | None:
        """The card that is chosen."""
        found = self.list.selectionModel().selectedIndexes()
        return found[0].data(ENTRY) if found else None

    @Slot(str)
    def _order_chosen(self, order: str) -> None:
        self._choose(replace(self.choice, order=order))

    @Slot(bool)
    def _best_chosen(self, on: bool) -> None:
        self._choose(replace(self.choice, best_only=on))

    @Slot(bool)
    def _free_chosen(self, on: bool) -> None:
        self._choose(replace(self.choice, free_only=on))

    @Slot()
    def _kind_chosen(self) -> None:
        self._choose(replace(self.choice, hidden=self.kinds_menu.hidden))

    @Slot(QModelIndex)
    def _fold(self, index: QModelIndex) -> None:
        self._choose(self.choice.with_spread(self.run.proposals, index.data(ENTRY).proposal))

    def _choose(self, choice: Choice) -> None:
        self.choice = choice
        self._arrange(arrange(self.run.proposals, choice))
        self._refresh_kinds()

    @Slot(bool)
    def _keep_chosen(self, on: bool) -> None:
        self._settings.setValue(KEEP_KEY, on)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        key = event.key()
        if key == Qt.Key.Key_Escape:
            self.close()
        elif key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.use()
        else:
            super().keyPressEvent(event)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() == QEvent.Type.Leave:
            self.refresh()  # now the cards may change places
        elif event.type() == QEvent.Type.Resize and watched is not self.list:
            self._spread()
        elif (isinstance(event, QKeyEvent) and event.type() == QEvent.Type.KeyPress
              and event.key() == Qt.Key.Key_Space and self.chosen() is not None):
            self._fold(self.list.currentIndex())
            return True
        return False

    def _spread(self) -> None:
        """The cards over the whole width."""
        width = self.list.viewport().width() - 2
        self.list.setGridSize(QSize(width // max(1, width // CARD.width()), CARD.height()))

    # -- showing -------------------------------------------------------------------------

    @Slot()
    def refresh(self) -> None:
        """Bring everything up to date; under the mouse, and once one is chosen, no card
        changes its place."""
        run = self.run
        new = arrange(run.proposals, self.choice)
        watched = self.isVisible() and (self.list.viewport().underMouse()
                                        or (run.running and self.chosen() is not None))
        if watched and new:
            self._show(held(self.cards.entries, new))
        else:
            self._arrange(new)
        self._refresh_kinds()
        self.bar.setVisible(run.running)
        self.bar.setValue(round(1000 * run.done))
        told = list(run.words)
        if run.stale and not run.running:
            told.insert(0, "What is wanted has changed since this was found: search anew.")
        elif run.taken_over and run.proposals:
            told.append(_taken_over(run.taken_over))
        self.words.setText("\n".join(told) if told else "Looking for mechanisms…")
        self.words.setVisible(bool(told) or not run.proposals)
        self.list.setVisible(bool(run.proposals))
        self.again_button.setText("Stop" if run.running else "Search further"
                                  if run.proposals and not run.stale else "Search")
        self.again_button.setToolTip(
            "Stop; what was found stays" if run.running else
            "Search once more, from other random starts")
        self.stage.setText(self._stage_text())
        self._refresh_use()

    def _stage_text(self) -> str:
        count = len(self.run.proposals)
        found = f"{count} found" if count else ""
        return " · ".join(text for text in (self.run.stage.capitalize(), found) if text)

    def _show(self, entries: list[Entry]) -> None:
        self.cards.show(entries, self._session.sketch.units)
        self.painter_of_cards.keep_only(self.cards.entries)

    def _arrange(self, entries: list[Entry]) -> None:
        """Show cards in their order; the mechanism that is chosen stays chosen."""
        chosen = self.chosen()
        self._show(entries)
        if chosen is None:
            return
        row = next((at for at, entry in enumerate(entries)
                    if entry.proposal == chosen.proposal), None)
        if row is None:
            self.list.clearSelection()
        elif self.list.currentIndex().row() != row:
            self.list.setCurrentIndex(self.cards.index(row))

    def _refresh_kinds(self) -> None:
        kinds: dict[str, str] = {}
        for one in self.run.proposals:
            kinds.setdefault(one.family, one.name)
        self.kinds_menu.show_kinds(kinds, self.choice.hidden)
        shown = len(kinds.keys() - self.choice.hidden)
        self.kinds_button.setText("All kinds" if shown == len(kinds)
                                  else f"{shown} of {len(kinds)} kinds")
        self.kinds_button.setEnabled(len(kinds) > 1)

    @Slot()
    def _refresh_use(self) -> None:
        self.use_button.setEnabled(self.chosen() is not None)

    @Slot()
    def _relook(self) -> None:
        self.list.viewport().update()

    @Slot()
    def _tick(self) -> None:
        drive = self._session.sketch.drive
        sense = -1 if drive is not None and drive.rpm < 0 else 1
        seconds = min(self._clock.restart(), 200) / 1000
        # 64 turns: the longest cycle a mechanism may have.
        self._angle = (self._angle + sense * 2 * math.pi * seconds / TURN_S) % (128 * math.pi)
        self.painter_of_cards.begin_frame(self._angle)
        self.list.viewport().update()

    def showEvent(self, event: QShowEvent) -> None:
        self._clock.start()
        self._ticker.start()
        self.refresh()
        super().showEvent(event)

    def hideEvent(self, event: QHideEvent) -> None:
        self._ticker.stop()
        super().hideEvent(event)

    def closeEvent(self, event: QCloseEvent) -> None:
        self._settings.setValue(SIZE_KEY, self.saveGeometry())
        self.run.stop()
        super().closeEvent(event)


def _taken_over(names: tuple[str, ...]) -> str:
    """What using one does to wishes that are of something already."""
    what, them = (f"“{names[0]}” is", "it") if len(names) == 1 \
        else (f"{len(names)} wishes are", "them")
    return (f"{what} attached already: using one of these moves {them} onto the new mechanism. "
            "Undo puts everything back.")


def _list(parent: QWidget) -> QListView:
    """A grid of cards that reflows with the width."""
    made = QListView(parent)
    made.setViewMode(QListView.ViewMode.IconMode)
    made.setResizeMode(QListView.ResizeMode.Adjust)
    made.setMovement(QListView.Movement.Static)
    made.setUniformItemSizes(True)
    made.setGridSize(CARD)
    made.setVerticalScrollMode(QListView.ScrollMode.ScrollPerPixel)
    # A bar that comes with the last cards would take room from the others and move them
    # from under the mouse.
    made.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOn)
    made.setSelectionMode(QListView.SelectionMode.SingleSelection)
    made.setEditTriggers(QListView.EditTrigger.NoEditTriggers)
    made.setMouseTracking(True)
    made.setAccessibleName("Found mechanisms")
    return made
