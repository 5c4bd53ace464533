"""The File menu: new, open, save, with nothing ever lost."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from functools import partial
from pathlib import Path

import msgspec
from PySide6.QtCore import QObject, Slot
from PySide6.QtGui import QAction
from PySide6.QtWidgets import QMenu, QWidget

from app import demos
from app.dialogs.ask import Question, tell
from app.dialogs.files import ask_open, ask_save, plain_name
from app.safekeeping import Safekeeping
from app.session import Session
from app.settings import RecentFiles
from core import files
from core.errors import CrankwrightError, FileError, SketchError
from core.files import Recovered
from core.model import Sketch, Underlay
from core.model.snap import snap

FILTER = "Sketches (*.json);;All files (*)"
PICTURES = "Pictures (*.png *.jpg *.jpeg *.bmp *.webp);;All files (*)"
MOST_LISTED = 12


class Filing(QObject):
    """Opens and saves the session's sketch; asks before anything unsaved would go."""

    def __init__(self, session: Session, recent: RecentFiles, keeper: Safekeeping,
                 window: QWidget) -> None:
        super().__init__(window)
        self._session, self._recent, self._keeper = session, recent, keeper
        self._window = window
        self.question: Question | None = None
        self._after_save: Callable[[], None] | None = None

    # -- guard ---------------------------------------------------------------------

    def guard(self, then: Callable[[], None]) -> None:
        """Do `then`, after asking when there is unsaved work."""
        if not self._session.unsaved:
            then()
            return
        name = self._session.path.name if self._session.path else "The sketch"
        self._ask(f"{name} has changes that are not saved.",
                  "Save them before going on?",
                  [("Save", partial(self._save_then, then)), ("Do not save", then),
                   ("Stay here", None)])

    def _save_then(self, then: Callable[[], None]) -> None:
        self._after_save = then
        self.save()

    def _ask(self, text: str, more: str,
             answers: list[tuple[str, Callable[[], None] | None]]) -> None:
        self.question = Question(self._window, text, more, answers)
        self.question.open()

    # -- open ----------------------------------------------------------------------

    def new(self) -> None:
        """Empty paper."""
        self.guard(self._session.new)

    def open(self) -> None:
        """Ask for a file and open it."""
        self.guard(self._choose_file)

    def _choose_file(self) -> None:
        ask_open(self._window, "Open a sketch", self._folder(), FILTER, self.load)

    def _folder(self) -> Path:
        if self._session.path is not None:
            return self._session.path.parent
        recent = self._recent.paths()
        return recent[0].parent if recent else Path.home()

    def open_path(self, path: Path) -> None:
        """Open a file (dropped on the window, chosen from the recent ones)."""
        self.guard(partial(self.load, str(path)))

    @Slot(str)
    def load(self, name: str) -> None:
        """Open a file, whatever the sketch in hand; damaged ones as far as they are sound."""
        path = Path(name)
        try:
            self._session.open(path)
        except FileError as trouble:
            self._offer_salvage(path, trouble)
            return
        except SketchError as trouble:
            self._offer_mending(path, trouble)
            return
        self._recent.add(path)

    def _offer_mending(self, path: Path, trouble: CrankwrightError) -> None:
        try:
            sketch = files.load(path, strict=False)
        except CrankwrightError:
            self._offer_salvage(path, trouble)
            return
        self._ask("The sketch does not fit together as it is drawn.", str(trouble),
                  [("Draw the points together", partial(self._take, snap(sketch), path, True)),
                   ("Open it as it is", partial(self._take, sketch, path, False)),
                   ("Leave it", None)])

    def _offer_salvage(self, path: Path, trouble: CrankwrightError) -> None:
        try:
            sketch, lost = files.salvage(files.read_bytes(path), path.name)
        except (CrankwrightError, OSError):
            tell(self._window, "This file cannot be opened.", str(trouble))
            return
        listed = "\n".join(f"• {line}" for line in lost[:MOST_LISTED])
        if len(lost) > MOST_LISTED:
            listed += f"\n… and {len(lost) - MOST_LISTED} more"
        self._ask("This file is damaged. What is sound can be opened; the file itself "
                  "stays as it is.", f"{trouble}\n\nLeft out or set anew:\n{listed}",
                  [("Open what is sound", partial(self._take, sketch, None, True)),
                   ("Leave it", None)])

    def _take(self, sketch: Sketch, path: Path | None, changed: bool) -> None:
        self._session.adopt_file(sketch, path, unsaved=changed)
        if path is not None:
            self._recent.add(path)

    # -- demos, recent files, recovery ---------------------------------------------

    def fill_demos(self, menu: QMenu) -> None:
        """Put the demos into a menu."""
        for name in demos.names():
            action = menu.addAction(name.replace("-", " ").capitalize())
            action.setData(name)
        menu.triggered.connect(self._demo_chosen)

    @Slot(QAction)
    def _demo_chosen(self, action: QAction) -> None:
        self.guard(partial(self.load_demo, action.data()))

    def load_demo(self, name: str) -> None:
        """Open a demo as a sketch without a file of its own."""
        try:
            self._session.adopt_file(files.loads(demos.data(name), where=name), None)
        except CrankwrightError as trouble:
            self._session.told.emit(str(trouble))

    def fill_recent(self, menu: QMenu) -> None:
        """Put the recent files into a menu."""
        menu.clear()
        for place, path in enumerate(self._recent.paths(), start=1):
            action = menu.addAction(f"&{place}  {path.name}" if place < 10 else path.name)
            action.setData(str(path))
            action.setStatusTip(str(path))
        menu.setEnabled(bool(self._recent.paths()))

    @Slot(QAction)
    def recent_chosen(self, action: QAction) -> None:
        """Open the file of a recent-files action."""
        self.open_path(Path(action.data()))

    def offer_recovered(self) -> bool:
        """Ask about what a crash left; False when there is nothing."""
        found = self._keeper.found()
        if not found:
            return False
        one = found[0]
        when = datetime.datetime.fromtimestamp(one.saved_at).strftime("%Y-%m-%d %H:%M")
        name = one.sketch.title or (one.source.name if one.source else "A sketch without name")
        lost = "\n".join(f"• {line}" for line in one.lost[:MOST_LISTED])
        self._ask(f"{name} was not saved when Crankwright last ended.",
                  f"It was noted on {when}." + (f"\nLeft out:\n{lost}" if lost else ""),
                  [("Take it up again", partial(self._take_up, one)),
                   ("Throw it away", partial(self._throw_away, one)), ("Ask me later", None)])
        return True

    def _take_up(self, one: Recovered) -> None:
        self._session.adopt_file(one.sketch, one.source, unsaved=True)
        self._keeper.discard(one)

    def _throw_away(self, one: Recovered) -> None:
        self._keeper.discard(one)
        self.offer_recovered()

    # -- save ----------------------------------------------------------------------

    def save(self) -> None:
        """Write to the sketch's file, or ask for one."""
        if self._session.path is None:
            self.save_as()
        else:
            self.save_to(str(self._session.path))

    def save_as(self) -> None:
        """Ask for a file and write to it."""
        name = f"{plain_name(self._session.sketch.title)}.json"
        start = self._session.path or self._folder() / name
        dialog = ask_save(self._window, "Save the sketch", start, FILTER, "json", self.save_to)
        dialog.rejected.connect(self._not_saved)

    @Slot()
    def _not_saved(self) -> None:
        self._after_save = None

    @Slot(str)
    def save_to(self, name: str) -> None:
        """Write to a file; when that fails, say so and lose nothing."""
        then, self._after_save = self._after_save, None
        try:
            self._session.save(Path(name))
        except CrankwrightError as trouble:
            tell(self._window, "The sketch could not be saved.", str(trouble))
            return
        self._recent.add(Path(name))
        self._session.told.emit(f"Saved to {Path(name).name}.")
        if then is not None:
            then()

    # -- underlay ------------------------------------------------------------------

    def choose_underlay(self) -> None:
        """Ask for a picture to lay under the sketch."""
        ask_open(self._window, "A picture under the sketch", self._folder(), PICTURES,
                 self.lay_under)

    @Slot(str)
    def lay_under(self, name: str) -> None:
        """Lay a picture under the sketch."""
        under = Underlay(path=files.underlay_name(name, self._session.path))
        sketch = msgspec.structs.replace(self._session.committed, underlay=under)
        self._session.commit("Lay a picture underneath", sketch)
