"""The cards of the gallery as a list that views understand."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from PySide6.QtCore import QAbstractListModel, QModelIndex, QObject, QPersistentModelIndex, Qt

from app.panels.gallery.order import Entry, miss
from core import units

ENTRY = Qt.ItemDataRole.UserRole
NO_PARENT = QModelIndex()


class Cards(QAbstractListModel):
    """Entries in order. Only what differs is told to be changed."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.entries: list[Entry] = []
        self.units = "mm"

    def show(self, entries: Sequence[Entry], shown: str) -> None:
        """Show these, lengths and torques in the units of a sketch."""
        new = list(entries)
        if shown == self.units and new == self.entries:
            return
        self.units = shown
        old = len(self.entries)
        if len(new) > old:
            self.beginInsertRows(NO_PARENT, old, len(new) - 1)
            self.entries = new
            self.endInsertRows()
        elif len(new) < old:
            self.beginRemoveRows(NO_PARENT, len(new), old - 1)
            self.entries = new
            self.endRemoveRows()
        self.entries = new
        if new:
            self.dataChanged.emit(self.index(0), self.index(len(new) - 1))

    def rowCount(self, parent: QModelIndex | QPersistentModelIndex = NO_PARENT) -> int:
        """As Qt asks."""
        return 0 if parent.isValid() else len(self.entries)

    def data(self, index: QModelIndex | QPersistentModelIndex,
             role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """As Qt asks: the entry itself, its name, and all of it in words."""
        if not index.isValid() or index.row() >= len(self.entries):
            return None
        entry = self.entries[index.row()]
        if role == ENTRY:
            return entry
        if role == Qt.ItemDataRole.DisplayRole:
            return entry.proposal.name
        if role == Qt.ItemDataRole.AccessibleTextRole:
            told = [f"{head} {value}" for head, value in facts(entry, self.units)]
            return "; ".join([entry.proposal.name, *told, *filter(None, [in_the_way(entry)])])
        return None


def in_the_way(entry: Entry) -> str:
    """Which of its parts meet, deepest first; "" when all go free."""
    if not entry.proposal.meets:
        return ""
    (one, other), *more = entry.proposal.meets
    also = f", and {len(more)} more {'pair' if len(more) == 1 else 'pairs'}" if more else ""
    return f"parts meet: {one} and {other}{also}"


def facts(entry: Entry, shown: str) -> list[tuple[str, str]]:
    """What the card says of a mechanism: caption and value, in the sketch's units."""
    one = entry.proposal
    worst = (units.show_length(one.worst_mm, shown) if one.worst_mm
             else f"{miss(one.worst)} tol")
    return [
        ("mean miss", f"{miss(one.error)} tol"),
        ("worst", worst),
        ("transmission", f"{one.transmission_deg:.0f}°"
         if math.isfinite(one.transmission_deg) else "–"),
        ("size", units.show_length(round(one.size_mm), shown)),
        ("torque", _torque(one.peak_torque_nmm, shown)),
    ]


def _torque(nmm: float, shown: str) -> str:
    """A torque, short where there is next to none."""
    if not math.isfinite(nmm):
        return "–"
    return units.show_torque(nmm, shown) if nmm >= 1.0 else f"< {units.show_torque(1.0, shown)}"
