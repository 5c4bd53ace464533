"""The menu of kinds: it stays open while one after the other is ticked."""

from __future__ import annotations

from collections.abc import Mapping

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QAction, QKeyEvent, QMouseEvent
from PySide6.QtWidgets import QMenu, QWidget


class KindsMenu(QMenu):
    """Families to tick; `chosen()` after every tick."""

    chosen = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.all_action = QAction("All kinds", self)
        self.none_action = QAction("None of them", self)
        self.addActions([self.all_action, self.none_action])
        self.addSeparator()
        self.ticks: list[QAction] = []
        self.triggered.connect(self._triggered)

    @property
    def hidden(self) -> frozenset[str]:
        """The families not ticked."""
        return frozenset(one.data() for one in self.ticks if not one.isChecked())

    def show_kinds(self, kinds: Mapping[str, str], hidden: frozenset[str]) -> None:
        """Offer these, family → name; while it is open nothing moves."""
        if self.isVisible() or [one.data() for one in self.ticks] == sorted(kinds):
            return
        for action in self.ticks:
            self.removeAction(action)
            action.deleteLater()
        self.ticks = [self.addAction(kinds[family]) for family in sorted(kinds)]
        for action, family in zip(self.ticks, sorted(kinds), strict=True):
            action.setData(family)
            action.setCheckable(True)
            action.setChecked(family not in hidden)

    def _triggered(self, action: QAction) -> None:
        if action in (self.all_action, self.none_action):
            for one in self.ticks:
                one.setChecked(action is self.all_action)
        self.chosen.emit()

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        if not self._kept_open(self.actionAt(event.position().toPoint())):
            super().mouseReleaseEvent(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        pressed = event.key() in (Qt.Key.Key_Space, Qt.Key.Key_Return, Qt.Key.Key_Enter)
        if not pressed or not self._kept_open(self.activeAction()):
            super().keyPressEvent(event)

    def _kept_open(self, action: QAction | None) -> bool:
        """Trigger it without closing the menu, unless it is none."""
        if action is None or action.isSeparator():
            return False
        action.trigger()
        return True
