"""The turn strip under the canvas."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QSettings, QTimer, Slot
from PySide6.QtGui import QAction
from PySide6.QtWidgets import QMenu, QToolButton, QVBoxLayout, QWidget

from app.session import Session
from app.strip import contents
from app.strip.axis import CrankAxis
from app.strip.items import runs
from app.strip.lane import Lane
from app.strip.transport import Transport

#: While dragging, the lanes are drawn anew this often and no oftener.
REFRESH_MS = 30
Fill = Callable[[Lane, object, Session, NDArray[np.float64]], None]
LANES: tuple[tuple[str, str, str, Fill], ...] = (
    ("torque", "Torque", "Torque your hand must give; the band is what friction makes of it. "
     "Hatched: the crank runs away.", contents.torque),
    ("gap", "Smallest gap", "Smallest gap of any two parts in one layer; dashed: the gap "
     "wanted.", contents.gap),
    ("reaction", "Pin force", "Force at the selected pin, or at the one that carries most.",
     contents.reaction),
    ("speed", "Point speed", "Speed of the selected point, or of the first traced one.",
     contents.speed),
)


class TurnStrip(QWidget):
    """Lanes sharing one crank-angle axis; dragging anywhere on them turns the crank."""

    def __init__(self, session: Session, settings: QSettings | None = None,
                 parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session, self._settings = session, settings
        self.transport = Transport(session, self)
        self.axis = CrankAxis(self)
        self.axis.scrubbed.connect(self._scrub)
        self.lanes: dict[str, Lane] = {}
        self.switches: dict[str, QAction] = {}
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 2)
        column.setSpacing(1)
        column.addWidget(self.transport)
        menu = QMenu("Lanes", self)
        self.chooser = QToolButton(self)
        self.chooser.setText("Lanes ▾")
        self.chooser.setToolTip("Which lanes are shown")
        self.chooser.setMenu(menu)
        self.chooser.setPopupMode(QToolButton.ToolButtonPopupMode.InstantPopup)
        self.transport.row.addWidget(self.chooser)
        for name, title, tip, _ in LANES:
            lane = self.lanes[name] = Lane(title, tip, self)
            lane.plot.scrubbed.connect(self._scrub)
            column.addWidget(lane, 1)
            switch = self.switches[name] = menu.addAction(title)
            switch.setStatusTip(tip)
            switch.setCheckable(True)
            on = name in ("torque", "gap")
            if settings is not None:
                on = settings.value(f"strip/{name}", on, type=bool) is True
            switch.setChecked(on)
            lane.setVisible(on)
            switch.toggled.connect(self._switched)
        column.addWidget(self.axis)
        session.turn_changed.connect(self._turn_changed)
        self._later = QTimer(self)
        self._later.setSingleShot(True)
        self._later.setInterval(REFRESH_MS)
        self._later.timeout.connect(self._study_changed)
        session.study_changed.connect(self._soon)
        session.selection_changed.connect(self._study_changed)
        session.crank_changed.connect(self._crank_changed)
        session.look.changed.connect(self._themed)
        self._span = (0.0, 0.0)
        self._themed()
        self._turn_changed()

    @Slot()
    def _themed(self) -> None:
        theme = self._session.look.theme
        self.axis.set_theme(theme)
        for lane in self.lanes.values():
            lane.set_theme(theme)

    @Slot(bool)
    def _switched(self, _: bool) -> None:
        for name, switch in self.switches.items():
            self.lanes[name].setVisible(switch.isChecked())
            if self._settings is not None:
                self._settings.setValue(f"strip/{name}", switch.isChecked())
        self._study_changed()

    @Slot()
    def _turn_changed(self) -> None:
        turn, drive = self._session.turn, self._session.sketch.drive
        span = (0.0, 360.0 * turn.crank_turns)
        if drive is not None and drive.kind == "rock":
            span = (min(drive.from_deg, drive.to_deg), max(drive.from_deg, drive.to_deg))
        if span != self._span:
            self._span = span
            self.axis.set_span(*span)
            self.transport.set_span(*span)
            for lane in self.lanes.values():
                lane.set_span(*span)
        deg = np.degrees(turn.crank_rad)
        ends = np.append(deg, span[1])
        locked = [(float(deg[a]), float(ends[b])) for a, b in runs(~turn.reached)]
        for lane in self.lanes.values():
            lane.set_locked(locked)
        rocks = drive is not None and drive.kind == "rock"
        limits = [(math.degrees(lim.crank_rad), lim.side) for lim in turn.limits]
        self.axis.set_limits([(deg if rocks else deg % span[1], side)
                              for deg, side in limits])

    @Slot()
    def _soon(self) -> None:
        if self._session.sketch is self._session.committed:
            self._study_changed()
        elif not self._later.isActive():
            self._later.start()

    @Slot()
    def _study_changed(self) -> None:
        study = self._session.study
        for name, _, _, fill in LANES:
            lane = self.lanes[name]
            if not lane.isVisibleTo(self):
                continue
            if study is None or study.turn is None:
                lane.clear("needs a crank that turns" if study is not None else "")
            else:
                fill(lane, study, self._session, np.degrees(study.turn.crank_rad))
            lane.set_crank(math.degrees(self._session.crank_rad))

    @Slot(float)
    def _crank_changed(self, crank_rad: float) -> None:
        deg = math.degrees(crank_rad)
        self.axis.set_crank(deg)
        for lane in self.lanes.values():
            lane.set_crank(deg)

    @Slot(float)
    def _scrub(self, deg: float) -> None:
        self._session.player.set_playing(False)
        low, high = self._span
        self._session.set_crank(math.radians(min(max(deg, low), high - 1e-6)))
