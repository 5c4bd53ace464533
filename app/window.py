"""The main window: canvas in the middle; bench, strip, particulars, findings around it."""

from __future__ import annotations

import sys
from pathlib import Path
from types import TracebackType

from PySide6.QtCore import QSettings, Qt, QTimer, Slot
from PySide6.QtGui import QAction, QCloseEvent, QDragEnterEvent, QDropEvent, QGuiApplication
from PySide6.QtWidgets import QApplication, QLabel, QMainWindow, QMenu, QSplitter, QWidget

from app import actions, theme
from app.canvas import Canvas
from app.commands.building import Building
from app.commands.cranking import Cranking
from app.commands.drafting import ENDINGS as PATH_ENDINGS
from app.commands.drafting import Drafting
from app.commands.easing import EASED, Easing
from app.commands.editing import Editing
from app.commands.filing import Filing
from app.commands.helping import Helping
from app.commands.making import Making
from app.commands.seeking import Seeking
from app.commands.viewing import Viewing
from app.commands.wanting import OFFERS, Wanting, wished
from app.garbage import set_aside
from app.look import Look
from app.memory import keep_freed_memory
from app.panels.bench import Bench
from app.panels.findings import FindingsPanel
from app.panels.hint import HintCard
from app.panels.particulars import Particulars
from app.panels.summary import Summary
from app.panels.wishes import WishList
from app.safekeeping import Safekeeping
from app.session import Session
from app.settings import RecentFiles, state_folder, user_settings
from app.shelf import SHELF
from app.strip import TurnStrip

FIRST_DEMO = "rowing-otter"
MESSAGE_MS = 8000
SETTLED_MS = 2000


class MainWindow(QMainWindow):
    """One window, one session.

    `settings` remembers sizes, switches and recent files; `unsaved` is the folder of
    the crash journal.
    """

    def __init__(self, settings: QSettings | None = None, unsaved: Path | None = None) -> None:
        super().__init__()
        self.settings = settings if settings is not None else user_settings()
        self.session = Session(Look(self.settings, self), self)
        self.recent = RecentFiles(self.settings)
        self.keeper = Safekeeping(self.session, unsaved or state_folder())
        SHELF.open(unsaved)
        self._leaving = False
        self._build()
        self.filing = Filing(self.session, self.recent, self.keeper, self)
        self.editing = Editing(self.session, self)
        self.viewing = Viewing(self)
        self.cranking = Cranking(self.session, self)
        self.making = Making(self)
        self.wanting = Wanting(self.session, self)
        self.drafting = Drafting(self)
        self.helping = Helping(self)
        self.seeking = Seeking(self)
        self.building = Building(self)
        self.easing = Easing(self)
        self.actions_by_id, self.menus = actions.build(self)
        self.particulars.offer(self._offers(), {"lock": self.actions_by_id["choose_hold"]})
        self.wishes.offer(self.actions_by_id["fit_sketch"], self.actions_by_id["find"])
        self.findings.offer(dict.fromkeys(EASED, self.actions_by_id["pleasant"]))
        self._fill_menus()
        self._connect()
        self._restore()
        self._themed()
        self._refresh_actions()
        self._refresh_title()

    def _build(self) -> None:
        self.canvas = Canvas(self.session, self)
        self.strip = TurnStrip(self.session, self.settings, self)
        self.bench = Bench(self.session, self)
        self.bench.setMinimumWidth(196)
        self.particulars = Particulars(self.session, self)
        self.findings = FindingsPanel(self.session, self)
        self.wishes = WishList(self.session, self)
        self.hint = HintCard(self.session, self.settings, self.canvas)
        self.middle = _splitter(Qt.Orientation.Vertical, (self.canvas, 1), (self.strip, 0))
        self.right = _splitter(Qt.Orientation.Vertical, (self.particulars, 3),
                               (self.wishes, 0), (self.findings, 2))
        self.right.setMinimumWidth(272)
        self.whole = _splitter(Qt.Orientation.Horizontal, (self.bench, 0), (self.middle, 1),
                               (self.right, 0))
        self.setCentralWidget(self.whole)
        self.setAcceptDrops(True)
        self.summary = Summary(self.session, self)
        self.hint_line = QLabel(self)
        self.hint_line.setContentsMargins(8, 0, 0, 0)
        self.hint_line.setMinimumWidth(1)  # with little room it gives way to the summary
        self.statusBar().setSizeGripEnabled(False)
        self.statusBar().addWidget(self.hint_line, 1)
        self.statusBar().addPermanentWidget(self.summary)

    def _fill_menus(self) -> None:
        file = self.menus["File"]
        before = self.actions_by_id["save"]
        self.demo_menu = QMenu("Open a demo", self)
        self.recent_menu = QMenu("Recent", self)
        file.insertMenu(before, self.demo_menu)
        file.insertMenu(before, self.recent_menu)
        self.filing.fill_demos(self.demo_menu)
        self.recent_menu.triggered.connect(self.filing.recent_chosen)
        file.aboutToShow.connect(self._fill_recent)

    @Slot()
    def _fill_recent(self) -> None:
        self.filing.fill_recent(self.recent_menu)

    def _connect(self) -> None:
        session = self.session
        session.selection_changed.connect(self._refresh_actions)
        session.sketch_changed.connect(self._refresh_actions)
        session.file_changed.connect(self._refresh_title)
        session.sketch_changed.connect(self._refresh_title)
        session.undo_stack.indexChanged.connect(self._refresh_actions)
        session.look.changed.connect(self._themed)
        session.hint_changed.connect(self.hint_line.setText)
        session.told.connect(self._tell)
        self.bench.tool_chosen.connect(self._tool_chosen)
        self.canvas.tool_changed.connect(self.bench.show_tool)
        self.canvas.menu_wanted.connect(self._context_menu)

    def _restore(self) -> None:
        # Not self.screen(): the window would own the screen, and take it along when it goes.
        room = QGuiApplication.primaryScreen().availableSize()
        self.resize(min(max(1280, room.width() * 9 // 10), 1720, room.width()),
                    min(max(800, room.height() * 9 // 10), 1100, room.height()))
        self.whole.setSizes([222, 752, 306])
        self.middle.setSizes([540, 250])
        self.right.setSizes([440, 110, 290])
        for name, widget in (("whole", self.whole), ("middle", self.middle),
                             ("right", self.right)):
            state = self.settings.value(f"window/{name}")
            if state is not None:
                widget.restoreState(state)
        geometry = self.settings.value("window/geometry")
        if geometry is not None:
            self.restoreGeometry(geometry)
        for name in ("bench", "particulars", "strip"):
            shown = self.settings.value(f"window/show {name}", True, type=bool) is True
            action = self.actions_by_id[name]
            action.setChecked(True)
            action.setChecked(shown)
        for name in ("grid", "snap", "paths", "wishes", "labels"):
            self.actions_by_id[name].setChecked(self.session.look.shows(name))

    # -- keeping up ----------------------------------------------------------------

    @Slot()
    def _themed(self) -> None:
        look = self.session.look
        application = QApplication.instance()
        wanted = theme.stylesheet(look.theme)
        if isinstance(application, QApplication) and application.styleSheet() != wanted:
            application.setPalette(theme.palette(look.theme))
            application.setStyleSheet(wanted)
        self.actions_by_id[look.mode].setChecked(True)

    @Slot()
    def _refresh_actions(self) -> None:
        session, stack = self.session, self.session.undo_stack
        if session.sketch is not session.committed:
            return  # a preview: what can be done does not change until it is recorded
        parts = session.selected("part")
        twins = {name for twin in session.sketch.twins for pair in twin.parts for name in pair}
        points = session.selected("point")
        of_point, of_part = points or wished(session, "point"), parts or wished(session, "part")
        has = {
            "parts": bool(parts), "things": bool(session.selection),
            "drive": session.sketch.drive is not None, "twin": bool(twins & set(parts)),
            "undo": stack.canUndo(), "redo": stack.canRedo(),
            "point": bool(points), "asked": bool(parts or points),
            "wished": bool(of_part or of_point), "turned": bool(of_part or points),
            "traced": bool(of_point),
            "wish": bool(session.selected("wish")),
            "copied": any(kind in ("part", "wish", "zone") for kind, _ in session.selection),
        }
        for command in actions.COMMANDS:
            if command.needs:
                self.actions_by_id[command.id].setEnabled(has[command.needs])
        for name, text in (("undo", stack.undoText()), ("redo", stack.redoText())):
            head = name.capitalize()
            self.actions_by_id[name].setText(f"{head}: {text}" if text else head)
        inches = session.sketch.units == "in"
        self.actions_by_id["inch" if inches else "mm"].setChecked(True)

    @Slot()
    def _refresh_title(self) -> None:
        session = self.session
        if session.sketch is not session.committed:
            return
        name = session.path.name if session.path else (session.sketch.title or "New sketch")
        self.setWindowTitle(f"{name}[*] – Crankwright")
        self.setWindowModified(session.unsaved)

    @Slot(str)
    def _tell(self, text: str) -> None:
        self.statusBar().showMessage(text, MESSAGE_MS)

    @Slot(str)
    def _tool_chosen(self, tool_id: str) -> None:
        self.canvas.set_tool(tool_id)
        self.canvas.setFocus()

    @Slot(object, object)
    def _context_menu(self, place: object, item: object) -> None:
        if item is not None and item not in self.session.selection:
            self.session.select([item])
        menu = QMenu(self)
        menu.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        names = (("cut", "copy", "duplicate", "delete", "", "mirror", "untwin", "flip", "",
                  "raise", "lower", "", "want_tick") if item is not None else
                 ("paste", "select_all", "", "fit", "redraw"))
        for name in names:
            if not name:
                menu.addSeparator()
            elif self.actions_by_id[name].isEnabled():
                menu.addAction(self.actions_by_id[name])
        asked = self._offers().get(item[0] if item is not None else "", ())
        offers = [action for action in asked if action.isEnabled()]
        if offers:
            menu.addSeparator()
            menu.addMenu("Motion wanted").addActions(offers)
        menu.popup(place)

    def _offers(self) -> dict[str, list[QAction]]:
        """What can be asked of a thing, by its kind."""
        return {kind: [self.actions_by_id[name] for name in names]
                for kind, names in OFFERS.items()}

    # -- beginning and end ---------------------------------------------------------

    def begin(self, path: Path | None = None) -> None:
        """What to show first: a file, what a crash left, else the demo and the hint."""
        if path is not None:
            self.filing.load(str(path))
        else:
            self.filing.load_demo(FIRST_DEMO)
            self.hint.show_if_new()
        self.canvas.setFocus()
        self.filing.offer_recovered()

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        if any(url.isLocalFile() for url in event.mimeData().urls()):
            event.acceptProposedAction()

    def dropEvent(self, event: QDropEvent) -> None:
        path = next((Path(url.toLocalFile()) for url in event.mimeData().urls()
                     if url.isLocalFile()), None)
        if path is None:
            return
        event.acceptProposedAction()
        if path.suffix.casefold() in (".png", ".jpg", ".jpeg", ".bmp", ".webp"):
            self.filing.lay_under(str(path))
        elif path.suffix.casefold() in PATH_ENDINGS:
            self.drafting.take_file(str(path))
        else:
            self.filing.open_path(path)

    def closeEvent(self, event: QCloseEvent) -> None:
        if self.session.unsaved and not self._leaving:
            event.ignore()
            self.filing.guard(self._leave)
            return
        for name, widget in (("whole", self.whole), ("middle", self.middle),
                             ("right", self.right)):
            self.settings.setValue(f"window/{name}", widget.saveState())
        self.settings.setValue("window/geometry", self.saveGeometry())
        for name in ("bench", "particulars", "strip"):
            self.settings.setValue(f"window/show {name}", self.actions_by_id[name].isChecked())
        self.hide()  # a job may still be running: nobody has to watch it end
        self.seeking.close()
        self.easing.close()
        self.building.close()
        self.keeper.close()
        self.session.close()
        event.accept()

    def _leave(self) -> None:
        self._leaving = True
        # The question's box is still closing; leave when it has.
        QTimer.singleShot(0, self.close)

    def action(self, name: str) -> QAction:
        """The action of a command."""
        return self.actions_by_id[name]


def _splitter(way: Qt.Orientation, *widgets: tuple[QWidget, int]) -> QSplitter:
    splitter = QSplitter(way)
    splitter.setHandleWidth(5)
    splitter.setChildrenCollapsible(False)
    for place, (widget, stretch) in enumerate(widgets):
        splitter.addWidget(widget)
        splitter.setStretchFactor(place, stretch)
    return splitter


class Mishap:
    """What happens to an exception nobody caught: it is printed, told in one sentence,
    and the work goes on (it is in the crash journal). Ctrl+C closes the window."""

    def __init__(self, window: MainWindow) -> None:
        self._window = window

    def report(self, kind: type[BaseException], fault: BaseException,
               trace: TracebackType | None) -> None:
        """Stands in for ``sys.excepthook``."""
        if issubclass(kind, KeyboardInterrupt):
            self._window.close()
            return
        sys.__excepthook__(kind, fault, trace)
        self._window.session.told.emit(
            f"Something went wrong inside ({kind.__name__}: {fault}); your sketch is safe, "
            "save it and go on.")


def application() -> QApplication:
    """The Qt application, with our name and font."""
    made = QApplication.instance()
    if not isinstance(made, QApplication):
        made = QApplication(sys.argv[:1])
    made.setApplicationName("Crankwright")
    made.setOrganizationName("Crankwright")
    made.setStyle("Fusion")
    made.setFont(theme.font())
    return made


def run(path: Path | None = None) -> int:
    """Open the window (on a file, if given) and run until it is closed."""
    keep_freed_memory()
    app = application()
    window = MainWindow()
    sys.excepthook = Mishap(window).report
    window.show()
    window.begin(path)
    QTimer.singleShot(SETTLED_MS, set_aside)
    return app.exec()
