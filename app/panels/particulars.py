"""Particulars: everything about what is selected, each line editable in place."""

from __future__ import annotations

from typing import Any

from PySide6.QtCore import Qt, QTimer, Slot
from PySide6.QtGui import QAction
from PySide6.QtWidgets import (
    QFormLayout,
    QLabel,
    QMenu,
    QScrollArea,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from app.later import Later
from app.panels.fields import SEVERAL, WIDGETS, BoxField, Field
from app.panels.numbers import NumberTable
from app.panels.points import PointsTable
from app.panels.rows import Row, Section, all_tables, sections
from app.panels.rows.tables import Table
from app.session import Session
from core.errors import CrankwrightError
from core.model import WantedAngle
from core.model.edits import get

#: While dragging, numbers are written this often and no oftener.
REFRESH_MS = 60


class Particulars(QScrollArea):
    """A form made from the rows of `app.panels.rows`; one undo step per edit."""

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self.setWidgetResizable(True)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self._shape: object = None
        self._of: frozenset[tuple[str, str]] = frozenset()
        self._scrolled = 0
        self._rows: list[tuple[Section, Field]] = []
        self.table: PointsTable | None = None
        self.numbers: list[NumberTable] = []
        self.wants: QToolButton | None = None
        self._offers: dict[str, list[QAction]] = {}
        self._more: dict[str, QAction] = {}
        self._later = Later(self, REFRESH_MS, self.refresh)
        session.sketch_changed.connect(self._soon)
        session.selection_changed.connect(self.refresh)
        self.refresh()

    def offer(self, wanted: dict[str, list[QAction]],
              more: dict[str, QAction] | None = None) -> None:
        """What can be wanted of a "part" or "point" that moves, and `more` that is done with
        one thing of a kind, as a button below its rows."""
        self._offers, self._more = wanted, more or {}
        self._shape = None
        self.refresh()

    @Slot()
    def _soon(self) -> None:
        if self._session.sketch is self._session.committed:
            self.refresh()
        else:
            self._later.soon()

    @Slot()
    def refresh(self) -> None:
        """Bring the form up to date; it is built anew only when its rows change."""
        sketch = self._session.sketch
        made = sections(sketch, self._session.selection)
        shape = tuple((s.title, s.ids, tuple((r.key, r.choices) for r in s.rows)) for s in made)
        listed = all_tables(sketch, self._session.selection)
        shape = (*shape, *(table.title for table in listed))
        if shape != self._shape:
            self._shape = shape
            same = self._of == self._session.selection
            self._of = self._session.selection
            self._scrolled = self.verticalScrollBar().value() if same else 0
            self._build(made)
            QTimer.singleShot(0, self._scroll_back)  # once the new form knows its height
        for section, field in self._rows:
            field.show_value(_common(section, field.row, sketch), sketch.units)
        if self.table is not None:
            self.table.refresh()
        for numbers in self.numbers:
            numbers.refresh()

    @Slot()
    def _scroll_back(self) -> None:
        self.verticalScrollBar().setValue(self._scrolled)

    def field(self, key: str) -> Field:
        """The field of a row; KeyError when it is not shown."""
        for _, field in self._rows:
            if field.row.key == key:
                return field
        raise KeyError(key)

    def _build(self, made: list[Section]) -> None:
        held = next((f.row.key for _, f in self._rows if f.focusProxy().hasFocus()), "")
        page = QWidget(self)
        page.setMinimumWidth(1)  # as wide as there is room, never wider
        column = QVBoxLayout(page)
        column.setContentsMargins(12, 4, 12, 12)
        column.setSpacing(4)
        self._rows = []
        self.table = self.wants = None
        self.numbers = []
        listed = all_tables(self._session.sketch, self._session.selection)
        for section in made:
            heading = QLabel(section.title, page)
            heading.setProperty("role", "heading")
            column.addWidget(heading)
            form = QFormLayout()
            form.setContentsMargins(0, 0, 0, 4)
            form.setHorizontalSpacing(10)
            form.setVerticalSpacing(4)
            form.setFieldGrowthPolicy(QFormLayout.FieldGrowthPolicy.AllNonFixedFieldsGrow)
            form.setLabelAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
            for row in section.rows:
                field = WIDGETS[row.kind](row, page)
                field.edited.connect(self._edited)
                self._rows.append((section, field))
                if row.kind in ("switch", "text", "button"):
                    form.addRow(field)
                else:
                    label = QLabel(row.label, page)
                    label.setProperty("role", "faint")
                    label.setBuddy(field)
                    label.setMinimumWidth(96)
                    label.setToolTip(row.tip)
                    form.addRow(label, field)
            column.addLayout(form)
            if section is made[0]:
                self._add_wants(column, page)
            self._add_tables([each for each in listed if each.after == section.title],
                             column, page)
        parts = self._session.selected("part")
        if len(parts) == 1 and len(self._session.selection) == 1:
            self.table = PointsTable(self._session, parts[0], page)
            column.addWidget(self.table)
        placed = {section.title for section in made}
        self._add_tables([each for each in listed if each.after not in placed], column, page)
        column.addStretch(1)
        old = self.takeWidget()
        self.setWidget(page)
        if old is not None:
            old.deleteLater()
        for _, field in self._rows:
            if held and field.row.key == held:
                field.setFocus()

    def _add_tables(self, listed: list[Table], column: QVBoxLayout, page: QWidget) -> None:
        for table in listed:
            self.numbers.append(NumberTable(self._session, table, page))
            column.addWidget(self.numbers[-1])

    def _add_wants(self, column: QVBoxLayout, page: QWidget) -> None:
        """A button with what can be wanted of the one moving part or point selected, or
        with the ready starts of a wanted angle."""
        selection, sketch = self._session.selection, self._session.sketch
        kind, name = next(iter(selection)) if len(selection) == 1 else ("", "")
        if kind in self._more:
            button = QToolButton(page)
            button.setDefaultAction(self._more[kind])
            column.addWidget(button, 0, Qt.AlignmentFlag.AlignLeft)
        if kind not in self._offers:
            return
        if kind == "wish":
            wish = get(sketch, name)
            if not isinstance(wish, WantedAngle) or not wish.part:
                return
        elif sketch.part(name.partition(".")[0]).fixed:
            return
        self.wants = QToolButton(page)
        self.wants.setText("Begin anew from ▾" if kind == "wish" else "Motion wanted ▾")
        self.wants.setToolTip("Another ready start of this curve, in place of the knots it has"
                              if kind == "wish" else
                              "What this is to do while the crank turns, begun from what it "
                              "does now")
        self.wants.setPopupMode(QToolButton.ToolButtonPopupMode.InstantPopup)
        menu = QMenu(self.wants)
        menu.addActions(self._offers[kind])
        self.wants.setMenu(menu)
        column.addWidget(self.wants, 0, Qt.AlignmentFlag.AlignLeft)

    @Slot(object, object)
    def _edited(self, row: Row, value: Any) -> None:
        found = next(((s, f) for s, f in self._rows if f.row is row), None)
        if found is None:  # a box left while the form was being built anew
            return
        section, field = found
        sketch = self._session.committed
        assert row.write is not None
        try:
            for item_id in section.ids:
                sketch = row.write(sketch, item_id, value)
        except CrankwrightError as trouble:
            if isinstance(field, BoxField):
                field.refuse(str(trouble))
            else:
                field.complain(str(trouble))
                field.show_value(_common(section, row, self._session.sketch), sketch.units)
            return
        kind = next((k for k, name in self._session.selection if name in section.ids), "")
        self._session.commit(row.verb, sketch)
        if row.renames and kind:
            owner = section.ids[0].rpartition(".")[0]
            self._session.select([(kind, f"{owner}.{value}" if owner else value)])
        self.refresh()


def _common(section: Section, row: Row, sketch: Any) -> Any:
    values = [row.read(sketch, item_id) for item_id in section.ids]
    return values[0] if all(value == values[0] for value in values) else SEVERAL
