"""The window that helps to choose how parts are held on their shafts."""

from __future__ import annotations

from functools import partial

from PySide6.QtCore import QModelIndex, QSettings, QSize, Slot
from PySide6.QtWidgets import (
    QComboBox,
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QPushButton,
    QTreeView,
    QVBoxLayout,
    QWidget,
)

from app.panels.aside import (
    AsideWindow,
    above_detail,
    detail_label,
    flat_table,
    plain_label,
)
from app.panels.locks.model import OPTION, Options, StandingPainter
from app.session import Session
from app.worker import Worker
from core.errors import CrankwrightError
from core.making.locks import Advice, LockCheck, Locks, Option, advise
from core.making.locks.telling import details, headline
from core.making.locks.words import named

_SIZE = QSize(1000, 600)
_MARGIN, _DETAIL_PX = 10, 150


class LockWindow(AsideWindow):
    """A window of its own: `look` opens it on a lock, or on a part held without one.

    It shows the latest finished study; options are worked out off the UI thread.
    """

    def __init__(self, session: Session, settings: QSettings,
                 parent: QWidget | None = None) -> None:
        super().__init__("locks", "Choose a hold", _SIZE, settings, parent)
        self._session = session
        self._wanted = ""
        self._advice: Advice | None = None
        self._asked: tuple[Locks, str] | None = None
        self._answered: tuple[Locks, str] | None = None
        self.worker = Worker(self)
        self.worker.done.connect(self._advised)
        self.worker.failed.connect(self._failed)
        self.options = Options(self)
        self._build()
        session.study_changed.connect(self.refresh)
        session.sketch_changed.connect(self._told_stale)
        session.look.changed.connect(self._relook)

    def _build(self) -> None:
        self.which = QComboBox(self)
        self.which.setAccessibleName("What is held")
        self.which.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToContents)
        label = QLabel("What is held", self)
        label.setBuddy(self.which)
        top = QHBoxLayout()
        top.addWidget(label)
        top.addWidget(self.which)
        top.addStretch(1)
        self.head = plain_label(self)
        self.table = self._table()
        self.detail = detail_label(self)
        self.split = above_detail(self.table, self.detail, _SIZE.height(), _DETAIL_PX, self)
        self.take_button = QPushButton("Hold it so", self)
        self.take_button.setToolTip("Set the lock to this, as one undo step")
        self.close_button = QPushButton("Close", self)
        bottom = QHBoxLayout()
        bottom.addStretch(1)
        bottom.addWidget(self.take_button)
        bottom.addWidget(self.close_button)
        column = QVBoxLayout(self)
        column.setContentsMargins(*4 * (_MARGIN,))
        column.addLayout(top)
        column.addWidget(self.head)
        column.addWidget(self.split, 1)
        column.addLayout(bottom)
        self.which.activated.connect(self._picked)
        self.take_button.clicked.connect(self.take)
        self.close_button.clicked.connect(self.close)
        self.table.activated.connect(self.take)
        self.table.selectionModel().currentChanged.connect(self._current_changed)

    def _table(self) -> QTreeView:
        table = flat_table(self.options, StandingPainter(self._session.look, self),
                           "Ways to hold it", self)
        header = table.header()
        header.setStretchLastSection(True)
        header.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        return table

    # -- what the user does --------------------------------------------------------------

    def look(self, wanted: str = "") -> None:
        """Open it on a lock's or a part's id, or bring it to the front."""
        self._wanted = wanted or self._wanted
        self.come_forward()
        self.refresh()
        self.table.setFocus()

    def chosen(self) -> Option | None:
        """The option whose details are shown."""
        found = self.table.currentIndex().data(OPTION)
        return found if isinstance(found, Option) else None

    @Slot()
    def take(self) -> None:
        """Hold it so, as one undo step."""
        option = self.chosen()
        if option is None or not self.take_button.isEnabled():
            return
        try:
            after = option.edit(self._session.committed)
        except CrankwrightError as trouble:
            self._session.told.emit(str(trouble))
            return
        # A lock made for what had none has a name from now on.
        if not option.lock:
            self._wanted = after.locks[-1].id
        self._session.commit(option.label, after)

    @Slot(int)
    def _picked(self, row: int) -> None:
        self._wanted = self.which.itemData(row)
        kind = "lock" if any(lock.id == self._wanted
                             for lock in self._session.sketch.locks) else "part"
        self._session.select([(kind, self._wanted)])
        self.refresh()

    @Slot(QModelIndex, QModelIndex)
    def _current_changed(self, now: QModelIndex, before: QModelIndex) -> None:
        self._tell()

    # -- showing -------------------------------------------------------------------------

    @property
    def _locks(self) -> Locks | None:
        study = self._session.finished_study()
        return None if study is None else study.locks

    @Slot()
    def refresh(self) -> None:
        """Show the latest finished study; options follow when they are worked out."""
        if not self.isVisible():
            return
        if self._session.finished_study() is None:
            self.head.setText("Reckoned anew when the hand rests…")
            self._asked = None
            self._enable()
            return
        locks = self._locks
        if locks is None:
            self.which.clear()
            self._blank()
            return
        names = list(dict.fromkeys(hold.lock or hold.part for hold in locks.holds if hold.part))
        if self._wanted not in names:
            self._wanted = names[0] if names else ""
        self.which.clear()
        for name in names:
            held = dict.fromkeys(part for hold in locks.holds if name in (hold.lock, hold.part)
                                 for part in locks.held_by(hold))
            self.which.addItem(" and ".join(held), name)
        self.which.setCurrentIndex(names.index(self._wanted) if names else -1)
        if not names:
            self._blank()
        elif self._asked != (locks, self._wanted):
            self._asked = (locks, self._wanted)
            self.head.setText("Working out what would hold…")
            self._enable()
            self.worker.ask(partial(advise, locks, self._wanted))

    def _blank(self) -> None:
        self._advice = self._asked = None
        self.options.show((), self._session.sketch.units)
        self.take_button.setText("Hold it so")
        self.head.setText(
            "Nothing is fast on a shaft here, or the crank does not go round yet: lock parts on"
            " a pin first.")
        self._tell()

    @Slot(int, object)
    def _advised(self, token: int, advice: Advice) -> None:
        if token != self.worker.latest or self._asked is None:
            return
        same = self._answered is not None and self._answered[1] == self._asked[1]
        self._advice, self._answered = advice, self._asked
        kept = self.chosen() if same else None
        units = self._session.sketch.units
        self.options.show(advice.options, units)
        row = next((k for k, one in enumerate(advice.options)
                    if kept is not None and one.kind == kept.kind), 0)
        self.table.setCurrentIndex(self.options.index(row, 0))
        self.head.setText(headline(advice, self._now(advice), units))
        self._tell()

    @Slot(int, str)
    def _failed(self, token: int, text: str) -> None:
        self._blank()
        self.head.setText("The options could not be worked out for this sketch.")

    def _now(self, advice: Advice) -> LockCheck | None:
        keys = {hold.key for hold in advice.holds}
        found = [] if self._locks is None else [one for one in self._locks.checks
                                                if one.hold.key in keys]
        return max(found, key=lambda one: one.share, default=None)

    @Slot()
    def _told_stale(self) -> None:
        if self.isVisible():
            self._enable()

    def _enable(self) -> None:
        """It can be taken while the options are of the sketch shown."""
        fresh = (self._answered is not None and self._answered == self._asked
                 and self._answered[0] is self._locks)
        self.take_button.setEnabled(fresh and self.chosen() is not None)

    def _tell(self) -> None:
        option = self.chosen()
        self.detail.setText("" if option is None else details(option,
                                                              self._session.sketch.units))
        if option is not None:
            name = named(option.kind, option.size_mm, self._session.sketch.units)
            self.take_button.setText(f"Hold it by {name}")
        self._enable()

    @Slot()
    def _relook(self) -> None:
        self.table.viewport().update()

    def end(self) -> None:
        """Wait for what is being worked out; the window is not used after."""
        self.worker.close()
