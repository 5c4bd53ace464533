"""The Motion menu: what is wanted of points and parts, begun from how they move now."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

from PySide6.QtCore import QObject

from app.session import Session
from core.errors import CrankwrightError, EditError
from core.model import Sketch, edits
from core.model.wanted import LengthRule, WantedAngle
from core.motion.turn import Turn

#: The commands that ask something of a part, of a point, and of what a wish is of.
OFFERS = {
    "part": ("angle_now", "angle_swing", "angle_quick", "angle_hold", "want_swing",
             "want_rest", "want_ratio", "want_pose"),
    "point": ("path_now", "want_stroke", "want_rest", "want_ratio"),
    "wish": ("angle_now", "angle_swing", "angle_quick", "angle_hold"),
}
#: Makes a wish from the turn: (turn, part or point, id of the wish).
Make = Callable[[Turn, str, str], Any]


class Wanting(QObject):
    """Wishes for the selected part or point of a session; each is one undo step."""

    def __init__(self, session: Session, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._session = session

    # -- the angle of a part, as a curve -----------------------------------------------

    def angle_as_now(self) -> None:
        """A curve of the angle as the part moves now, to be edited."""
        from core.wanted import starts

        self._angle("Want its angle as it moves now", starts.angle_as_it_moves)

    def angle_to_and_fro(self) -> None:
        """A curve once to and fro in a turn, between its present ends."""
        from core.wanted import starts

        self._angle("Want it to swing to and fro", starts.angle_to_and_fro)

    def angle_quick(self) -> None:
        """A curve there in a third of the turn and back in the rest."""
        from core.wanted import starts

        self._angle("Want it quick there, slow back", starts.angle_quick_one_way)

    def angle_held(self) -> None:
        """A rest about the crank angle shown, in the part's curve or its present motion."""
        from core.wanted import starts

        here = math.degrees(self._session.crank_rad)

        def make(turn: Turn, part: str, name: str) -> WantedAngle:
            held = self._angle_of(part)
            wish = held or starts.angle_as_it_moves(turn, part, name)
            return starts.hold(wish, here)

        self._angle("Want it held here", make)

    def _angle_of(self, part: str) -> WantedAngle | None:
        return next((wish for wish in self._session.committed.wanted
                     if isinstance(wish, WantedAngle) and wish.part == part), None)

    def _angle(self, label: str, make: Make) -> None:
        """A part has one curve: a new start takes the place of the one it has."""
        part = self._one("part")
        if part is None:
            return
        old = self._angle_of(part)
        self._wish(label, make, part, "angle" if old is None else "", old)

    # -- other wishes ------------------------------------------------------------------

    def swing(self) -> None:
        """How far the part swings."""
        from core.wanted import starts

        part = self._one("part")
        if part is not None:
            self._wish("Want its swing", starts.swing_now, part, "swing")

    def stroke(self) -> None:
        """Between which places the point goes."""
        from core.wanted import starts

        ref = self._one("point")
        if ref is not None:
            self._wish("Want its stroke", starts.stroke_now, ref, "stroke")

    def path_as_now(self) -> None:
        """The path of the point as it is now, to be edited."""
        from core.wanted import starts

        ref = self._one("point")
        if ref is not None:
            self._wish("Want its path as it moves now", starts.path_as_it_moves, ref, "path")

    def rest(self) -> None:
        """A rest of the part or point about the crank angle shown."""
        from core.wanted import starts

        here = math.degrees(self._session.crank_rad)

        def make(turn: Turn, what: str, name: str) -> Any:
            return starts.rest_now(turn, name, here, **_named(what))

        what = self._part_or_point()
        if what is not None:
            self._wish("Want a rest about here", make, what, "rest")

    def time_ratio(self) -> None:
        """How much slower one way is than the other."""
        from core.wanted import starts

        def make(turn: Turn, what: str, name: str) -> Any:
            return starts.ratio_now(turn, name, **_named(what))

        what = self._part_or_point()
        if what is not None:
            self._wish("Want a time ratio", make, what, "ratio")

    # -- lengths -----------------------------------------------------------------------

    def keep_equal(self) -> None:
        """The selected links keep one length in a fit."""
        ends = self._lengths()
        if len(ends) < 4:
            self._tell("Select two or more links, each with two points, to keep their lengths "
                       "equal.")
            return
        self._rule("Keep equal in a fit", "equal lengths", ends, equal=True)

    def keep_within(self) -> None:
        """Bounds on the length of the selected links in a fit, 20 % either way."""
        ends = self._lengths()
        if not ends:
            self._tell("Select a link with two points to give its length bounds.")
            return
        sketch = self._session.committed
        now = [abs(sketch.place(a) - sketch.place(b))
               for a, b in zip(ends[::2], ends[1::2], strict=True)]
        self._rule("Keep within bounds in a fit", "length", ends,
                   shortest_mm=round(0.8 * min(now), 1), longest_mm=round(1.2 * max(now), 1))

    def keep_there(self) -> None:
        """The selected region is about the selected points."""
        session = self._session
        zones, points = session.selected("zone"), session.selected("point")
        if len(zones) != 1 or not points:
            self._tell("Select one region and the points it is to hold (Shift and click).")
            return
        session.commit("Keep points to region", edits.change(
            session.committed, "zones", zones[0], points=points))
        session.select([("zone", zones[0])])

    def _lengths(self) -> tuple[str, ...]:
        """Two ends for every selected part, those farthest apart; or the two selected
        points of one part."""
        sketch, session = self._session.committed, self._session
        points = session.selected("point")
        owners = [ref.partition(".")[0] for ref in points]
        ends = [ref for ref in points if owners.count(ref.partition(".")[0]) == 2]
        for part in session.selected("part"):
            try:
                ends += edits.pose_handles(sketch, part)
            except EditError:
                continue
        return tuple(ends)

    def _rule(self, label: str, stem: str, ends: tuple[str, ...], **fields: Any) -> None:
        sketch = self._session.committed
        name = edits.fresh_id(sketch, stem)
        rule = LengthRule(id=name, ends=ends, **fields)
        self._session.commit(label, edits.add(sketch, "length_rules", rule))
        self._session.select([("length_rule", name)])

    # -- together ----------------------------------------------------------------------

    def _tell(self, text: str) -> None:
        self._session.told.emit(text)

    def _one(self, kind: str) -> str | None:
        """The one selected thing of a kind; else says what to select."""
        points = self._session.selected("point")
        chosen = self._session.selected(kind)
        if kind == "part" and not chosen:
            chosen = tuple(dict.fromkeys(ref.partition(".")[0] for ref in points))
        chosen = chosen or wished(self._session, kind)
        if len(chosen) == 1:
            return chosen[0]
        self._tell(f"Select one {kind} first: the wish is about it.")
        return None

    def _part_or_point(self) -> str | None:
        session = self._session
        chosen = (*session.selected("point"), *session.selected("part"))
        chosen = chosen or wished(session, "point") or wished(session, "part")
        if len(chosen) == 1:
            return chosen[0]
        self._tell("Select one part or point first: the wish is about it.")
        return None

    def _wish(self, label: str, make: Make, what: str, stem: str,
              old: Any | None = None) -> None:
        """Make a wish of `what` and add it, or put it in the place of `old`."""
        session = self._session
        sketch = session.committed
        if session.sketch is not sketch:
            session.cancel()
        name = old.id if old is not None else edits.fresh_id(sketch, _stem(what, stem))
        try:
            wish = make(session.turn, what, name)
            after: Sketch = edits.put(sketch, wish) if old is not None else edits.add(
                sketch, "wanted", wish)
        except (CrankwrightError, KeyError) as trouble:
            self._tell(str(trouble))
            return
        session.commit(label, after)
        session.select([("wish", name)])


def wished(session: Session, kind: str) -> tuple[str, ...]:
    """The parts or points the selected wishes are of: another start, or one more wish of
    the same thing, can be asked for right after the first."""
    chosen = (edits.get(session.committed, name) for name in session.selected("wish"))
    asked = dict.fromkeys(getattr(wish, kind, "") for wish in chosen)
    return tuple(name for name in asked if name)


def _stem(what: str, kind: str) -> str:
    """What a wish is called: "rocker angle", "foot tip path"."""
    return f"{what.replace('.', ' ')[:40].strip()} {kind}"


def _named(what: str) -> dict[str, str]:
    return {"ref": what} if "." in what else {"part_id": what}
