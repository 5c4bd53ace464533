"""Commands that put wishes on the paper: a path from a file, a pose, a tick."""

from __future__ import annotations

import math
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Slot

from app.dialogs.curves import CurvesDialog
from app.dialogs.files import ask_open
from app.gestures.wish_pose import pose_here
from core.errors import CrankwrightError
from core.files.curves import Curve, read_curves
from core.model import Sketch, WantedPath, part_of
from core.model.edits import add, add_tick, fresh_id, path_end
from core.wanted.tracing import traced

if TYPE_CHECKING:
    from app.window import MainWindow

PATHS = "Paths (*.svg *.dxf *.csv *.tsv *.txt);;All files (*)"
#: Endings of files that hold paths.
ENDINGS = (".svg", ".dxf", ".csv", ".tsv")


class Drafting(QObject):
    """Wishes on the canvas of a window; each is one undo step."""

    def __init__(self, window: MainWindow) -> None:
        super().__init__(window)
        self._window, self._session = window, window.session
        self.dialog: CurvesDialog | None = None

    # -- a path from a file --------------------------------------------------------

    def choose_file(self) -> None:
        """Ask for a file with a path in it."""
        path = self._session.path
        ask_open(self._window, "A path from a file", path.parent if path else Path.home(),
                 PATHS, self.take_file)

    @Slot(str)
    def take_file(self, name: str) -> None:
        """Read a file; of several curves ask which."""
        try:
            curves = read_curves(Path(name))
        except CrankwrightError as trouble:
            self._session.told.emit(str(trouble))
            return
        if len(curves) == 1:
            self.take_curve(curves[0])
            return
        session = self._session
        self.dialog = CurvesDialog(curves, session.sketch.units, session.look.theme,
                                   self._window)
        self.dialog.chosen.connect(self.take_curve)
        self.dialog.open()

    @Slot(object)
    def take_curve(self, curve: Curve) -> None:
        """Want a curve of the point selected, or of none yet, where the file has it."""
        session = self._session
        sketch = session.committed
        name = fresh_id(sketch, "path")
        wish = traced(curve.places, kind=curve.kind, closed=curve.closed, name=name,
                      crank_deg=curve.crank_deg, point=self._moving_point(sketch))
        if not session.commit("Import a path", add(sketch, "wanted", wish)):
            return
        session.select((("wish", name),))
        self._window.canvas.reveal([complex(*place) for place in wish.through])
        whom = wish.point or "no point yet"
        session.told.emit(f"Taken as {name} with {len(wish.through)} handles, of {whom}.")

    def _moving_point(self, sketch: Sketch) -> str:
        """The one point selected, when its part moves; or ""."""
        picked = self._session.selected("point")
        alone = len(picked) == 1 and not sketch.part(part_of(picked[0])).fixed
        return picked[0] if alone else ""

    # -- here and now --------------------------------------------------------------

    def pose_here(self) -> None:
        """The selected part is wanted where it stands, at the crank angle shown."""
        session = self._session
        parts = [part for part in (*session.selected("part"), *map(
            part_of, session.selected("point"))) if not session.committed.part(part).fixed]
        if not parts:
            session.told.emit("Select the part that is wanted here; the frame does not move.")
            return
        try:
            sketch, name = pose_here(session.committed, self._window.canvas.pose, parts[0])
        except CrankwrightError as trouble:
            session.told.emit(str(trouble))
            return
        session.commit(f"Want {name}", sketch)
        session.select((("wish", name),))

    def tick_here(self) -> None:
        """The selected path gets a tick at the crank angle shown: on the place nearest to
        where its point is; without a point, at that share of the turn."""
        session = self._session
        sketch = session.committed
        wish = next((wish for wish in sketch.wanted if isinstance(wish, WantedPath)
                     and ("wish", wish.id) in session.selection), None)
        if wish is None:
            session.told.emit("Select the wanted path that is to get a tick.")
            return
        canvas = self._window.canvas
        degrees = math.degrees(session.crank_rad) % 360.0
        if wish.point:
            line = canvas.shapes.lines.of(wish)
            at = line.nearest(canvas.pose.at(wish.point))[0]
        else:
            at = degrees / 360.0 * path_end(wish)
        session.commit(f"Add a tick to {wish.id}", add_tick(sketch, wish.id, at, degrees))
