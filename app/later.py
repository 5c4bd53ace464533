"""Something done a little later, once for however often it was asked for meanwhile."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QObject, QTimer, Slot


class Later(QTimer):
    """Calls a slot of its owner `delay_ms` after it was asked to.

    `soon` keeps to the first time it was asked, so that something shows while asking goes
    on; `start` puts it off until the asking has stopped.
    """

    def __init__(self, owner: QObject, delay_ms: int, slot: Callable[[], object]) -> None:
        super().__init__(owner)
        self.setSingleShot(True)
        self.setInterval(delay_ms)
        self.timeout.connect(slot)

    @Slot()
    def soon(self) -> None:
        """Ask for it."""
        if not self.isActive():
            self.start()
