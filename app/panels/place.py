"""Where a window of its own opens the first time: beside the work rather than upon it."""

from __future__ import annotations

from PySide6.QtCore import QByteArray, QPoint, QRect, QSettings, QSize
from PySide6.QtWidgets import QWidget

#: What the frame of a window takes, in logical pixels: at the sides, and its title.
BORDER = QSize(16, 64)


def place_beside(room: QRect, main: QRect, size: QSize) -> QRect:
    """Where a window of `size` goes on a screen with `room`, beside the window at `main`.

    At its right or left where there is room. Otherwise in the lower right corner: the menus,
    the tools and the upper part of the paper stay in sight.
    """
    size = size.boundedTo(room.size() - BORDER)
    wide, high = size.width() + BORDER.width(), size.height() + BORDER.height()
    lowest = room.bottom() + 1 - high
    top = min(max(main.top(), room.top()), lowest)
    if room.right() - main.right() >= wide:
        return QRect(QPoint(main.right() + 1, top), size)
    if main.left() - room.left() >= wide:
        return QRect(QPoint(main.left() - wide, top), size)
    return QRect(QPoint(room.right() + 1 - wide, lowest), size)


def open_where_left(window: QWidget, settings: QSettings, key: str, size: QSize) -> None:
    """Give `window` the size and place it was closed with, or at first those beside its
    parent."""
    geometry = settings.value(key)
    if isinstance(geometry, QByteArray) and window.restoreGeometry(geometry):
        return
    room = window.screen().availableGeometry()
    parent = window.parentWidget()
    if parent is None:
        window.resize(size.boundedTo(room.size() - BORDER))
        return
    placed = place_beside(room, parent.window().frameGeometry(), size)
    window.resize(placed.size())
    window.move(placed.topLeft())
