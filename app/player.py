"""Turning the crank by itself: the clock behind Play."""

from __future__ import annotations

import math

from PySide6.QtCore import QElapsedTimer, QObject, Qt, QTimer, Signal

from core.model import Drive

FRAME_MS = 16


class Player(QObject):
    """Ticks while playing and says how far the crank goes.

    A "turn" drive advances evenly at rpm × speed. A "rock" drive swings as a
    sine between its two angles, |rpm| × speed times a minute.
    """

    stepped = Signal(float)
    playing_changed = Signal(bool)
    manner_changed = Signal()

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.speed = 1.0
        self.way = 1
        self._clock = QElapsedTimer()
        self._timer = QTimer(self)
        self._timer.setTimerType(Qt.TimerType.PreciseTimer)
        self._timer.setInterval(FRAME_MS)
        self._timer.timeout.connect(self._tick)

    @property
    def playing(self) -> bool:
        """Whether the crank is turning by itself."""
        return self._timer.isActive()

    def set_playing(self, on: bool) -> None:
        """Start or stop."""
        if on == self.playing:
            return
        if on:
            self._clock.start()
            self._timer.start()
        else:
            self._timer.stop()
        self.playing_changed.emit(on)

    def set_speed(self, speed: float) -> None:
        """Times the sketch's own rpm."""
        self.speed = speed
        self.manner_changed.emit()

    def set_way(self, way: int) -> None:
        """+1 as the drive turns, −1 the other way round."""
        if way != self.way:
            self.way = way
            self.manner_changed.emit()

    def _tick(self) -> None:
        # A long pause (a dialog, a busy machine) must not make the crank jump.
        self.stepped.emit(min(self._clock.restart(), 100) / 1000.0)

    def advance(self, drive: Drive, crank_rad: float, seconds: float) -> float:
        """Crank angle after `seconds`, rad; at a rocking drive's end `way` turns round."""
        turned = 2 * math.pi * drive.rpm / 60 * self.speed * seconds
        if drive.kind == "turn":
            return crank_rad + self.way * turned
        low, high = math.radians(drive.from_deg), math.radians(drive.to_deg)
        middle, reach = (low + high) / 2, (high - low) / 2
        if reach == 0:
            return crank_rad
        # Phase of the sine, rising while way is +1 and falling while it is −1.
        rise = math.asin(max(-1.0, min(1.0, (crank_rad - middle) / reach)))
        phase = (rise if self.way > 0 else math.pi - rise) + abs(turned)
        self.set_way(1 if math.cos(phase) >= 0 else -1)
        return middle + reach * math.sin(phase)
