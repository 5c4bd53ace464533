"""What the small tables of the particulars have in common: a grid edited in place, a sentence
for what cannot be, and buttons to add and take out a row."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QSizePolicy,
    QTableWidget,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

ROW_PX = 26


class EditedTable(QWidget):
    """A heading, the `grid`, the `error` below it, and the buttons `more` and `less`."""

    def __init__(self, title: str, heads: Sequence[str], more: str,
                 parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.grid = QTableWidget(0, len(heads), self)
        self.grid.setHorizontalHeaderLabels(heads)
        self.grid.setShowGrid(False)
        self.grid.setTabKeyNavigation(False)
        self.grid.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.grid.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.grid.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self.grid.verticalHeader().setDefaultSectionSize(ROW_PX)
        heading = QLabel(title, self)
        heading.setProperty("role", "heading")
        self.error = QLabel(self)
        self.error.setProperty("role", "error")
        self.error.setWordWrap(True)
        self.error.hide()
        self.more, self.less = QPushButton(more, self), QPushButton("Remove", self)
        buttons = QHBoxLayout()
        buttons.addWidget(self.more)
        buttons.addWidget(self.less)
        buttons.addStretch(1)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(3)
        for widget in (heading, self.grid, self.error):
            column.addWidget(widget)
        column.addLayout(buttons)

    @property
    def being_edited(self) -> bool:
        """Whether a cell's editor is open."""
        return bool(self.grid.state() == QAbstractItemView.State.EditingState)

    def cell(self, row: int, column: int) -> QTableWidgetItem:
        """A cell of the grid, made when it is asked for the first time."""
        found = self.grid.item(row, column)
        if found is None:
            found = QTableWidgetItem()
            self.grid.setItem(row, column, found)
        return found

    def show_rows(self, count: int, most: int) -> None:
        """As high as its rows; more than `most` are scrolled, and so are columns that may be
        and find no room."""
        header, bar = self.grid.horizontalHeader(), self.grid.horizontalScrollBar()
        scrolled = (self.grid.horizontalScrollBarPolicy()
                    == Qt.ScrollBarPolicy.ScrollBarAsNeeded
                    and header.length() > self.grid.viewport().width())
        self.grid.setFixedHeight(header.sizeHint().height() + ROW_PX * min(count, most) + 4
                                 + (bar.sizeHint().height() if scrolled else 0))

    def tell(self, text: str) -> None:
        """Say what cannot be; "" takes it back."""
        self.error.setText(text)
        self.error.setVisible(bool(text))
