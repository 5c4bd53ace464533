"""The work in hand: the sketch, its turn and study, undo, crank, selection, file."""

from __future__ import annotations

import math
from collections.abc import Iterable
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QTimer, Signal, Slot
from PySide6.QtGui import QUndoCommand, QUndoStack

from app import engine
from app.look import Look
from app.player import Player
from app.worker import Worker
from core import files
from core.errors import CrankwrightError
from core.model import Sketch, split_ref
from core.motion.turn import Turn

if TYPE_CHECKING:
    from core.study import Study

#: What can be selected: (kind, id). Points are ("point", "part.point").
Item = tuple[str, str]
GROUP_OF_KIND = {
    "part": "parts", "pin": "pins", "slide": "slides", "slot": "slots", "lock": "locks",
    "mesh": "meshes", "belt": "belts", "force": "forces", "torque": "torques",
    "spring": "springs", "torsion_spring": "torsion_springs", "twin": "twins",
    "wish": "wanted", "zone": "zones", "length_rule": "length_rules",
}
#: Keeps the crank a hair inside its reach, where the pose can still be solved.
_INSIDE_RAD = 1e-7
#: After an edit has rested this long, gaps are refined and mends are tried.
REST_MS = 150


class _Edit(QUndoCommand):
    """One edit: the sketch and the selection before and after."""

    def __init__(self, session: Session, label: str, before: Sketch, after: Sketch) -> None:
        super().__init__(label)
        self._session, self._before, self._after = session, before, after
        self._selected_before = session.selection
        self._selected_after: frozenset[Item] | None = None

    def redo(self) -> None:
        self._session._adopt(self._after, self._selected_after)

    def undo(self) -> None:
        self._selected_after = self._session.selection
        self._session._adopt(self._before, self._selected_before)


class Session(QObject):
    """One open sketch.

    `sketch` is what is shown (while dragging, the preview); `committed` is what the
    undo history holds. `turn` is solved at once with every change; `study` follows
    from the worker and always belongs to a recent sketch (`study.sketch` says which);
    `refined` says whether its gaps are refined and its mends tried.
    Sketches are frozen, so undo puts back the very same object.
    """

    sketch_changed = Signal()
    turn_changed = Signal()
    study_changed = Signal()
    crank_changed = Signal(float)
    selection_changed = Signal()
    file_changed = Signal()
    hint_changed = Signal(str)
    told = Signal(str)

    def __init__(self, look: Look | None = None, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.look = look or Look(parent=self)
        self.undo_stack = QUndoStack(self)
        self.undo_stack.cleanChanged.connect(self._clean_changed)
        self.worker = Worker(self)
        self.worker.done.connect(self._study_done)
        self.worker.failed.connect(self._study_failed)
        # Trying mends can take long: it has a thread of its own, and begins at rest.
        self.finisher = Worker(self)
        self.finisher.done.connect(self._study_finished)
        self.finisher.failed.connect(self._study_failed)
        self._rest = QTimer(self)
        self._rest.setSingleShot(True)
        self._rest.setInterval(REST_MS)
        self._rest.timeout.connect(self._finish)
        self.player = Player(self)
        self.player.stepped.connect(self._play_step)
        self.path: Path | None = None
        self.committed = self.sketch = Sketch()
        self.selection: frozenset[Item] = frozenset()
        self.crank_rad = 0.0
        self.trouble = ""
        self.study: Study | None = None
        self.refined = False
        self.turn: Turn = engine.still_turn(self.sketch)
        self._pose: Turn | None = None

    # -- edits ---------------------------------------------------------------------

    def preview(self, sketch: Sketch) -> None:
        """Show a changed sketch without recording it (a drag in progress).

        Positions are solved before this returns; effort, gaps and findings follow.
        Twins follow their originals; EditError where they cannot.
        """
        self._show(engine.follow(self.committed, sketch))

    def commit(self, label: str, sketch: Sketch | None = None) -> bool:
        """Record `sketch`, or the preview shown, as one undo step; False when nothing
        changed, or when a twin cannot follow (which is told).

        `label` is a verb phrase for the Edit menu ("Move pin").
        """
        try:
            after = self.sketch if sketch is None else engine.follow(self.committed, sketch)
        except CrankwrightError as trouble:
            self.cancel()
            self.told.emit(str(trouble))
            return False
        if after == self.committed:
            self.cancel()
            return False
        self.undo_stack.push(_Edit(self, label, self.committed, after))
        return True

    def cancel(self) -> None:
        """Drop the preview and show the recorded sketch again."""
        if self.sketch is not self.committed:
            self._show(self.committed)

    def undo(self) -> None:
        """Take back the last edit (or the preview, when there is one)."""
        if self.sketch is not self.committed:
            self.cancel()
        else:
            self.undo_stack.undo()

    def redo(self) -> None:
        """Make the edit taken back again."""
        self.cancel()
        self.undo_stack.redo()

    def _adopt(self, sketch: Sketch, selection: frozenset[Item] | None) -> None:
        """Make a sketch the recorded one (undo commands call this)."""
        self.committed = sketch
        self._show(sketch)
        if selection is not None:
            self.select(selection)

    def _show(self, sketch: Sketch) -> None:
        self.sketch = sketch
        self._pose = None
        if sketch is not self.turn.sketch:
            self.turn, self.trouble = engine.solve(sketch, self.turn)
        kept = frozenset(item for item in self.selection if self.has(item))
        reselected = kept != self.selection
        self.selection = kept
        self.sketch_changed.emit()
        self.turn_changed.emit()
        if reselected:
            self.selection_changed.emit()
        self.set_crank(self.crank_rad)
        self.finisher.drop()  # what it is at belongs to a sketch of the past
        self.worker.ask(partial(engine.look_into, sketch, self.turn, False))
        if sketch is self.committed:
            self._rest.start()
        else:
            self._rest.stop()

    @Slot(int, object)
    def _study_done(self, token: int, study: Study) -> None:
        # While dragging, an answer that is one step behind is still worth showing:
        # waiting for the newest would leave the strip still until the mouse rests.
        if self.study is None or self.study.sketch is not study.sketch:
            self._take_study(study, refined=False)

    @Slot()
    def _finish(self) -> None:
        self.finisher.ask(partial(engine.look_into, self.committed, self.turn, True,
                                  self.finisher.wanted))

    @Slot(int, object)
    def _study_finished(self, token: int, study: Study) -> None:
        if study.sketch is self.sketch:
            self._take_study(study, refined=True)

    def _take_study(self, study: Study, *, refined: bool) -> None:
        self.study, self.refined = study, refined
        self.study_changed.emit()

    @Slot(int, str)
    def _study_failed(self, token: int, text: str) -> None:
        last = text.strip().rsplit("\n", 1)[-1]
        self.told.emit(f"The checks could not be finished for this sketch ({last}).")

    @property
    def study_is_current(self) -> bool:
        """Whether `study` belongs to the sketch shown."""
        return self.study is not None and self.study.sketch is self.sketch

    def finished_study(self) -> Study | None:
        """The study of the recorded sketch with gaps refined, if it is there already."""
        done = self.study is not None and self.study.sketch is self.committed
        return self.study if done and self.refined else None

    # -- file ----------------------------------------------------------------------

    def new(self) -> None:
        """Start an empty sketch."""
        self.adopt_file(Sketch(units=self.sketch.units), None)

    def open(self, path: Path) -> None:
        """Open a sketch file; raises FileError or SketchError and changes nothing then."""
        self.adopt_file(files.load(path), Path(path))

    def adopt_file(self, sketch: Sketch, path: Path | None, *, unsaved: bool = False) -> None:
        """Make `sketch` the one in hand, forgetting history (nothing can be undone
        across files). With `unsaved` it counts as changed (a recovered or salvaged
        sketch).
        """
        self.player.set_playing(False)
        self.path = path
        self.selection = frozenset()
        self.study = None
        self.crank_rad = math.radians(sketch.drive.drawn_deg) if sketch.drive else 0.0
        self.undo_stack.clear()
        self.turn = engine.still_turn(Sketch())
        self.undo_stack.setClean()
        if unsaved:
            self.undo_stack.resetClean()
        self._adopt(sketch, frozenset())
        self.file_changed.emit()

    def save(self, path: Path | None = None) -> None:
        """Write the recorded sketch to `path` (default: where it came from).

        Raises FileError; the sketch in hand and the old file stay as they were.
        """
        target = Path(path) if path is not None else self.path
        if target is None:
            raise ValueError("a sketch that has no file yet needs a path")
        files.save(self.committed, target)
        self.path = target
        self.undo_stack.setClean()
        self.file_changed.emit()

    @property
    def unsaved(self) -> bool:
        """Whether something would be lost by closing."""
        return not self.undo_stack.isClean()

    @Slot(bool)
    def _clean_changed(self, clean: bool) -> None:
        self.file_changed.emit()

    # -- crank ---------------------------------------------------------------------

    def set_crank(self, crank_rad: float) -> None:
        """Turn the crank, rad; kept within the cycle and within reach."""
        angle = self._within(crank_rad)
        self._pose = None
        self.crank_rad = angle
        self.crank_changed.emit(angle)

    def _within(self, angle: float) -> float:
        turn, drive = self.turn, self.sketch.drive
        if drive is None:
            return angle
        if drive.kind == "rock":
            low, high = math.radians(drive.from_deg), math.radians(drive.to_deg)
            angle = min(max(angle, min(low, high)), max(low, high))
        bounds = engine.reach(turn)
        cycle = 2 * math.pi * turn.crank_turns
        if bounds is not None:
            low, high = bounds
            middle = (low + high) / 2
            if drive.kind == "turn":
                angle = middle + math.remainder(angle - middle, cycle)
            angle = min(max(angle, low + _INSIDE_RAD), max(low, high - _INSIDE_RAD))
        if drive.kind == "turn":
            angle %= cycle
        return angle

    def pose(self) -> Turn:
        """The turn at the crank angle shown only (one step), cached."""
        if self._pose is None:
            self._pose = engine.pose(self.turn, self.crank_rad)
        return self._pose

    def posed(self) -> Sketch:
        """The recorded sketch with the pose on the screen as its drawn pose."""
        return engine.drawn_here(self.turn, self.committed, self.crank_rad)

    @Slot(float)
    def _play_step(self, seconds: float) -> None:
        drive = self.sketch.drive
        if drive is None:
            self.player.set_playing(False)
            return
        wanted = self.player.advance(drive, self.crank_rad, seconds)
        self.set_crank(wanted)
        bounds = engine.reach(self.turn)
        if bounds is not None and drive.kind == "turn":
            cycle = 2 * math.pi * self.turn.crank_turns
            if abs(math.remainder(self.crank_rad - wanted, cycle)) > 2 * _INSIDE_RAD:
                self.player.set_way(-self.player.way)  # locked: swing back

    # -- selection -----------------------------------------------------------------

    def select(self, items: Iterable[Item]) -> None:
        """Select exactly these (those that exist)."""
        chosen = frozenset(item for item in items if self.has(item))
        if chosen != self.selection:
            self.selection = chosen
            self.selection_changed.emit()

    def has(self, item: Item) -> bool:
        """Whether the sketch shown has that thing."""
        kind, name = item
        if kind == "point":
            part_id, point_id = split_ref(name)
            return any(point.id == point_id for part in self.sketch.parts
                       if part.id == part_id for point in part.points)
        group = GROUP_OF_KIND.get(kind)
        return group is not None and any(x.id == name for x in getattr(self.sketch, group))

    def selected(self, kind: str) -> tuple[str, ...]:
        """Ids of the selected things of one kind, sorted."""
        return tuple(sorted(name for k, name in self.selection if k == kind))

    # -- end -----------------------------------------------------------------------

    def close(self) -> None:
        """Stop clock and workers, forget the history; to be called before the window goes.

        The history must not be left to Python's collector: it takes the commands apart
        before the stack that owns them, which then deletes them once more.
        """
        self.player.set_playing(False)
        self._rest.stop()
        self.worker.close()
        self.finisher.close()
        self.undo_stack.blockSignals(True)  # nothing was saved by this
        self.undo_stack.clear()
