"""The Crank menu: turning, stepping, speed."""

from __future__ import annotations

import math

from PySide6.QtCore import QObject

from app.session import Session

SPEEDS = (0.125, 0.25, 0.5, 1.0, 2.0, 4.0, 8.0)


class Cranking(QObject):
    """Moves the crank of a session."""

    def __init__(self, session: Session, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._session = session

    def play(self) -> None:
        """Start the crank, or stop it."""
        player = self._session.player
        player.set_playing(not player.playing and self._session.sketch.drive is not None)

    def reverse(self) -> None:
        """Turn the other way from now on."""
        player = self._session.player
        player.set_way(-player.way)

    def faster(self) -> None:
        """The next higher speed."""
        player = self._session.player
        player.set_speed(next((s for s in SPEEDS if s > player.speed), SPEEDS[-1]))

    def slower(self) -> None:
        """The next lower speed."""
        player = self._session.player
        player.set_speed(next((s for s in reversed(SPEEDS) if s < player.speed), SPEEDS[0]))

    def ahead(self) -> None:
        """1° counter-clockwise."""
        self._step(1.0)

    def back(self) -> None:
        """1° clockwise."""
        self._step(-1.0)

    def far_ahead(self) -> None:
        """10° counter-clockwise."""
        self._step(10.0)

    def far_back(self) -> None:
        """10° clockwise."""
        self._step(-10.0)

    def home(self) -> None:
        """To the drawn pose."""
        drive = self._session.sketch.drive
        if drive is not None:
            self._session.player.set_playing(False)
            self._session.set_crank(math.radians(drive.drawn_deg))

    def _step(self, deg: float) -> None:
        self._session.player.set_playing(False)
        self._session.set_crank(self._session.crank_rad + math.radians(deg))
