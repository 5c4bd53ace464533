"""Checks of strength as a table that views can sort and filter."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Any

from PySide6.QtCore import QObject, QSortFilterProxyModel, Qt

from app.panels.table_model import Index, TableModel
from core.making.ranges import show_load, show_range
from core.making.strength import Check
from core.making.strength.words import NAMES, WORDS, show_safety

CHECK = Qt.ItemDataRole.UserRole
ORDER = Qt.ItemDataRole.UserRole + 1
COLUMNS = ("What", "How", "Load", "Gives way at", "At", "Used", "Safety")
WHAT, HOW, LOAD, GIVES, AT, USED, SAFETY = range(len(COLUMNS))
_RIGHT = (LOAD, GIVES, AT)
TIPS = {
    LOAD: "The greatest share of what is borne, over the whole turn and with the most friction",
    GIVES: "Where it gives way, as a range where the figures are a range",
    AT: "The crank angle at which it is worst",
    USED: "The load as a share of what may be built on, the usual safety taken off; full at "
          "100 %",
    SAFETY: "How many times the load it bears before it gives way",
}


class Checks(TableModel[Check]):
    """Checks in the order given; the worst is first."""

    COLUMNS, TIPS = COLUMNS, TIPS

    def headerData(self, section: int, orientation: Qt.Orientation,
                   role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        if (role == Qt.ItemDataRole.TextAlignmentRole and section in _RIGHT
                and orientation == Qt.Orientation.Horizontal):
            return Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
        return super().headerData(section, orientation, role)

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        check, column = self.thing(index), index.column()
        if check is None:
            return None
        if role == CHECK:
            return check
        if role == ORDER:
            return self._order(check, index.row(), column)
        if role == Qt.ItemDataRole.DisplayRole:
            return self._text(check, column)
        if role == Qt.ItemDataRole.TextAlignmentRole and column in _RIGHT:
            return Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
        if role == Qt.ItemDataRole.ToolTipRole and column in (WHAT, HOW):
            return check.text
        if role == Qt.ItemDataRole.AccessibleTextRole:
            return f"{check.text} {word_of(check).capitalize()}."
        return None

    def _text(self, check: Check, column: int) -> str:
        return {
            WHAT: lambda: check.thing,
            HOW: lambda: NAMES[check.kind],
            LOAD: lambda: show_load(check.value, check.unit, self.units),
            GIVES: lambda: show_range(*check.gives, check.unit, self.units),
            AT: lambda: f"{math.degrees(check.crank_rad):.0f}°",
            USED: lambda: percent(check),
            SAFETY: lambda: f"{show_safety(check)} · {word_of(check)}",
        }[column]()

    def _order(self, check: Check, row: int, column: int) -> Any:
        return {WHAT: check.thing, HOW: NAMES[check.kind], LOAD: check.value,
                GIVES: check.gives[0], AT: check.crank_rad, USED: -check.share,
                SAFETY: row}[column]


def word_of(check: Check) -> str:
    """The verdict in a word or two; of what is only felt, whether it is."""
    if check.soft:
        return "hardly felt" if check.verdict == "holds" else "may be felt"
    return WORDS[check.verdict]


def percent(check: Check) -> str:
    """How much of what may be built on is used."""
    share = check.share
    if not share < 10.0:
        return "over 1000 %"
    return "under 1 %" if share < 0.01 else f"{100 * share:.0f} %"


class Sieve(QSortFilterProxyModel):
    """Lets through what has the words in it, is of the things asked for, and needs a look."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.words: tuple[str, ...] = ()
        self.ids: frozenset[str] | None = None
        self.doubtful = False
        self.setSortRole(ORDER)
        self.setSortCaseSensitivity(Qt.CaseSensitivity.CaseInsensitive)

    def ask(self, words: str, ids: Iterable[str] | None, doubtful: bool) -> None:
        """Let through what has all the `words`, concerns any of `ids` (None: all), and, with
        `doubtful`, does not plainly hold."""
        asked = tuple(words.casefold().split())
        of = None if ids is None else frozenset(ids)
        if (asked, of, doubtful) != (self.words, self.ids, self.doubtful):
            self.beginFilterChange()
            self.words, self.ids, self.doubtful = asked, of, doubtful
            self.endFilterChange()

    def filterAcceptsRow(self, row: int, parent: Index) -> bool:
        model = self.sourceModel()
        assert isinstance(model, Checks)
        check = model.things[row]
        if self.doubtful and check.verdict == "holds":
            return False
        if self.ids is not None and self.ids.isdisjoint((*check.parts, *check.joints)):
            return False
        text = " ".join((check.thing, NAMES[check.kind], *check.parts, *check.joints,
                         word_of(check))).casefold()
        return all(word in text for word in self.words)
