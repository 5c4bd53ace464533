"""The parts in stack order: drag to another layer, rename, hide, hold."""

from __future__ import annotations

from PySide6.QtCore import QItemSelectionModel, QModelIndex, QSize, Qt, QTimer, Slot
from PySide6.QtGui import QColor, QDropEvent, QIcon, QKeyEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHeaderView,
    QTreeWidget,
    QTreeWidgetItem,
    QWidget,
)

from app import icons
from app.session import Session
from app.theme import Theme
from core.errors import CrankwrightError
from core.model import Sketch, edits

NAME, LAYER, EYE, HOLD = range(4)
ID = Qt.ItemDataRole.UserRole


def stacked(sketch: Sketch) -> list[tuple[str, int]]:
    """Part ids with their layers, the front layer first; in one layer in file order."""
    layers = [(part.id, sketch.layer_of(part.id)) for part in sketch.parts]
    return sorted(layers, key=_front_first)


def _front_first(pair: tuple[str, int]) -> int:
    return -pair[1]


def restacked(sketch: Sketch, part_id: str, layer: int, *, between: bool) -> Sketch:
    """The sketch with a part moved to a layer. With `between` it gets that layer for
    itself, and what lay there and in front of it moves one layer forward.
    """
    for part in sketch.parts:
        now = sketch.layer_of(part.id)
        if part.id == part_id:
            sketch = edits.change(sketch, "parts", part.id, layer=layer)
        elif between and now >= layer:
            sketch = edits.change(sketch, "parts", part.id, layer=now + 1)
        elif part.layer is None:
            sketch = edits.change(sketch, "parts", part.id, layer=now)
    return sketch


class StackList(QTreeWidget):
    """One line per part: wood chip and name, layer, shown or hidden, lengths held."""

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self._shape: object = None
        self._filling = False
        self.setAccessibleName("Parts, front to back")
        self.setColumnCount(4)
        self.setHeaderHidden(True)
        self.setRootIsDecorated(False)
        self.setIndentation(0)
        self.setUniformRowHeights(True)
        self.setIconSize(QSize(16, 16))
        self.setSelectionMode(QAbstractItemView.SelectionMode.ExtendedSelection)
        self.setDragDropMode(QAbstractItemView.DragDropMode.InternalMove)
        self.setEditTriggers(QAbstractItemView.EditTrigger.EditKeyPressed)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setTextElideMode(Qt.TextElideMode.ElideRight)
        head = self.header()
        head.setStretchLastSection(False)
        head.setMinimumSectionSize(20)
        head.setSectionResizeMode(NAME, QHeaderView.ResizeMode.Stretch)
        for column, width in ((LAYER, 24), (EYE, 24), (HOLD, 24)):
            head.setSectionResizeMode(column, QHeaderView.ResizeMode.Fixed)
            self.setColumnWidth(column, width)
        self.itemSelectionChanged.connect(self._picked)
        self.itemClicked.connect(self._clicked)
        self.itemDoubleClicked.connect(self._edit_name)
        self.itemChanged.connect(self._renamed)
        session.sketch_changed.connect(self.refresh)
        session.selection_changed.connect(self._follow_selection)
        session.look.changed.connect(self._relook)
        self.refresh()

    # -- showing -------------------------------------------------------------------

    @Slot()
    def refresh(self) -> None:
        """Bring the lines up to date; made anew only when something shown changed."""
        sketch, hidden = self._session.sketch, self._session.look.hidden
        held = {part.id: (part.lengths_locked, part.fixed) for part in sketch.parts}
        shape = [(name, layer, name in hidden, held[name]) for name, layer in stacked(sketch)]
        if shape == self._shape:
            return
        self._shape = shape
        theme = self._session.look.theme
        pictures = {name: _glyph(name, theme.ink, theme) for name in
                    ("eye", "shut", "lock", "ground")}
        faint = _glyph("unlock", theme.rule, theme)
        self._filling = True
        self.clear()
        for name, layer, is_hidden, (locked, fixed) in shape:
            line = QTreeWidgetItem(self, [name, str(layer)])
            line.setFlags(Qt.ItemFlag.ItemIsEnabled | Qt.ItemFlag.ItemIsSelectable
                          | Qt.ItemFlag.ItemIsEditable | Qt.ItemFlag.ItemIsDragEnabled
                          | Qt.ItemFlag.ItemIsDropEnabled)
            line.setData(NAME, ID, name)
            line.setIcon(NAME, QIcon(icons.swatch(theme.wood(layer), theme.ink))
                         if not fixed else pictures["ground"])
            line.setIcon(EYE, pictures["shut" if is_hidden else "eye"])
            line.setIcon(HOLD, pictures["lock"] if locked else faint)
            line.setTextAlignment(LAYER, Qt.AlignmentFlag.AlignRight
                                  | Qt.AlignmentFlag.AlignVCenter)
            line.setForeground(LAYER, theme.faint)
            line.setToolTip(NAME, f"{name}: double-click to rename, drag to another layer")
            line.setToolTip(LAYER, f"Layer {layer}; 0 lies at the back")
            line.setToolTip(EYE, "Hidden: click to show" if is_hidden else "Click to hide")
            line.setToolTip(HOLD, "Lengths are locked: click to unlock" if locked
                            else "Click to lock the lengths")
        self._filling = False
        self._follow_selection()

    @Slot()
    def _relook(self) -> None:
        self._shape = None
        self.refresh()

    @Slot()
    def _follow_selection(self) -> None:
        chosen = set(self._session.selected("part"))
        self._filling = True
        for row in range(self.topLevelItemCount()):
            line = self.topLevelItem(row)
            line.setSelected(line.data(NAME, ID) in chosen)
        if len(chosen) == 1:
            line = next((self.topLevelItem(row) for row in range(self.topLevelItemCount())
                         if self.topLevelItem(row).isSelected()), None)
            if line is not None:
                self.selectionModel().setCurrentIndex(
                    self.indexFromItem(line), QItemSelectionModel.SelectionFlag.NoUpdate)
                self.scrollToItem(line)
        self._filling = False

    # -- acting --------------------------------------------------------------------

    @Slot()
    def _picked(self) -> None:
        if not self._filling:
            self._session.select([("part", line.data(NAME, ID))
                                  for line in self.selectedItems()])

    @Slot(QTreeWidgetItem, int)
    def _clicked(self, line: QTreeWidgetItem, column: int) -> None:
        name = line.data(NAME, ID)
        if column == EYE:
            self._session.look.set_hidden(name, name not in self._session.look.hidden)
        elif column == HOLD:
            self._toggle_lengths(name)

    def _toggle_lengths(self, name: str) -> None:
        sketch = self._session.committed
        locked = not sketch.part(name).lengths_locked
        self._session.commit("Lock lengths" if locked else "Unlock lengths",
                             edits.change(sketch, "parts", name, lengths_locked=locked))

    @Slot(QTreeWidgetItem, int)
    def _edit_name(self, line: QTreeWidgetItem, column: int) -> None:
        if column == NAME and self.state() != QAbstractItemView.State.EditingState:
            self.editItem(line, NAME)

    @Slot(QTreeWidgetItem, int)
    def _renamed(self, line: QTreeWidgetItem, column: int) -> None:
        if self._filling:
            return
        old, new = line.data(NAME, ID), line.text(NAME).strip()
        if column == NAME and new != old:
            try:
                self._session.commit("Rename", edits.rename(self._session.committed, old, new))
            except CrankwrightError as trouble:
                self._session.told.emit(str(trouble))
            else:
                self._session.select([("part", new)])
        # The editor is still open; put the lines right when it has closed.
        self._shape = None
        QTimer.singleShot(0, self.refresh)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        line = self.currentItem()
        if line is not None and event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.editItem(line, NAME)
        elif line is not None and event.key() == Qt.Key.Key_Space:
            name = line.data(NAME, ID)
            self._session.look.set_hidden(name, name not in self._session.look.hidden)
        else:
            super().keyPressEvent(event)

    def dropEvent(self, event: QDropEvent) -> None:
        """Onto a line: into its layer. Between two: a layer of its own there."""
        moved = [line.data(NAME, ID) for line in self.selectedItems()]
        onto: QModelIndex = self.indexAt(event.position().toPoint())
        place = self.dropIndicatorPosition()
        event.setDropAction(Qt.DropAction.IgnoreAction)
        event.accept()
        if moved:
            QTimer.singleShot(0, _Drop(self, moved, self.itemFromIndex(onto), place).make)

    def move_parts(self, moved: list[str], target: str | None, *, onto: bool,
                   in_front: bool) -> None:
        """Move parts to the layer of `target`, or to a new one in front of or behind it."""
        sketch = self._session.committed
        if target is None:
            layer = min((sketch.layer_of(part.id) for part in sketch.parts), default=0)
            onto, in_front = False, False
        else:
            layer = sketch.layer_of(target)
        for count, name in enumerate(moved):
            between = not onto and count == 0
            goal = layer + 1 if in_front and not onto else layer
            sketch = restacked(sketch, name, goal, between=between)
        self._session.commit("Move to another layer", sketch)


def _glyph(name: str, ink: QColor, theme: Theme) -> QIcon:
    """A picture that can be seen on a selected line too."""
    picture = QIcon(icons.glyph(name, ink))
    picture.addPixmap(icons.glyph(name, QColor(theme.accent_text_hex)), QIcon.Mode.Selected)
    return picture


class _Drop:
    """A drop put off until Qt has finished with the drag."""

    def __init__(self, view: StackList, moved: list[str], line: QTreeWidgetItem | None,
                 place: QAbstractItemView.DropIndicatorPosition) -> None:
        self._view, self._moved = view, moved
        self._target = None if line is None else str(line.data(NAME, ID))
        kinds = QAbstractItemView.DropIndicatorPosition
        self._onto = place == kinds.OnItem
        self._in_front = place == kinds.AboveItem

    def make(self) -> None:
        """Make the move."""
        self._view.move_parts(self._moved, self._target, onto=self._onto,
                              in_front=self._in_front)
