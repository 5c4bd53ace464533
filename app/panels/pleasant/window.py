"""The window that makes the crank pleasant: asks on the left, proposals on the right."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QItemSelection, QSettings, QSize, Qt, Slot
from PySide6.QtGui import QCloseEvent, QKeyEvent, QShowEvent
from PySide6.QtWidgets import (
    QHBoxLayout,
    QListView,
    QProgressBar,
    QPushButton,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from app.panels.aside import AsideWindow, above_detail, detail_label, plain_label
from app.panels.pleasant.asks import Asks
from app.panels.pleasant.cards import PROPOSAL, CardPainter, Cards
from app.seeking.ease_run import EaseRun
from app.session import Session

if TYPE_CHECKING:
    from core.pleasant import Proposal

_SIZE = QSize(1040, 640)
_MARGIN, _ASKS_PX, _DETAIL_PX = 10, 330, 170
HOW = ("Choose what may be used and press Work it out. Each proposal shows the turn before "
       "(dashed, hatched for friction) and after (ink, filled for friction); press one to see "
       "it on the paper, take it with Take this.")


class EaseWindow(AsideWindow):
    """A window of its own: `look` opens it."""

    def __init__(self, session: Session, run: EaseRun, settings: QSettings,
                 parent: QWidget | None = None) -> None:
        super().__init__("pleasant", "Make the crank pleasant", _SIZE, settings, parent)
        self._session, self.run = session, run
        self.asks = Asks(session, settings, self)
        self.cards = Cards(self)
        self._build()
        run.changed.connect(self.refresh)
        session.sketch_changed.connect(self._sketch_changed)
        session.look.changed.connect(self._relook)
        self.refresh()

    def _build(self) -> None:
        side = QScrollArea(self)
        side.setWidgetResizable(True)
        side.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        side.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        side.setWidget(self.asks)
        side.setFixedWidth(_ASKS_PX)
        self.list = QListView(self)
        self.list.setModel(self.cards)
        self.painter_of_cards = CardPainter(self._session.look, self.list)
        self.list.setItemDelegate(self.painter_of_cards)
        self.list.setVerticalScrollMode(QListView.ScrollMode.ScrollPerPixel)
        self.list.setResizeMode(QListView.ResizeMode.Adjust)
        self.list.setAccessibleName("Proposals")
        self.bar = QProgressBar(self)
        self.bar.setRange(0, 1000)
        self.bar.setTextVisible(False)
        self.bar.setFixedHeight(6)
        self.told = plain_label(self)
        self.detail = detail_label(self)
        split = above_detail(self.list, self.detail, _SIZE.height(), _DETAIL_PX, self)
        self.ask_button = QPushButton("Work it out", self)
        self.best_button = QPushButton("Do the best", self)
        self.take_button = QPushButton("Take this", self)
        self.take_button.setToolTip("Put the chosen proposal into the sketch (Enter); one undo "
                                    "takes it out again")
        self.back_button = QPushButton("Put back", self)
        self.back_button.setToolTip("Show the sketch as it is (Esc)")
        self.close_button = QPushButton("Close", self)
        buttons = QHBoxLayout()
        for widget in (self.ask_button, self.best_button):
            buttons.addWidget(widget)
        buttons.addStretch(1)
        for widget in (self.back_button, self.take_button, self.close_button):
            buttons.addWidget(widget)
        right = QVBoxLayout()
        right.addWidget(split, 1)
        right.addWidget(self.told)
        right.addWidget(self.bar)
        right.addLayout(buttons)
        row = QHBoxLayout(self)
        row.setContentsMargins(*4 * (_MARGIN,))
        row.addWidget(side)
        row.addLayout(right, 1)
        self.ask_button.clicked.connect(self._ask_or_stop)
        self.best_button.clicked.connect(self.do_best)
        self.take_button.clicked.connect(self.take)
        self.back_button.clicked.connect(self._put_back)
        self.close_button.clicked.connect(self.close)
        self.list.doubleClicked.connect(self.take)
        self.list.clicked.connect(self._pressed)
        self.list.selectionModel().selectionChanged.connect(self._chosen_changed)
        self.asks.changed.connect(self.refresh)

    # -- what the user does --------------------------------------------------------------

    def look(self) -> None:
        """Open it, or bring it to the front."""
        self.run.seeker.warm("core.pleasant")
        self.come_forward()
        self.ask_button.setFocus()

    @Slot()
    def _ask_or_stop(self) -> None:
        if self.run.running:
            self.run.stop()
        else:
            self._ask(hurried=False)

    @Slot()
    def do_best(self) -> None:
        """Take the best of what is known; work it out first where it is not."""
        best = self._best() if self.run.current and not self.run.running else None
        if best is not None:
            self.run.take(best)
        else:
            self._ask(hurried=True)

    def _best(self) -> Proposal | None:
        from app import engine

        return engine.best_of(self.run.proposals)

    def _ask(self, hurried: bool) -> None:
        options = self.asks.options()
        if options is not None:
            self.run.start(options, hurried=hurried)
            self.list.setFocus()
        self.refresh()

    @Slot()
    def take(self) -> None:
        """Put the chosen proposal into the sketch."""
        chosen = self.chosen()
        if chosen is not None and not self.run.was_taken:
            self.run.take(chosen)

    @Slot()
    def _put_back(self) -> None:
        self.run.put_back()
        self.list.selectionModel().clear()

    def chosen(self) -> Proposal | None:
        """The proposal that is chosen."""
        found = self.list.selectionModel().selectedIndexes()
        return found[0].data(PROPOSAL) if found else None

    @Slot(QItemSelection, QItemSelection)
    def _chosen_changed(self, now: QItemSelection, before: QItemSelection) -> None:
        self._preview()

    @Slot()
    def _pressed(self) -> None:
        """A press on the one chosen already shows it again, after a put back."""
        if self.run.shown is None:
            self._preview()

    def _preview(self) -> None:
        chosen = self.chosen()
        if chosen is None or not self.run.show(chosen):
            self.refresh()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        key = event.key()
        if key == Qt.Key.Key_Escape:
            if self.run.shown is not None:
                self._put_back()
            elif self.run.running:
                self.run.stop()
            else:
                self.close()
        elif key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            focus = self.focusWidget()
            if isinstance(focus, QPushButton):
                focus.click()
            elif self.list.hasFocus():
                self.take()
        else:
            super().keyPressEvent(event)

    # -- showing -------------------------------------------------------------------------

    @Slot()
    def _sketch_changed(self) -> None:
        if self.isVisible() and self._session.sketch is self._session.committed:
            self.asks.refresh()
            self.refresh()

    @Slot()
    def refresh(self) -> None:
        """Write everything anew, when it is seen."""
        if not self.isVisible():
            return
        run, chosen = self.run, self.chosen()
        best = None if run.running or not run.proposals else self._best()
        self.cards.show(run.proposals, self._session.committed.units, best)
        trouble = self.asks.trouble()
        self.ask_button.setText("Stop" if run.running else "Work it out")
        self.ask_button.setToolTip("Stop, and keep what was found" if run.running else
                                   "Look for what makes the crank pleasant")
        self.ask_button.setEnabled(run.running or not trouble)
        self.best_button.setEnabled(not run.running and not trouble)
        self.best_button.setToolTip("For the hurried: take the best proposal at once; one undo "
                                    "takes it out again")
        self.take_button.setEnabled(chosen is not None and run.current)
        self.back_button.setEnabled(run.shown is not None)
        # The room of the bar stays, so that nothing jumps when it comes and goes.
        self.bar.setEnabled(run.running)
        self.bar.setValue(round(1000 * run.done) if run.running else 0)
        self.told.setText(trouble or self._words())
        self.detail.setText(self._details())

    def _words(self) -> str:
        run = self.run
        if run.running:
            found = len(run.proposals)
            told = f"{run.stage.capitalize()}…" + (f" {found} so far." if found else "")
            return f"{told} The best is taken as soon as all are known." if run.hurried \
                else told
        if run.words:
            return " ".join(run.words)
        if run.shown is not None:
            return "Seen on the paper, not taken yet. Enter takes it, Esc puts back."
        if run.asked is not None and not run.proposals:
            return "Nothing that is allowed makes this crank more pleasant."
        return ""

    def _details(self) -> str:
        chosen = self.chosen()
        if chosen is not None:
            return "\n".join(chosen.words)
        declined = "\n".join(self.run.declined)
        return declined if self.run.asked is not None and declined else HOW

    @Slot()
    def _relook(self) -> None:
        self.list.viewport().update()

    def showEvent(self, event: QShowEvent) -> None:
        self.asks.refresh()
        super().showEvent(event)

    def closeEvent(self, event: QCloseEvent) -> None:
        self.run.put_back()
        self.run.stop()
        super().closeEvent(event)
