"""Pages of text: keys and mouse, cautions, licences."""

from __future__ import annotations

from html import escape
from importlib import metadata
from typing import TYPE_CHECKING

from PySide6.QtCore import QSize, Qt
from PySide6.QtWidgets import QDialog, QDialogButtonBox, QTextBrowser, QVBoxLayout, QWidget

from app.actions import COMMANDS, MENUS
from app.gestures import TOOLS

if TYPE_CHECKING:
    from core.model import Sketch
    from core.study import Study

MOUSE = (
    ("Drag a pin, point or part (Arrange)", "re-dimension: the links change length"),
    ("Drag a wanted path, pose or region (Arrange)", "move it; once selected, its handles "
     "reshape it: a double-click on the path adds one, Delete takes the held one out"),
    ("Drag a handle with Wish in hand", "reshape what is selected; with Alt the pen begins "
     "there"),
    ("Drag the crank, or a part with Hand", "turn the mechanism"),
    ("Drag anywhere on the turn strip", "turn the crank"),
    ("Drag a knot on the turn strip", "change the angle wanted; double-click adds a knot, "
     "Delete takes the chosen one out"),
    ("Wheel, or two fingers", "zoom at the cursor, or move the paper"),
    ("Middle button, or Space and drag", "move the paper"),
    ("Shift while dragging", "only in steps of 15°"),
    ("Alt while dragging", "do not snap"),
    ("Alt and click", "take what lies beneath"),
    ("Esc", "give up what is under way"),
    ("Arrow keys; with Shift", "move the selection a step; ten steps"),
    ("Tab", "go through what there is"),
)


class PageDialog(QDialog):
    """A page of text to read."""

    def __init__(self, parent: QWidget, title: str, html: str) -> None:
        super().__init__(parent)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setWindowTitle(title)
        page = QTextBrowser(self)
        page.setOpenExternalLinks(True)
        page.setHtml(html)
        buttons = QDialogButtonBox(self)
        buttons.addButton("Close", QDialogButtonBox.ButtonRole.RejectRole)
        buttons.rejected.connect(self.reject)
        column = QVBoxLayout(self)
        column.addWidget(page)
        column.addWidget(buttons)

    def sizeHint(self) -> QSize:
        return QSize(640, 560)


def _table(rows: list[tuple[str, str]]) -> str:
    return _grid([[f"<b>{escape(a)}</b>", escape(b)] for a, b in rows])


def _grid(rows: list[list[str]]) -> str:
    """Cells, html already, in columns."""
    lines = ("".join(f"<td style='padding:2px 18px 2px 0'>{cell}</td>" for cell in row)
             for row in rows)
    return f"<table>{''.join(f'<tr>{line}</tr>' for line in lines)}</table>"


def keys_page() -> str:
    """Mouse, tools and every command with its keys."""
    pages = ["<h3>Mouse</h3>", _table(list(MOUSE)), "<h3>Tools</h3>",
             _table([(tool.key, f"{tool.name}: {tool.tip}") for tool in TOOLS])]
    for menu in MENUS:
        rows = [(c.keys, f"{c.text.rstrip('…')}: {c.tip}") for c in COMMANDS if c.menu == menu]
        pages += [f"<h3>{menu}</h3>", _table(rows)]
    return "".join(pages)


def cautions_page(sketch: Sketch, study: Study | None) -> str:
    """Cautions for what is being drawn, as they are printed with it; what could catch a
    finger is known from the study, if there is one yet."""
    from core.drawing.cautions import cautions_of, finger_table  # not when the window opens

    page = ["<h3>Cautions</h3>", *(f"<p>{escape(line)}</p>" for line in cautions_of(sketch))]
    fingers = None if study is None else finger_table(study)
    if fingers is not None:
        heads = [f"<b>{escape(head)}</b>" for head in fingers.heads]
        rows = [[escape(cell) for cell in row] for row in fingers.rows]
        page += ["<h3>Fingers</h3>", _grid([heads, *rows]), f"<p>{escape(fingers.note)}</p>"]
    return "".join(page)


def about_page() -> str:
    """Version and licences of what is inside."""
    rows = []
    for name in ("PySide6-Essentials", "numpy", "scipy", "shapely", "pyqtgraph", "msgspec",
                 "ezdxf", "svgelements"):
        try:
            about = metadata.metadata(name)
        except metadata.PackageNotFoundError:
            continue
        named = [each.rpartition(" :: ")[2] for each in about.get_all("Classifier") or ()
                 if each.startswith("License :: ")]
        licence = about.get("License-Expression") or ", ".join(named) or "see the package"
        rows.append((f"{name} {about['Version']}", licence))
    try:
        version = metadata.version("crankwright")
    except metadata.PackageNotFoundError:
        version = ""
    return ("<h3>Crankwright " + escape(version) + "</h3>"
            "<p>A sketchpad for hand-cranked moving sculptures from sheet and rod.<br>"
            "MIT licence.</p><h3>Stands on</h3>"
            + _table([*rows, ("IBM Plex Sans", "SIL Open Font License 1.1")]))

