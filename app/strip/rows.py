"""The lanes one below the other, scrolled where the window is too small for all."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QObject, QSize, Qt, Signal, Slot
from PySide6.QtGui import QResizeEvent, QShowEvent
from PySide6.QtWidgets import QFrame, QScrollArea, QVBoxLayout, QWidget

from app.strip.lane import LEAST_PX

#: All lanes together take no more of the window's height than this before they scroll.
SHARE = 0.4


class LaneRows(QScrollArea):
    """A column of lanes: as high as they want while that leaves the canvas room, else
    scrolled."""

    #: Pixels a scroll bar takes from the lanes.
    inset_changed = Signal(int)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setWidgetResizable(True)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self._page = QWidget(self)
        self._column = QVBoxLayout(self._page)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._column.setSpacing(1)
        self._watched: QWidget | None = None
        self._inset = 0
        self.setWidget(self._page)
        self._page.installEventFilter(self)

    def add(self, lane: QWidget, stretch: int) -> None:
        """A lane more, below the others."""
        self._column.addWidget(lane, stretch)

    def sizeHint(self) -> QSize:
        return QSize(self._page.sizeHint().width(),
                     min(self._page.sizeHint().height(), self._most()))

    def minimumSizeHint(self) -> QSize:
        return QSize(self._page.minimumSizeHint().width(), self._least())

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        if self._watched is not self.window():
            self._watched = self.window()
            self._watched.installEventFilter(self)
        self._share()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() in (QEvent.Type.Resize, QEvent.Type.LayoutRequest):
            self._share()
            self._tell_inset()
        return bool(super().eventFilter(watched, event))

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._tell_inset()

    def _tell_inset(self) -> None:
        inset = self.width() - self.viewport().width()
        if inset != self._inset:
            self._inset = inset
            self.inset_changed.emit(inset)

    def _most(self) -> int:
        return max(int(SHARE * self.window().height()), LEAST_PX)

    def _least(self) -> int:
        return min(self._page.minimumSizeHint().height(), self._most())

    @Slot()
    def _share(self) -> None:
        """Ask for as much as all lanes need at least, or as there is to share."""
        least = self._least()
        if self.minimumHeight() != least:
            self.setMinimumHeight(least)
            self.updateGeometry()
