"""The sketch as the tools take hold of it: in the pose on the screen."""

from __future__ import annotations

import math
from collections.abc import Iterator
from contextlib import contextmanager

from app.canvas.pose import Pose, pose_from
from app.session import Session
from core.model import Sketch
from core.motion.turn import Turn


class Workpiece:
    """Edits of a session's sketch by the tools of a canvas.

    A tool takes `base`, shows changed sketches with `show`, and ends with `record` or
    `drop`. `changing` is True while one of these makes the session emit its signals.
    """

    def __init__(self, session: Session) -> None:
        self.changing = False
        self._session = session
        self._crank_before: float | None = None
        self._posed: tuple[Turn, float, Pose] | None = None

    @property
    def pose(self) -> Pose:
        """Where every part is on the screen."""
        turn, crank = self._session.pose(), self._session.crank_rad
        if self._posed is None or self._posed[0] is not turn or self._posed[1] != crank:
            self._posed = (turn, crank, pose_from(turn, crank))
        return self._posed[2]

    def base(self) -> Sketch:
        """The recorded sketch with the pose on the screen as its drawn pose, so that
        what is drawn on the screen is drawn where it is seen. Stops the player."""
        self._session.player.set_playing(False)
        return self._session.posed()

    def show(self, sketch: Sketch, *, in_pose: bool = True) -> None:
        """Preview a sketch; `in_pose` as in `record`."""
        if self._crank_before is None:
            self._crank_before = self._session.crank_rad
        with self._own_change():
            self._session.preview(sketch)
            if in_pose:
                self._turn_to_drawn()

    def record(self, label: str, sketch: Sketch | None = None, *, in_pose: bool = True) -> bool:
        """Record a sketch, or the preview, as one undo step; False when nothing changed.

        With `in_pose` the sketch was made from `base`: its drawn pose is the one on the
        screen, and stays there.
        """
        before, self._crank_before = self._crank_before, None
        with self._own_change():
            changed = self._session.commit(label, sketch)
            if changed and in_pose:
                self._turn_to_drawn()
            elif before is not None and not changed:
                self._session.set_crank(before)
        return changed

    def drop(self) -> None:
        """Show the recorded sketch again, at the crank angle it was seen at."""
        before, self._crank_before = self._crank_before, None
        with self._own_change():
            self._session.cancel()
            if before is not None:
                self._session.set_crank(before)

    def forget(self) -> None:
        """Another hand changed the sketch: there is nothing to go back to."""
        self._crank_before = None

    def _turn_to_drawn(self) -> None:
        drive = self._session.sketch.drive
        if drive is not None:
            drawn = math.radians(drive.drawn_deg)
            if abs(self._session.crank_rad - drawn) > 1e-12:
                self._session.set_crank(drawn)

    @contextmanager
    def _own_change(self) -> Iterator[None]:
        self.changing = True
        try:
            yield
        finally:
            self.changing = False
