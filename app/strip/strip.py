"""The turn strip under the canvas."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QSettings, Slot
from PySide6.QtGui import QAction
from PySide6.QtWidgets import QMenu, QVBoxLayout, QWidget

from app.later import Later
from app.session import Session
from app.strip import contents, effort_contents
from app.strip.axis import CrankAxis
from app.strip.force_lanes import BothWaysLane, CausesLane
from app.strip.items import runs
from app.strip.lane import Lane
from app.strip.rows import LaneRows
from app.strip.transport import Transport
from app.strip.wishes import WishLanes, wanted_at

#: While dragging, the lanes are drawn anew this often and no oftener.
REFRESH_MS = 30
Fill = Callable[[Lane, object, Session, NDArray[np.float64]], None]
LANES: tuple[tuple[str, str, str, Fill], ...] = (
    ("torque", "Torque", "Torque your hand must give; the band is what friction makes of it. "
     "Hatched: the crank runs away.", effort_contents.torque),
    ("causes", "Torque split", "What the torque is made of, on top of each other from zero "
     "upwards, what helps downwards. The line is their sum without friction.",
     effort_contents.causes),
    ("push", "Hand's push", "Push along the circle of the grip, friction and the losses of "
     "its steps included; below zero the hand holds back. Dashed level: the hardest that is "
     "wanted. Hatched: more than that.", effort_contents.push),
    ("stay", "Let go", "What friction has over to hold the crank where it is left; below zero "
     "it sets off by itself. The band is the range of friction. Hatched: not even the most "
     "holds it.", effort_contents.stay),
    ("gap", "Smallest gap", "Smallest gap of any two parts in one layer; dashed: the gap "
     "wanted.", contents.gap),
    ("reaction", "Pin force", "Force at the selected pin, or at the one that carries most.",
     contents.reaction),
    ("speed", "Point speed", "Speed of the selected point, or of the first traced one.",
     contents.speed),
    ("miss", "Miss", "How far the motion is from the one wanted: of the selected wish, else "
     "of all, counted in their tolerances. Dashed: the tolerance.", contents.miss),
)
#: Lanes that are more than a curve.
KINDS: dict[str, type[Lane]] = {"torque": BothWaysLane, "push": BothWaysLane,
                                "causes": CausesLane}
#: Lanes shown at the first start, and those that are there only with something wanted.
AT_FIRST = ("torque", "gap", "miss", "angles")
WITH_WISHES = ("miss", "angles")
#: The switch that is no lane.
BACKWARDS = "backwards"


class TurnStrip(QWidget):
    """Lanes sharing one crank-angle axis; dragging anywhere on them turns the crank."""

    def __init__(self, session: Session, settings: QSettings | None = None,
                 parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session, self._settings = session, settings
        self._span = (0.0, 0.0)
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
        self.transport.chooser.setMenu(menu)
        self.wishes = WishLanes(session, self, self._scrub)
        self.rows = LaneRows(self)
        for name, title, tip, _ in LANES:
            lane = self.lanes[name] = KINDS.get(name, Lane)(title, tip, self)
            lane.plot.scrubbed.connect(self._scrub)
            self.rows.add(lane, 1)
            self._add_switch(menu, name, title, tip)
        for knots in self.wishes.lanes:
            self.rows.add(knots, 2)
        column.addWidget(self.rows, 1)
        self.rows.inset_changed.connect(self.axis.set_inset)
        self._add_switch(menu, "angles", "Wanted angles", "The curves asked of parts, with "
                         "knots to drag")
        menu.addSeparator()
        self._add_switch(menu, BACKWARDS, "Turned backwards too", "Torque and push for a crank "
                         "turned the other way, dashed")
        column.addWidget(self.axis)
        session.turn_changed.connect(self._turn_changed)
        self._later = Later(self, REFRESH_MS, self._study_changed)
        session.study_changed.connect(self._soon)
        session.selection_changed.connect(self._study_changed)
        session.selection_changed.connect(self.wishes.refresh)
        session.selection_changed.connect(self._mark_wanted)
        session.crank_changed.connect(self._crank_changed)
        session.look.changed.connect(self._themed)
        self._themed()
        self._turn_changed()

    def _every_lane(self) -> list[Lane]:
        return [*self.lanes.values(), *self.wishes.lanes]

    @Slot()
    def _themed(self) -> None:
        theme = self._session.look.theme
        self.axis.set_theme(theme)
        for lane in self._every_lane():
            lane.set_theme(theme)

    def _add_switch(self, menu: QMenu, name: str, title: str, tip: str) -> None:
        switch = self.switches[name] = menu.addAction(title)
        switch.setStatusTip(tip)
        switch.setCheckable(True)
        on = name in AT_FIRST
        if self._settings is not None:
            on = self._settings.value(f"strip/{name}", on, type=bool) is True
        switch.setChecked(on)
        switch.toggled.connect(self._switched)

    @Slot(bool)
    def _switched(self, _: bool) -> None:
        if self._settings is not None:
            for name, switch in self.switches.items():
                self._settings.setValue(f"strip/{name}", switch.isChecked())
        self._show_lanes()
        self._study_changed()

    def _show_lanes(self) -> None:
        """Those switched on; of the wanted motion only when something is wanted."""
        wishes = bool(self._session.sketch.wanted)
        for lane in self.lanes.values():
            if isinstance(lane, BothWaysLane):
                lane.both_ways = self.switches[BACKWARDS].isChecked()
        for name, lane in self.lanes.items():
            on = self.switches[name].isChecked() and (wishes or name not in WITH_WISHES)
            lane.setVisible(on)
        self.wishes.set_shown(wishes and self.switches["angles"].isChecked())
        self._mark_wanted()

    @Slot()
    def _mark_wanted(self) -> None:
        session = self._session
        self.axis.set_wanted(wanted_at(session.sketch, session.selected("wish"), self._span))

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
            for lane in self._every_lane():
                lane.set_span(*span)
        deg = np.degrees(turn.crank_rad)
        ends = np.append(deg, span[1])
        locked = [(float(deg[a]), float(ends[b])) for a, b in runs(~turn.reached)]
        for lane in self._every_lane():
            lane.set_locked(locked)
        rocks = drive is not None and drive.kind == "rock"
        limits = [(math.degrees(lim.crank_rad), lim.side) for lim in turn.limits]
        self.axis.set_limits([(deg if rocks else deg % span[1], side)
                              for deg, side in limits])
        self._show_lanes()

    @Slot()
    def _soon(self) -> None:
        if self._session.sketch is self._session.committed:
            self._study_changed()
        else:
            self._later.soon()

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
        self.wishes.set_crank(deg)

    @Slot(float)
    def _scrub(self, deg: float) -> None:
        self._session.player.set_playing(False)
        low, high = self._span
        self._session.set_crank(math.radians(min(max(deg, low), high - 1e-6)))
