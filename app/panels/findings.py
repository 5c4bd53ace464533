"""What is wrong or worth knowing: click to see it, mend it with one press."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from PySide6.QtCore import QRectF, QSize, Qt, Signal, Slot
from PySide6.QtGui import QAction, QKeyEvent, QMouseEvent, QPainter, QPaintEvent
from PySide6.QtWidgets import (
    QFrame,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QScrollArea,
    QSizePolicy,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from app import icons
from app.later import Later
from app.session import Session
from app.theme import Theme
from core.errors import CrankwrightError

if TYPE_CHECKING:
    from core.findings import Finding

#: More findings than this are counted, not shown.
MOST_CARDS = 30
#: While dragging, the list is brought up to date this often and no oftener.
REFRESH_MS = 120
JOINT_KINDS = ("pin", "slide", "slot", "lock", "mesh", "belt", "spring", "torsion_spring",
               "force", "torque")
WORDS = {"fault": ("fault", "faults"), "warning": ("warning", "warnings"),
         "note": ("note", "notes")}


class GradeMark(QWidget):
    """The mark of a grade, shape and colour."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.grade, self.theme = "note", None
        self.setFixedSize(QSize(18, 18))

    def set_grade(self, grade: str, theme: Theme) -> None:
        """Show that grade."""
        self.grade, self.theme = grade, theme
        self.setToolTip(WORDS.get(grade, ("note", ""))[0].capitalize())
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        if self.theme is None:
            return
        painter = QPainter(self)
        icons.paint_grade(painter, self.grade, QRectF(1, 1, 16, 16), self.theme)
        painter.end()


class FindingCard(QFrame):
    """One finding. `opened(card)` on click or Enter, `mended(card, number)` on a button."""

    opened = Signal(object)
    mended = Signal(object, int)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.finding: Finding | None = None
        self.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.mark = GradeMark(self)
        self.text = QLabel(self)
        self.text.setWordWrap(True)
        self.mend = QLabel(self)
        self.mend.setWordWrap(True)
        self.mend.setProperty("role", "faint")
        for label in (self.text, self.mend):
            # Wrap to the panel's width, whatever it is, and never widen it.
            policy = label.sizePolicy()
            policy.setHorizontalPolicy(QSizePolicy.Policy.Ignored)
            label.setSizePolicy(policy)
        self._buttons: list[QPushButton] = []
        self.advice: QToolButton | None = None
        words = QVBoxLayout()
        words.setSpacing(2)
        words.addWidget(self.text)
        words.addWidget(self.mend)
        self._row = QVBoxLayout()
        self._row.setSpacing(4)
        words.addLayout(self._row)
        whole = QHBoxLayout(self)
        whole.setContentsMargins(10, 7, 8, 7)
        whole.setSpacing(8)
        whole.addWidget(self.mark, 0, Qt.AlignmentFlag.AlignTop)
        whole.addLayout(words, 1)

    def show_finding(self, finding: Finding, theme: Theme) -> None:
        """Fill the card."""
        self.finding = finding
        self.mark.set_grade(finding.grade, theme)
        self.text.setText(finding.text)
        self.mend.setText(finding.mend)
        self.mend.setVisible(bool(finding.mend))
        self.setAccessibleName(f"{finding.grade}: {finding.text}")
        while len(self._buttons) < len(finding.edits):
            button = QPushButton(self)
            button.clicked.connect(self._pressed)
            self._buttons.append(button)
            button.setMinimumWidth(40)
            button.setFocusPolicy(Qt.FocusPolicy.TabFocus)
            self._row.addWidget(button, 0, Qt.AlignmentFlag.AlignLeft)
        for place, button in enumerate(self._buttons):
            button.setVisible(place < len(finding.edits))
            if place < len(finding.edits):
                button.setText(finding.edits[place].label)
                button.setToolTip(finding.edits[place].label)

    def offer(self, action: QAction | None) -> None:
        """A button to the window that gives advice on this, or none."""
        if self.advice is None and action is not None:
            self.advice = QToolButton(self)
            self.advice.setFocusPolicy(Qt.FocusPolicy.TabFocus)
            self._row.addWidget(self.advice, 0, Qt.AlignmentFlag.AlignLeft)
        if self.advice is not None:
            self.advice.setVisible(action is not None)
            if action is not None and self.advice.defaultAction() is not action:
                self.advice.setDefaultAction(action)

    @property
    def buttons(self) -> list[QPushButton]:
        """The mend buttons that are offered."""
        return [button for button in self._buttons if not button.isHidden()]

    @Slot()
    def _pressed(self) -> None:
        self.mended.emit(self, self._buttons.index(self.sender()))

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        if self.rect().contains(event.position().toPoint()):
            self.opened.emit(self)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Space):
            self.opened.emit(self)
        else:
            super().keyPressEvent(event)


class FindingsPanel(QWidget):
    """The list, worst first, with a heading that counts."""

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self._shown: object = None
        self._advice: dict[str, QAction] = {}
        self.heading = QLabel(self)
        self.heading.setProperty("role", "heading")
        self.heading.setContentsMargins(12, 0, 12, 2)
        self.cards: list[FindingCard] = []
        page = QWidget(self)
        page.setMinimumWidth(1)  # as wide as there is room, never wider
        self._column = QVBoxLayout(page)
        self._column.setContentsMargins(6, 0, 6, 6)
        self._column.setSpacing(0)
        self.rest = QLabel(page)
        self.rest.setProperty("role", "faint")
        self.rest.setWordWrap(True)
        self.rest.setContentsMargins(10, 4, 8, 4)
        self._column.addWidget(self.rest)
        self._column.addStretch(1)
        area = QScrollArea(self)
        area.setWidgetResizable(True)
        area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        area.setWidget(page)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 4, 0, 0)
        column.setSpacing(2)
        column.addWidget(self.heading)
        column.addWidget(area, 1)
        self._later = Later(self, REFRESH_MS, self.refresh)
        session.study_changed.connect(self._later.soon)
        session.look.changed.connect(self._relook)
        self.refresh()

    def offer(self, advice: dict[str, QAction]) -> None:
        """Windows that give advice, by the code of the findings they are for."""
        self._advice = advice
        self._relook()

    @Slot()
    def _relook(self) -> None:
        self._shown = None
        self.refresh()

    @Slot()
    def refresh(self) -> None:
        """Show the findings of the latest study."""
        study = self._session.study
        found = () if study is None else study.findings
        shown = tuple((f.code, f.grade, f.text, f.mend, tuple(e.label for e in f.edits))
                      for f in found)
        self.heading.setText(self._headline(found))
        for card, finding in zip(self.cards, found, strict=False):
            card.finding = finding
        if shown == self._shown:
            return
        self._shown = shown
        theme = self._session.look.theme
        while len(self.cards) < min(len(found), MOST_CARDS):
            card = FindingCard(self)
            card.opened.connect(self.open)
            card.mended.connect(self.apply)
            self._column.insertWidget(len(self.cards), card)
            self.cards.append(card)
        for place, card in enumerate(self.cards):
            card.setVisible(place < len(found))
            if place < len(found):
                card.show_finding(found[place], theme)
                card.offer(self._advice.get(found[place].code))
            else:
                card.finding = None
        over = len(found) - MOST_CARDS
        self.rest.setVisible(over > 0)
        self.rest.setText(f"and {over} more; mend these first")

    def _headline(self, found: tuple[Finding, ...]) -> str:
        if self._session.study is None:
            return "Findings"
        counts = [(sum(f.grade == grade for f in found), *words)
                  for grade, words in WORDS.items()]
        told = [f"{n} {one if n == 1 else many}" for n, one, many in counts if n]
        if told:
            return "Findings: " + ", ".join(told)
        return "Findings: none" if self._session.sketch.parts else "Findings"

    @Slot(object)
    def open(self, card: FindingCard) -> None:
        """Turn the crank to the worst place and light the parts up."""
        finding = card.finding
        if finding is None:
            return
        self._session.player.set_playing(False)
        if finding.crank_deg is not None:
            self._session.set_crank(math.radians(finding.crank_deg))
        self._session.select(items_of(self._session, finding))

    @Slot(object, int)
    def apply(self, card: FindingCard, number: int) -> None:
        """Make a mend, as one undo step."""
        finding = card.finding
        if finding is None or number >= len(finding.edits):
            return
        mend = finding.edits[number]
        try:
            self._session.commit(mend.label, mend.apply(self._session.committed))
        except (CrankwrightError, KeyError) as trouble:
            self._session.told.emit(str(trouble))


def items_of(session: Session, finding: Finding) -> list[tuple[str, str]]:
    """The parts and joints of a finding, as things that can be selected."""
    items = [("part", name) for name in finding.parts]
    return items + [(kind, name) for name in finding.joints
                    for kind in JOINT_KINDS if session.has((kind, name))]
