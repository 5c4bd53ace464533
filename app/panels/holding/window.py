"""The window that shows what holds and what does not."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QModelIndex, QSettings, QSize, Qt, Slot
from PySide6.QtWidgets import (
    QCheckBox,
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QLineEdit,
    QPushButton,
    QTreeView,
    QVBoxLayout,
    QWidget,
)

from app.panels.aside import AsideWindow, above_detail, detail_label, flat_table
from app.panels.findings import items_of
from app.panels.holding.model import AT, CHECK, GIVES, HOW, LOAD, SAFETY, USED, Checks, Sieve
from app.panels.holding.paint import SafetyPainter
from app.session import Session
from core.errors import CrankwrightError
from core.making.strength import Check, Strength
from core.making.strength.words import details, headline

if TYPE_CHECKING:
    from core.findings import Finding

_SIZE = QSize(980, 560)
_MARGIN = 10
_BAR_PX = 120
_DETAIL_PX = 150


class HoldingWindow(AsideWindow):
    """A window of its own: `look` opens it.

    It shows the latest finished study; while something is being dragged it waits.
    """

    def __init__(self, session: Session, settings: QSettings,
                 parent: QWidget | None = None) -> None:
        super().__init__("holding", "What holds", _SIZE, settings, parent)
        self._session = session
        self._of: frozenset[str] = frozenset()
        self._going = False
        self.checks = Checks(self)
        self.sieve = Sieve(self)
        self.sieve.setSourceModel(self.checks)
        self._build()
        session.study_changed.connect(self.refresh)
        session.sketch_changed.connect(self._told_stale)
        session.selection_changed.connect(self._selection_changed)
        session.look.changed.connect(self._relook)

    def _build(self) -> None:
        self.words_box = QLineEdit(self)
        self.words_box.setPlaceholderText("Part, rod or word")
        self.words_box.setClearButtonEnabled(True)
        self.words_box.setAccessibleName("Show only what has these words")
        self.chosen_box = QCheckBox("Only what is selected", self)
        self.chosen_box.setToolTip("Only what concerns the parts and joints selected on the "
                                   "paper")
        self.doubtful_box = QCheckBox("Only what needs a look", self)
        self.doubtful_box.setToolTip("Leave out what plainly holds")
        top = QHBoxLayout()
        top.addWidget(self.words_box, 1)
        top.addWidget(self.chosen_box)
        top.addWidget(self.doubtful_box)
        self.table = self._table()
        self.detail = detail_label(self)
        self.mend_button = QPushButton(self)
        self.mend_button.clicked.connect(self.mend)
        self.split = above_detail(self.table, self.detail, _SIZE.height(), _DETAIL_PX, self)
        self.summary = QLabel(self)
        self.summary.setWordWrap(True)
        self.close_button = QPushButton("Close", self)
        bottom = QHBoxLayout()
        bottom.addWidget(self.summary, 1)
        for button in (self.mend_button, self.close_button):
            bottom.addWidget(button, 0, Qt.AlignmentFlag.AlignBottom)
        column = QVBoxLayout(self)
        column.setContentsMargins(*4 * (_MARGIN,))
        column.addLayout(top)
        column.addWidget(self.split, 1)
        column.addLayout(bottom)
        self.words_box.textChanged.connect(self._sift)
        self.chosen_box.toggled.connect(self._chosen_toggled)
        self.doubtful_box.toggled.connect(self._sift)
        self.close_button.clicked.connect(self.close)
        self.table.clicked.connect(self.go)
        self.table.activated.connect(self.go)
        self.table.selectionModel().currentChanged.connect(self._current_changed)

    def _table(self) -> QTreeView:
        table = flat_table(self.sieve, SafetyPainter(self._session.look, self), "What holds",
                           self)
        table.setSortingEnabled(True)
        table.sortByColumn(SAFETY, Qt.SortOrder.AscendingOrder)
        header = table.header()
        header.setStretchLastSection(False)
        for column in (LOAD, GIVES, AT, SAFETY):
            header.setSectionResizeMode(column, QHeaderView.ResizeMode.ResizeToContents)
        header.setSectionResizeMode(USED, QHeaderView.ResizeMode.Fixed)
        header.resizeSection(USED, _BAR_PX)
        for column in (0, HOW):
            header.setSectionResizeMode(column, QHeaderView.ResizeMode.Stretch)
        return table

    # -- what the user does --------------------------------------------------------------

    def look(self) -> None:
        """Open it, or bring it to the front."""
        self.come_forward()
        self.table.setFocus()

    @Slot(QModelIndex)
    def go(self, index: QModelIndex) -> None:
        """Turn the crank to where that check is worst, and light its parts up."""
        check = index.data(CHECK)
        if not isinstance(check, Check):
            return
        self._session.player.set_playing(False)
        self._session.set_crank(check.crank_rad)
        self._going = True  # what is selected by this does not sift the table
        self._session.select(items_of(self._session, check))
        self._going = False

    @Slot()
    def mend(self) -> None:
        """Make the mend that is offered, as one undo step."""
        finding = self._finding()
        if finding is None or not finding.edits:
            return
        mend = finding.edits[0]
        try:
            self._session.commit(mend.label, mend.apply(self._session.committed))
        except CrankwrightError as trouble:
            self._session.told.emit(str(trouble))

    def _finding(self) -> Finding | None:
        """The finding that tells of the chosen check, or of another on the same thing."""
        check, study = self.chosen(), self._session.study
        if check is None or study is None or not self._session.study_is_current:
            return None
        about = [one for one in study.findings if one.text.startswith(f"{check.thing}: ")]
        return next((one for one in about if one.text == check.text), next(iter(about), None))

    def chosen(self) -> Check | None:
        """The check whose details are shown."""
        found = self.table.currentIndex().data(CHECK)
        return found if isinstance(found, Check) else None

    @Slot(QModelIndex, QModelIndex)
    def _current_changed(self, now: QModelIndex, before: QModelIndex) -> None:
        self._tell()

    @Slot(bool)
    def _chosen_toggled(self, on: bool) -> None:
        self._of = frozenset(name.partition(".")[0] if kind == "point" else name
                             for kind, name in self._session.selection)
        self._sift()

    @Slot()
    def _selection_changed(self) -> None:
        if self.isVisible() and self.chosen_box.isChecked() and not self._going:
            self._chosen_toggled(True)

    @Slot()
    def _sift(self) -> None:
        self.sieve.ask(self.words_box.text(),
                       self._of if self.chosen_box.isChecked() else None,
                       self.doubtful_box.isChecked())
        self._summarise()
        self._tell()

    # -- showing -------------------------------------------------------------------------

    @property
    def _strength(self) -> Strength | None:
        study = self._session.study
        return None if study is None else study.strength

    @Slot()
    def refresh(self) -> None:
        """Show the latest study; one that is not finished changes nothing but the words."""
        if not self.isVisible():
            return
        study = self._session.study
        if study is not None and (self._session.refined or study.turn is None):
            kept = self.chosen()
            checks = () if study.strength is None else study.strength.checks
            self.checks.show(checks, self._session.sketch.units)
            self._keep(kept)
        self._summarise()
        self._tell()

    def _keep(self, check: Check | None) -> None:
        """Stay with the same thing; with the worst when it has gone."""
        if check is None:
            return
        now = self.chosen()
        if now is not None and (now.kind, now.thing) == (check.kind, check.thing):
            return
        row = next((k for k, one in enumerate(self.checks.things)
                    if (one.kind, one.thing) == (check.kind, check.thing)), None)
        if row is not None:
            self.table.setCurrentIndex(self.sieve.mapFromSource(self.checks.index(row, 0)))

    @Slot()
    def _told_stale(self) -> None:
        if self.isVisible():
            self._summarise()

    def _summarise(self) -> None:
        if not self._session.refined or not self._session.study_is_current:
            self.summary.setText("Reckoned anew when the hand rests…")
            return
        strength = self._strength
        if strength is None:
            self.summary.setText("Nothing to check: it needs a crank that turns, and parts"
                                 " whose material and weight are known.")
            return
        told = headline(strength)
        hidden = len(self.checks.things) - self.sieve.rowCount()
        if hidden:
            told += f" {hidden} not shown."
        self.summary.setText(" ".join((told, *strength.notes)))

    def _tell(self) -> None:
        check, finding = self.chosen(), self._finding()
        told = ("Press a row: the crank goes to where it is worst, and here it says how that"
                " was reckoned." if check is None
                else details(check, self._session.sketch.units))
        if check is not None and finding is not None and finding.text == check.text:
            told += f"\nMend: {finding.mend}"
        self.detail.setText(told)
        edits = () if finding is None else finding.edits
        self.mend_button.setVisible(bool(edits))
        if edits:
            self.mend_button.setText(edits[0].label)

    @Slot()
    def _relook(self) -> None:
        self.table.viewport().update()
