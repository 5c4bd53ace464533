"""Every command of the window in one table: menu, text, keys, handler, tip."""

from __future__ import annotations

from dataclasses import dataclass
from operator import attrgetter

from PySide6.QtGui import QAction, QActionGroup, QKeySequence
from PySide6.QtWidgets import QMainWindow, QMenu


@dataclass(frozen=True)
class Command:
    """One command.

    `handler` is the attribute path of a method, from the window. `needs` says what
    must be there for it to be offered: "parts", "copied" (parts or wishes) or "things"
    (selected), "asked" (a part or point), "point", "wish", "drive", "undo", "redo", "twin";
    "turned" (a part), "traced" (a point) and "wished" (either) may also be what the
    selected wish is of. Commands of one `group` exclude each other; `check` ones are
    switches and their handler gets a bool.
    """

    id: str
    menu: str
    text: str
    keys: str
    handler: str
    tip: str
    needs: str = ""
    check: bool = False
    group: str = ""
    gap: bool = False


COMMANDS: tuple[Command, ...] = (
    Command("new", "File", "New sketch", "Ctrl+N", "filing.new", "Start with empty paper"),
    Command("open", "File", "Open…", "Ctrl+O", "filing.open", "Open a sketch file"),
    Command("save", "File", "Save", "Ctrl+S", "filing.save", "Write the sketch to its file",
            gap=True),
    Command("save_as", "File", "Save as…", "Ctrl+Shift+S", "filing.save_as",
            "Write the sketch to another file"),
    Command("underlay", "File", "Picture under the sketch…", "Ctrl+Shift+U",
            "filing.choose_underlay", "Lay a photo or drawing under the sketch to trace over",
            gap=True),
    Command("print", "File", "Print sheets…", "Ctrl+P", "making.print_sheets",
            "Look at the dimensioned sheets and print them", gap=True),
    Command("sheets", "File", "Sheets to PDF…", "Ctrl+Shift+P", "making.export_sheets",
            "Layout with dimensions, and templates at full size"),
    Command("table", "File", "Turn table to CSV…", "Ctrl+Shift+T", "making.export_table",
            "Places, angles and torque at every step of the turn"),
    Command("picture", "File", "Picture of the canvas…", "Ctrl+Shift+I",
            "making.export_picture", "Save what the canvas shows as a PNG"),
    Command("quit", "File", "Quit", "Ctrl+Q", "close", "Close the window", gap=True),

    Command("undo", "Edit", "Undo", "Ctrl+Z", "session.undo", "Take back the last edit",
            needs="undo"),
    Command("redo", "Edit", "Redo", "Ctrl+Shift+Z", "session.redo",
            "Make the edit again that was taken back", needs="redo"),
    Command("cut", "Edit", "Cut", "Ctrl+X", "editing.cut",
            "Take the parts and wishes to the clipboard", needs="copied", gap=True),
    Command("copy", "Edit", "Copy", "Ctrl+C", "editing.copy",
            "Put the parts, as they stand now, and the wishes on the clipboard",
            needs="copied"),
    Command("paste", "Edit", "Paste", "Ctrl+V", "editing.paste",
            "Add what is on the clipboard"),
    Command("duplicate", "Edit", "Duplicate", "Ctrl+D", "editing.duplicate",
            "Add a copy of the parts and wishes beside them", needs="copied"),
    Command("delete", "Edit", "Delete", "Del", "editing.delete",
            "Remove what is selected and what cannot stand without it", needs="things"),
    Command("select_all", "Edit", "Select all", "Ctrl+A", "editing.select_all",
            "Select every part", gap=True),
    Command("mirror", "Edit", "Mirror…", "Ctrl+M", "editing.mirror",
            "A mirrored copy of the parts; as a twin it follows every edit",
            needs="parts", gap=True),
    Command("untwin", "Edit", "Cut twin loose", "Ctrl+Shift+M", "editing.untwin",
            "The mirrored copy stops following its original", needs="twin"),
    Command("flip", "Edit", "Fold the other way", "Ctrl+F", "editing.flip",
            "Put the selected links together the other way round", needs="parts"),
    Command("redraw", "Edit", "Draw from here", "Ctrl+R", "editing.rebase",
            "The pose on the screen becomes the drawn pose", needs="drive"),
    Command("raise", "Edit", "One layer up", "Ctrl+Up", "editing.layer_up",
            "Towards you in the stack", needs="parts", gap=True),
    Command("lower", "Edit", "One layer down", "Ctrl+Down", "editing.layer_down",
            "Away from you in the stack", needs="parts"),

    Command("fit", "View", "Show everything", "F", "viewing.fit",
            "Zoom so that the whole sketch is seen"),
    Command("closer", "View", "Closer", "Ctrl++", "viewing.closer", "Zoom in"),
    Command("further", "View", "Further away", "Ctrl+-", "viewing.further", "Zoom out"),
    Command("grid", "View", "Grid", "Ctrl+G", "viewing.grid", "Show the grid",
            check=True, gap=True),
    Command("snap", "View", "Snap", "Ctrl+Shift+G", "viewing.snap",
            "Catch grid, points and alignments while dragging (Alt lets go)", check=True),
    Command("paths", "View", "Paths", "Shift+T", "viewing.paths",
            "Show the paths of traced points", check=True),
    Command("wishes", "View", "Wishes", "Shift+D", "viewing.wishes",
            "Show what is wanted: paths, poses and regions", check=True),
    Command("labels", "View", "Names", "Shift+N", "viewing.labels",
            "Write the names of parts and pins", check=True),
    Command("unhide", "View", "Show hidden parts", "Ctrl+H", "viewing.unhide",
            "Show every part that was hidden on the bench"),
    Command("light", "View", "Light paper", "Ctrl+Alt+L", "viewing.light", "Dark on light",
            group="theme", gap=True),
    Command("dark", "View", "Dark slate", "Ctrl+Alt+D", "viewing.dark", "Light on dark",
            group="theme"),
    Command("auto", "View", "As the system", "Ctrl+Alt+A", "viewing.auto",
            "Light or dark as the desktop is", group="theme"),
    Command("mm", "View", "Millimetres", "Ctrl+Alt+M", "viewing.millimetres",
            "Show lengths in mm", group="units", gap=True),
    Command("inch", "View", "Inches", "Ctrl+Alt+I", "viewing.inches",
            "Show lengths in inches", group="units"),
    Command("bench", "View", "Bench", "F6", "viewing.bench", "Tools and parts on the left",
            check=True, gap=True),
    Command("particulars", "View", "Particulars and findings", "F7", "viewing.particulars",
            "What is selected, and what is wrong, on the right", check=True),
    Command("strip", "View", "Turn strip", "F8", "viewing.strip", "Lanes along the turn below",
            check=True),

    Command("play", "Crank", "Turn", "Shift+Space", "cranking.play", "Start and stop the crank",
            needs="drive"),
    Command("reverse", "Crank", "Other way round", "R", "cranking.reverse",
            "Turn the crank the other way", needs="drive"),
    Command("faster", "Crank", "Faster", "Ctrl+]", "cranking.faster", "Play at twice the speed",
            needs="drive", gap=True),
    Command("slower", "Crank", "Slower", "Ctrl+[", "cranking.slower", "Play at half the speed",
            needs="drive"),
    Command("ahead", "Crank", "1° on", "]", "cranking.ahead", "Turn the crank by 1°",
            needs="drive", gap=True),
    Command("back", "Crank", "1° back", "[", "cranking.back", "Turn the crank back by 1°",
            needs="drive"),
    Command("far_ahead", "Crank", "10° on", "}", "cranking.far_ahead",
            "Turn the crank by 10°", needs="drive"),
    Command("far_back", "Crank", "10° back", "{", "cranking.far_back",
            "Turn the crank back by 10°", needs="drive"),
    Command("home", "Crank", "To the drawn pose", "Home", "cranking.home",
            "Turn the crank to where the sketch is drawn", needs="drive"),

    Command("angle_now", "Motion", "Want its angle as it moves now", "Ctrl+Shift+A",
            "wanting.angle_as_now", "A wanted curve of the part's angle, begun from how it "
            "moves, with knots to drag in the turn strip", needs="turned"),
    Command("angle_swing", "Motion", "Want it to swing to and fro", "Ctrl+Shift+W",
            "wanting.angle_to_and_fro", "A wanted curve between the part's ends, as long there "
            "as back", needs="turned"),
    Command("angle_quick", "Motion", "Want it quick there, slow back", "Ctrl+Shift+Q",
            "wanting.angle_quick", "A wanted curve that takes a third of the turn one way and "
            "the rest for the other", needs="turned"),
    Command("angle_hold", "Motion", "Want it held here", "Ctrl+Shift+H",
            "wanting.angle_held", "Puts a rest about this crank angle into the part's wanted "
            "curve", needs="turned"),
    Command("path_now", "Motion", "Want its path as it moves now", "Ctrl+Shift+J",
            "wanting.path_as_now", "A wanted path of the point, begun from the path it has, "
            "with handles to drag", needs="traced", gap=True),
    Command("want_stroke", "Motion", "Want its stroke", "Ctrl+Shift+K",
            "wanting.stroke", "The two places the point is to go between", needs="traced"),
    Command("want_pose", "Motion", "Want its pose here", "Ctrl+Shift+O", "drafting.pose_here",
            "A ghost of the part where it stands, wanted at this crank angle; drag it then",
            needs="asked"),
    Command("want_tick", "Motion", "Tie the path to this crank angle", "Ctrl+Shift+Y",
            "drafting.tick_here", "A tick on the wanted path at the crank angle shown; drag it "
            "along the path then", needs="wish"),
    Command("import_path", "Motion", "Want a path from a file…", "Ctrl+Shift+F",
            "drafting.choose_file", "Want a path drawn elsewhere: SVG, DXF or CSV"),
    Command("want_swing", "Motion", "Want its swing", "Ctrl+Shift+R", "wanting.swing",
            "The two angles the part is to swing between", needs="turned", gap=True),
    Command("want_rest", "Motion", "Want a rest about here", "Ctrl+Shift+D", "wanting.rest",
            "The part or point is to rest while the crank turns on", needs="wished"),
    Command("want_ratio", "Motion", "Want a time ratio", "Ctrl+Shift+X",
            "wanting.time_ratio", "How many times as long the slower way takes",
            needs="wished"),
    Command("keep_equal", "Motion", "Keep these links equal", "Ctrl+Shift+E",
            "wanting.keep_equal", "The selected links keep one length in a fit",
            needs="asked", gap=True),
    Command("keep_within", "Motion", "Keep this length within bounds", "Ctrl+Shift+L",
            "wanting.keep_within", "The shortest and the longest a fit may make it",
            needs="asked"),
    Command("keep_there", "Motion", "Keep these points to the region", "Ctrl+Shift+V",
            "wanting.keep_there", "The selected region holds the selected points, over the "
            "whole turn", needs="point"),

    Command("fit_sketch", "Motion", "Fit the sketch", "F9", "seeking.fit",
            "Move what is not locked until the wishes are met as well as may be", gap=True),
    Command("find", "Motion", "Find mechanisms…", "Shift+F9", "seeking.find",
            "Mechanisms that do what is wanted, to choose from"),

    Command("materials", "Build", "Materials…", "Ctrl+Shift+B", "building.materials",
            "What parts can be made of, with the source of every figure, and your own"),
    Command("sheet_thickness", "Build", "Set the thickness of this sheet everywhere…",
            "Ctrl+Alt+T", "building.sheet_thickness", "The measured thickness, for all parts "
            "cut from the sheet of the selected one", needs="parts"),
    Command("what_holds", "Build", "What holds…", "Ctrl+Alt+H", "building.what_holds",
            "Every rod, bore, part and tooth against what it bears over the turn", gap=True),
    Command("choose_hold", "Build", "Choose a hold…", "Ctrl+Alt+K", "building.choose_hold",
            "Ways to hold the selected lock, or the crank, on its shaft: which hold, which "
            "fit, what to buy and what room to leave"),
    Command("pleasant", "Build", "Make the crank pleasant…", "Ctrl+Alt+P", "easing.pleasant",
            "Weights, springs and gear steps that make it easy and even to turn", gap=True),
    Command("pleasant_best", "Build", "Do the best for the crank", "Ctrl+Alt+Shift+P",
            "easing.best", "For the hurried: works out and takes the best proposal, as one "
            "undo step", needs="drive"),

    Command("hint", "Help", "Three steps", "F1", "helping.hint", "How to begin"),
    Command("keys", "Help", "Keys and mouse", "Shift+F1", "helping.keys",
            "Everything the keyboard and the mouse do"),
    Command("cautions", "Help", "Cautions", "Ctrl+F1", "helping.cautions",
            "Before wood, cutters and fingers meet"),
    Command("about", "Help", "About Crankwright", "Ctrl+Shift+F1", "helping.about",
            "Version and licences", gap=True),
)
MENUS = ("File", "Edit", "View", "Crank", "Motion", "Build", "Help")


def build(window: QMainWindow) -> tuple[dict[str, QAction], dict[str, QMenu]]:
    """Menus and actions of the table on a window, by id and by menu name."""
    menus = {name: window.menuBar().addMenu(f"&{name}") for name in MENUS}
    groups: dict[str, QActionGroup] = {}
    made: dict[str, QAction] = {}
    for command in COMMANDS:
        if command.gap:
            menus[command.menu].addSeparator()
        action = QAction(command.text, window)
        action.setObjectName(command.id)
        action.setShortcuts(_keys(command))
        action.setStatusTip(command.tip)
        action.setToolTip(f"{command.tip} ({command.keys})")
        handler = attrgetter(command.handler)(window)
        if command.group:
            group = groups.setdefault(command.group, QActionGroup(window))
            group.addAction(action)
        if command.check or command.group:
            action.setCheckable(True)
        if command.check:
            action.toggled.connect(handler)
        else:
            action.triggered.connect(handler)
        menus[command.menu].addAction(action)
        made[command.id] = action
    return made, menus


def _keys(command: Command) -> list[QKeySequence]:
    keys = [QKeySequence(command.keys)]
    if command.id == "redo":
        keys.append(QKeySequence("Ctrl+Y"))
    elif command.id == "closer":
        keys.append(QKeySequence("Ctrl+="))
    return keys
