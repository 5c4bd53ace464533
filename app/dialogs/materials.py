"""Materials: every one there is with all its figures, where each is from and how far it can
be trusted; the user's own can be made, changed, kept and removed."""

from __future__ import annotations

from functools import partial

from msgspec.structs import replace
from PySide6.QtCore import QSize, Qt, Slot
from PySide6.QtWidgets import (
    QDialog,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QSplitter,
    QTreeWidget,
    QTreeWidgetItem,
    QVBoxLayout,
    QWidget,
)

from app.dialogs.ask import Question
from app.dialogs.material_editor import MaterialEditor
from app.dialogs.material_facts import figure_rows, heading
from app.session import Session
from app.shelf import SHELF, embedded, given, offered
from core.errors import CrankwrightError
from core.materials import MATERIALS
from core.materials.names import STUFF_WORDS
from core.model import OwnMaterial, edits
from core.model.edits.basics import first_free

_ID = Qt.ItemDataRole.UserRole


class MaterialsWindow(QDialog):
    """Stays open beside the work. Every change of the sketch is one undo step."""

    def __init__(self, session: Session, parent: QWidget) -> None:
        super().__init__(parent)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setWindowTitle("Materials")
        self._session = session
        self.search = QLineEdit(self)
        self.search.setPlaceholderText("Search")
        self.search.setClearButtonEnabled(True)
        self.tree = QTreeWidget(self)
        self.tree.setHeaderLabels(["Material", "kg/m³"])
        self.tree.setRootIsDecorated(False)
        self.tree.setAccessibleName("Materials")
        self.title, self.about, self.where, self.source = (QLabel(self) for _ in range(4))
        self.title.setProperty("role", "heading")
        for label in (self.where, self.source):
            label.setProperty("role", "faint")
        self.error = QLabel(self)
        self.error.setProperty("role", "error")
        for label in (self.title, self.about, self.where, self.source, self.error):
            label.setWordWrap(True)
            label.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.figures = QTreeWidget(self)
        self.figures.setHeaderLabels(["Figure", "Value", "Trust", "Source"])
        self.figures.setRootIsDecorated(False)
        self.figures.setAccessibleName("Figures")
        self.new = QPushButton("New…", self)
        self.copy = QPushButton("Copy as a start…", self)
        self.edit = QPushButton("Change…", self)
        self.remove = QPushButton("Remove", self)
        self.keep = QPushButton("Keep for all sketches", self)
        self.give = QPushButton("Give to the selected parts", self)
        self._lay_out()
        for button, act in ((self.new, self._new), (self.copy, self._copy),
                            (self.edit, self._edit), (self.remove, self._remove),
                            (self.keep, self._keep), (self.give, self._give)):
            button.setAutoDefault(False)
            button.clicked.connect(act)
        self.search.textChanged.connect(self._filter)
        self.tree.currentItemChanged.connect(self._current_changed)
        self.figures.currentItemChanged.connect(self._show_source)
        session.sketch_changed.connect(self._refresh)
        session.selection_changed.connect(self._refresh_buttons)
        SHELF.changed.connect(self._fill)
        parts = session.selected("part")
        self._fill()
        self.choose(session.committed.part(parts[0]).material if parts else "birch-plywood")
        self.error.setText(SHELF.trouble)
        self.search.setFocus()

    def _lay_out(self) -> None:
        left, right = QWidget(self), QWidget(self)
        column = QVBoxLayout(left)
        column.addWidget(self.search)
        column.addWidget(self.tree, 1)
        row = QHBoxLayout()
        row.addWidget(self.new)
        row.addWidget(self.copy)
        column.addLayout(row)
        facts = QVBoxLayout(right)
        for widget in (self.title, self.about, self.where):
            facts.addWidget(widget)
        facts.addWidget(self.figures, 1)
        facts.addWidget(self.source)
        facts.addWidget(self.error)
        acts = QHBoxLayout()
        for button in (self.give, self.edit, self.keep, self.remove):
            acts.addWidget(button)
        acts.addStretch(1)
        facts.addLayout(acts)
        column.setContentsMargins(0, 0, 4, 0)
        facts.setContentsMargins(6, 0, 0, 0)
        split = QSplitter(self)
        split.addWidget(left)
        split.addWidget(right)
        split.setStretchFactor(1, 1)
        split.setChildrenCollapsible(False)
        split.setSizes([280, 740])
        QVBoxLayout(self).addWidget(split)
        room = self.parentWidget().size() * 0.9
        self.resize(QSize(1060, 640).boundedTo(room))
        self.tree.header().setStretchLastSection(False)
        self.tree.header().setSectionResizeMode(0, self.tree.header().ResizeMode.Stretch)
        self.tree.header().setSectionResizeMode(
            1, self.tree.header().ResizeMode.ResizeToContents)
        self.figures.header().setStretchLastSection(True)

    # -- what is shown -------------------------------------------------------------

    @property
    def chosen(self) -> str:
        """The id of the material shown."""
        item = self.tree.currentItem()
        return str(item.data(0, _ID) or "") if item is not None else ""

    def choose(self, material_id: str) -> None:
        """Show a material."""
        for item in self._items():
            if item.data(0, _ID) == material_id:
                item.setHidden(False)
                self.tree.setCurrentItem(item)
                self.tree.scrollToItem(item)

    def _items(self) -> list[QTreeWidgetItem]:
        heads = [self.tree.topLevelItem(row) for row in range(self.tree.topLevelItemCount())]
        return [head.child(row) for head in heads for row in range(head.childCount())]

    @Slot()
    def _fill(self) -> None:
        """All materials: the user's own, then the table's by kind."""
        before = self.chosen
        self.tree.blockSignals(True)
        self.tree.clear()
        known = offered(self._session.committed)
        own = self._own_ids()
        groups = {"Your own": [known[name] for name in known if name in own]}
        for stuff, words in STUFF_WORDS.items():
            groups[words.capitalize()] = [each for each in known.values()
                                          if each.stuff == stuff and each.id not in own]
        for words, held in groups.items():
            if not held:
                continue
            head = QTreeWidgetItem(self.tree, [words])
            head.setFlags(Qt.ItemFlag.ItemIsEnabled)
            head.setFirstColumnSpanned(True)
            face = head.font(0)
            face.setBold(True)
            head.setFont(0, face)
            for each in sorted(held, key=lambda one: one.name.casefold()):
                item = QTreeWidgetItem(head, [each.name, f"{each.density_kg_m3:g}"])
                item.setData(0, _ID, each.id)
                item.setTextAlignment(1, Qt.AlignmentFlag.AlignRight)
            head.setExpanded(True)
        self.tree.blockSignals(False)
        self._filter()
        self.choose(before)
        if not self.chosen:
            self.choose("birch-plywood")
        self._show_current()

    @Slot()
    def _filter(self) -> None:
        """Only what has all the words typed, in its name, kind, figures or note."""
        words = self.search.text().casefold().split()
        known = offered(self._session.committed)
        for item in self._items():
            each = known.get(str(item.data(0, _ID)))
            text = "" if each is None else " ".join(
                (each.id, each.name, each.note, each.source, STUFF_WORDS[each.stuff],
                 *(name.replace("_", " ") for name in each.figures))).casefold()
            item.setHidden(not all(word in text for word in words))
        for row in range(self.tree.topLevelItemCount()):
            head = self.tree.topLevelItem(row)
            head.setHidden(all(head.child(k).isHidden() for k in range(head.childCount())))
        shown = [item for item in self._items() if not item.isHidden()]
        if shown and self.tree.currentItem() not in shown:
            self.tree.setCurrentItem(shown[0])

    @Slot(QTreeWidgetItem, QTreeWidgetItem)
    def _current_changed(self, now: QTreeWidgetItem | None,
                         before: QTreeWidgetItem | None) -> None:
        """A heading is not chosen: what was chosen stays."""
        if now is not None and now.parent() is None and before is not None:
            self.tree.setCurrentItem(before)
        else:
            self._show_current()

    @Slot()
    def _show_current(self) -> None:
        each = offered(self._session.committed).get(self.chosen)
        self.error.setText("")
        self.figures.clear()
        if each is None:
            self._refresh_buttons()
            return
        self.title.setText(each.name[:1].upper() + each.name[1:])
        self.about.setText(heading(each))
        self.where.setText(self._whereabouts())
        for row in figure_rows(each, self._session.committed.units):
            item = QTreeWidgetItem(self.figures, list(row))
            for column, text in enumerate(row):
                item.setToolTip(column, text)
        for column in range(3):
            self.figures.resizeColumnToContents(column)
        self._refresh_buttons()

    @Slot()
    def _show_source(self) -> None:
        """The whole source of the figure chosen, for which its column has no room."""
        item = self.figures.currentItem()
        self.source.setText("" if item is None else
                            f"{item.text(0)}: {item.text(3)} ({item.text(2)}).")

    def _whereabouts(self) -> str:
        """Where a material is known, and what of the sketch is made of it."""
        sketch, name = self._session.committed, self.chosen
        users = edits.material_users(sketch, name)
        used = "Nothing here is made of it." if not users else (
            "Used for " + ", ".join(users[:6]) + (f" and {len(users) - 6} more"
                                                  if len(users) > 6 else "") + ".")
        inside, kept = self._inside(), SHELF.of(name)
        if inside is None:
            return f"You keep it for all sketches. {used}" if kept is not None else used
        if kept is None:
            return f"In this sketch only. {used}"
        same = "and kept for all sketches" if kept == inside else (
            "and kept for all sketches with other figures")
        return f"In this sketch {same}. {used}"

    def _own_ids(self) -> set[str]:
        return {own.id for own in (*self._session.committed.materials, *SHELF.kept)}

    def _inside(self) -> OwnMaterial | None:
        return next((own for own in self._session.committed.materials
                     if own.id == self.chosen), None)

    @Slot()
    def _refresh(self) -> None:
        if self._session.sketch is self._session.committed:
            self._fill()

    @Slot()
    def _refresh_buttons(self) -> None:
        name, inside, kept = self.chosen, self._inside(), SHELF.of(self.chosen)
        own = name in self._own_ids()
        self.copy.setEnabled(bool(name))
        self.edit.setEnabled(own)
        self.remove.setEnabled(own)
        self.remove.setText("Keep no longer…" if own and inside is None else
                            "Remove from this sketch")
        self.keep.setVisible(inside is not None and inside != kept)
        self.give.setEnabled(bool(name) and bool(self._session.selected("part")))

    # -- what is done --------------------------------------------------------------

    def _told(self, text: str) -> None:
        self.error.setText(text)

    @Slot()
    def _new(self) -> None:
        self._open(OwnMaterial(id="", name="", density_kg_m3=600.0), new=True)

    @Slot()
    def _copy(self) -> None:
        """Begin a material from the one shown."""
        mine = self._inside() or SHELF.of(self.chosen)
        each = MATERIALS.get(self.chosen)
        if mine is None and each is not None:
            mine = OwnMaterial(id="", name=each.name, density_kg_m3=each.density_kg_m3,
                               stuff=each.stuff, like=each.id, note=each.note)
        if mine is not None:
            self._open(replace(mine, id="", name=f"my {mine.name}"), new=True)

    @Slot()
    def _edit(self) -> None:
        mine = self._inside() or SHELF.of(self.chosen)
        if mine is not None:
            self._open(mine, new=False)

    def _open(self, mine: OwnMaterial, *, new: bool) -> None:
        self.editor = MaterialEditor(mine, self, new=new,
                                     kept=new or SHELF.of(mine.id) is not None)
        self.editor.finished_with.connect(self._take)
        self.editor.open()

    @Slot(object, bool)
    def _take(self, own: OwnMaterial, keep: bool) -> None:
        """Put a new or changed material into the sketch, and on the shelf if wanted."""
        if not own.id:
            taken = {*MATERIALS, *self._own_ids()}
            own = replace(own, id=first_free(own.name, taken))
            verb = "Add a material"
        else:
            verb = "Change a material"
        try:
            if keep:
                SHELF.keep(own)
            self._session.commit(verb, edits.put_material(self._session.committed, own))
        except CrankwrightError as trouble:
            self._told(str(trouble))
            return
        self.search.clear()
        self._fill()
        self.choose(own.id)

    @Slot()
    def _keep(self) -> None:
        """Keep the sketch's material for all sketches."""
        inside = self._inside()
        if inside is None:
            return
        try:
            SHELF.keep(inside)
        except CrankwrightError as trouble:
            self._told(str(trouble))

    @Slot()
    def _remove(self) -> None:
        """Take a material out of the sketch, refused while it is used; one that is only
        kept is kept no longer, once that is confirmed: undo does not reach there."""
        name = self.chosen
        if self._inside() is None:
            self.question = Question(
                self, f"Keep {name} no longer?", "Sketches that carry it still do.",
                [("Keep it no longer", partial(self._drop, name)), ("Keep it", None)])
            self.question.open()
            return
        try:
            left = edits.remove_material(self._session.committed, name)
        except CrankwrightError as trouble:
            self._told(str(trouble))
            return
        self._session.commit("Remove a material", left)
        self._fill()

    def _drop(self, name: str) -> None:
        try:
            SHELF.drop(name)
        except CrankwrightError as trouble:
            self._told(str(trouble))

    @Slot()
    def _give(self) -> None:
        """Make the selected parts of it."""
        parts = self._session.selected("part")
        try:
            changed = given(embedded(self._session.committed, self.chosen), parts, self.chosen)
        except CrankwrightError as trouble:
            self._told(str(trouble))
            return
        self._session.commit("Change material", changed)
        self._fill()
