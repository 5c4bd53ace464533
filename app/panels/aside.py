"""Windows beside the work: how they open and close, and the tables and words in them."""

from __future__ import annotations

from PySide6.QtCore import QAbstractItemModel, QSettings, QSize, Qt, Slot
from PySide6.QtGui import QCloseEvent, QKeyEvent, QShowEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QLabel,
    QScrollArea,
    QSplitter,
    QStyledItemDelegate,
    QTreeView,
    QWidget,
)

from app.panels.place import open_where_left


class AsideWindow(QWidget):
    """A window of its own, written anew by `refresh` when it is shown.

    Esc closes it. It opens with the size and place it was closed with, which are kept in the
    settings under its name.
    """

    def __init__(self, name: str, title: str, size: QSize, settings: QSettings,
                 parent: QWidget | None = None) -> None:
        super().__init__(parent, Qt.WindowType.Window)
        self._settings = settings
        self.setObjectName(name)
        self.setWindowTitle(f"{title} – Crankwright")
        open_where_left(self, settings, self._key, size)

    @property
    def _key(self) -> str:
        return f"{self.objectName()}/geometry"

    @Slot()
    def refresh(self) -> None:
        """Show what is known now, when it is seen."""
        raise NotImplementedError

    def come_forward(self) -> None:
        """Open it, or bring it to the front."""
        self.show()
        self.raise_()
        self.activateWindow()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape:
            self.close()
        else:
            super().keyPressEvent(event)

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self.refresh()

    def closeEvent(self, event: QCloseEvent) -> None:
        self._settings.setValue(self._key, self.saveGeometry())
        super().closeEvent(event)


def plain_label(parent: QWidget) -> QLabel:
    """A label for sentences: wrapped, and what stands in a sketch's names is no markup."""
    label = QLabel(parent)
    label.setWordWrap(True)
    label.setTextFormat(Qt.TextFormat.PlainText)
    return label


def detail_label(parent: QWidget) -> QLabel:
    """A label for all that is known of what is chosen; its text can be selected."""
    label = plain_label(parent)
    label.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse
                                  | Qt.TextInteractionFlag.TextSelectableByKeyboard)
    label.setAlignment(Qt.AlignmentFlag.AlignTop)
    label.setMargin(8)
    return label


def above_detail(view: QAbstractItemView, detail: QLabel, high_px: int, detail_px: int,
                 parent: QWidget) -> QSplitter:
    """A view and below it, scrolled, the words on its chosen row; heights to begin with."""
    area = QScrollArea(parent)
    area.setWidgetResizable(True)
    area.setWidget(detail)
    split = QSplitter(Qt.Orientation.Vertical, parent)
    split.addWidget(view)
    split.addWidget(area)
    split.setStretchFactor(0, 1)
    split.setChildrenCollapsible(False)
    split.setSizes([high_px - detail_px, detail_px])
    return split


def flat_table(model: QAbstractItemModel, painter: QStyledItemDelegate, name: str,
               parent: QWidget) -> QTreeView:
    """A table to choose one row of, without editing; `name` for who cannot see it."""
    table = QTreeView(parent)
    table.setModel(model)
    painter.setParent(table)
    table.setItemDelegate(painter)
    table.setRootIsDecorated(False)
    table.setUniformRowHeights(True)
    table.setAllColumnsShowFocus(True)
    table.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
    table.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
    table.setAccessibleName(name)
    table.header().setSectionsMovable(False)
    return table
