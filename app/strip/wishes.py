"""The lanes of wanted angles: which are shown, and what dragging their knots does."""

from __future__ import annotations

import math
from collections.abc import Callable, Collection

from PySide6.QtCore import QObject, Slot
from PySide6.QtWidgets import QWidget

from app.later import Later
from app.session import Session
from app.strip.knots import KnotLane
from core import units
from core.errors import CrankwrightError
from core.model import Sketch, WantedAngle, WantedDwell, WantedPath, WantedPose, edits
from core.model.edits import angle_wishes
from core.motion.turn import Turn

#: While something else is dragged, the curves are drawn anew this often and no oftener.
REFRESH_MS = 30
#: More wanted angles than this are not shown at once; those selected come first.
MOST_LANES = 3
TIP = ("Dashed: the angle wanted, with its tolerance. Solid: the angle as the part moves now. "
       "Drag a knot; double-click to add one; Delete takes the chosen one out. "
       "Shift keeps its crank angle, Ctrl its angle, Alt lets go of whole degrees.")


class WishLanes(QObject):
    """A few lanes for the wanted angles of a session, in the sketch's order."""

    def __init__(self, session: Session, parent: QWidget,
                 scrub: Callable[[float], None]) -> None:
        super().__init__(parent)
        self._session = session
        self.lanes = [KnotLane("", TIP, parent) for _ in range(MOST_LANES)]
        self._shown: list[str] = []
        self._chosen: tuple[str, int] | None = None
        self._before: WantedAngle | None = None
        self._on = True
        self._later = Later(self, REFRESH_MS, self.refresh)
        for lane in self.lanes:
            lane.hide()
            plot = lane.plot
            plot.scrubbed.connect(scrub)
            plot.taken.connect(self._taken)
            plot.moved.connect(self._moved)
            plot.dropped.connect(self._dropped)
            plot.added.connect(self._added)
            plot.given_up.connect(self._given_up)
            plot.removed.connect(self._removed)
            plot.nudged.connect(self._nudged)

    def set_shown(self, on: bool) -> None:
        """Show the lanes when there is something to show, or never."""
        self._on = on
        settled = self._session.sketch is self._session.committed
        if settled or self._before is not None or not self._shown:
            self.refresh()
        else:
            self._later.soon()

    def shown(self) -> list[tuple[KnotLane, str]]:
        """The lanes on the screen and the ids of their wishes."""
        return list(zip(self.lanes, self._shown, strict=False))

    @Slot()
    def refresh(self) -> None:
        """Bring lanes and curves up to date with sketch, turn and selection."""
        found = self._wishes() if self._on else []
        self._shown = [wish.id for wish in found]
        if self._chosen is not None and not self._has(*self._chosen):
            self._chosen = None
        for place, lane in enumerate(self.lanes):
            lane.setVisible(place < len(found))
            if place < len(found):
                self._fill(lane, found[place])

    def _wishes(self) -> list[WantedAngle]:
        """The wishes to show: those selected or of selected parts first when there are too
        many, in the sketch's order."""
        session = self._session
        angles = [wish for wish in session.sketch.wanted if isinstance(wish, WantedAngle)]
        if len(angles) > MOST_LANES:
            wanted = {*session.selected("wish"), *session.selected("part")}
            ranked = sorted(angles, key=lambda wish: {wish.id, wish.part}.isdisjoint(wanted))
            keep = {wish.id for wish in ranked[:MOST_LANES]}
            angles = [wish for wish in angles if wish.id in keep]
        return angles

    def _fill(self, lane: KnotLane, wish: WantedAngle) -> None:
        from core.wanted.angle_lane import angle_lane

        turn = self._turn()
        lane.title.setText(wish.part or wish.id)
        shown = angle_lane(turn, wish)
        chosen = self._chosen[1] if self._chosen and self._chosen[0] == wish.id else None
        lane.set_text(units.show_angle)
        holding = lane.plot.held is not None
        edges = [value for knot in shown.knots for value in
                 (knot[2] - wish.tolerance_deg, knot[2] + wish.tolerance_deg)]
        lane.set_data(shown.crank_deg, shown.angle_deg, keep=edges, rest=holding)
        lane.set_wish(shown.crank_deg, shown.wished_deg, wish.tolerance_deg, shown.knots,
                      chosen)
        lane.more.setText(f"{wish.id}" if wish.part else "not attached to a part yet")
        lane.set_crank(math.degrees(self._session.crank_rad))

    def _turn(self) -> Turn:
        return self._session.turn

    def set_crank(self, deg: float) -> None:
        """Move the hands."""
        for lane, _ in self.shown():
            lane.set_crank(deg)

    # -- the hand --------------------------------------------------------------------

    def _name(self) -> str:
        """The wish whose plot sent the signal being handled."""
        sender = self.sender()
        return next(name for lane, name in self.shown() if lane.plot is sender)

    def _wish(self, name: str) -> WantedAngle | None:
        return next((wish for wish in self._session.committed.wanted
                     if wish.id == name and isinstance(wish, WantedAngle)), None)

    def _has(self, name: str, index: int) -> bool:
        return any(wish.id == name and index < len(wish.knots)
                   for wish in self._session.sketch.wanted if isinstance(wish, WantedAngle))

    def _choose(self, name: str, index: int | None) -> None:
        self._chosen = None if index is None else (name, index)
        for lane, shown in self.shown():
            lane.plot.set_keys(index is not None and shown == name)

    @Slot(int, float, float)
    def _taken(self, index: int, crank_deg: float, angle_deg: float) -> None:
        name = self._name()
        self._session.player.set_playing(False)
        self._before = self._wish(name)
        self._choose(name, index)
        self._session.select([("wish", name)])
        self.refresh()

    @Slot(float, float)
    def _moved(self, crank_deg: float, angle_deg: float) -> None:
        if self._before is None or self._chosen is None:
            return
        moved = _shifted(self._before, self._chosen[1], crank_deg, angle_deg)
        self._session.preview(edits.put(self._session.committed, moved))

    @Slot()
    def _dropped(self) -> None:
        self._before = None
        if self._session.sketch is not self._session.committed:
            self._session.commit("Move knot")
        self.refresh()

    @Slot()
    def _given_up(self) -> None:
        self._before = None
        self._session.cancel()
        self.refresh()

    @Slot(float, float)
    def _added(self, crank_deg: float, angle_deg: float) -> None:
        name = self._name()
        wish = self._wish(name)
        if wish is None:
            return
        try:
            wish, index = angle_wishes.add_knot(wish, round(crank_deg, 1), round(angle_deg, 1))
        except CrankwrightError as trouble:
            self._session.told.emit(str(trouble))
            return
        self._choose(name, index)
        self._session.select([("wish", name)])
        self._session.commit("Add knot", edits.put(self._session.committed, wish))

    @Slot()
    def _removed(self) -> None:
        self._change("Remove knot", angle_wishes.remove_knot, keep=False)

    @Slot(float, float)
    def _nudged(self, crank_deg: float, angle_deg: float) -> None:
        def nudge(wish: WantedAngle, index: int) -> WantedAngle:
            return _shifted(wish, index, crank_deg, angle_deg)

        self._change("Move knot", nudge, keep=True)

    def _change(self, label: str, how: Callable[[WantedAngle, int], WantedAngle], *,
                keep: bool) -> None:
        if self._chosen is None:
            return
        name, index = self._chosen
        wish = self._wish(name)
        if wish is None or index >= len(wish.knots):
            return
        try:
            changed = how(wish, index)
        except CrankwrightError as trouble:
            self._session.told.emit(str(trouble))
            return
        if not keep:
            self._choose(name, None)
        self._session.commit(label, edits.put(self._session.committed, changed))
        self.refresh()


def wanted_at(sketch: Sketch, chosen: Collection[str],
              span: tuple[float, float]) -> list[tuple[float, float]]:
    """Crank angles of a span at which a pose is wanted or, of a chosen path, a tick is, and
    the stretches of rests, cut where the span ends."""
    low, high = span
    found: list[tuple[float, float]] = []
    for wish in sketch.wanted:
        if isinstance(wish, WantedDwell):
            found.append((wish.from_deg, wish.from_deg
                          + (wish.to_deg - wish.from_deg) % 360.0))
        elif isinstance(wish, WantedPose):
            found.append((wish.crank_deg, wish.crank_deg))
        elif isinstance(wish, WantedPath) and wish.id in chosen:
            found += [(tick.crank_deg, tick.crank_deg) for tick in wish.ticks]
    turns = range(-1, math.ceil((high - low) / 360.0) + 1)
    moved = [(a - 360.0 * math.floor((a - low) / 360.0) + 360.0 * turn, b - a)
             for a, b in found for turn in turns]
    return [(max(a, low), min(a + wide, high)) for a, wide in moved
            if a + wide >= low and a <= high]


def _shifted(wish: WantedAngle, index: int, crank_deg: float,
             angle_deg: float) -> WantedAngle:
    """The wish with a knot moved by so much, without the noise of the last digits."""
    knot = wish.knots[index]
    return angle_wishes.move_knot(wish, index, round(knot.crank_deg + crank_deg, 3),
                                  round(knot.angle_deg + angle_deg, 3))
