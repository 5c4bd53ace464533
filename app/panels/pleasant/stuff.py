"""What is at hand to make weights of: sheets, rods, washers, coins, ticked on a list."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Literal

from PySide6.QtCore import QSettings, Qt, Signal, Slot
from PySide6.QtWidgets import (
    QComboBox,
    QHBoxLayout,
    QListWidget,
    QListWidgetItem,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from app.panels.pleasant.box import Box
from app.panels.quantities import SIZE
from app.session import Session
from core.model.stuff import materials_of
from core.units import show_length

if TYPE_CHECKING:
    from core.pleasant import WeightRules

Kind = Literal["sheet", "rod", "washers", "coins"]
#: What it is, of what (of washers and coins: which), how thick or how wide, mm.
Entry = tuple[Kind, str, float]
#: Metals one makes weights of; a user's own materials come after them.
METALS = ("steel", "stainless", "brass", "brass-rod", "aluminium-6061", "silver-steel")
KEY = "pleasant/stuff"
ENTRY = Qt.ItemDataRole.UserRole


class StuffList(QWidget):
    """`changed` when something is ticked, unticked or added; kept between starts."""

    changed = Signal()

    def __init__(self, session: Session, settings: QSettings,
                 parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session, self._settings = session, settings
        self.list = QListWidget(self)
        self.list.setAccessibleName("Stuff at hand for weights")
        self.list.setFixedHeight(118)
        self.list.setSpacing(1)
        self.kind_box = QComboBox(self)
        self.kind_box.addItems(["Sheet of", "Rod of"])
        self.kind_box.setAccessibleName("Sheet or rod to add")
        self.material_box = QComboBox(self)
        self.material_box.setAccessibleName("Material to add")
        self.size_box = Box(SIZE, 4.0, self)
        self.size_box.setAccessibleName("Thickness of the sheet, or diameter of the rod")
        self.size_box.setToolTip("Thickness of the sheet, as measured, or diameter of the rod")
        self.add_button = QToolButton(self)
        self.add_button.setText("Add")
        self.add_button.setToolTip("Add it to the stuff at hand")
        row = QHBoxLayout()
        row.setSpacing(4)
        row.addWidget(self.kind_box)
        row.addWidget(self.material_box, 1)
        row.addWidget(self.size_box)
        row.addWidget(self.add_button)
        self.size_box.setFixedWidth(64)
        self.material_box.setMinimumContentsLength(5)
        self.material_box.setSizeAdjustPolicy(
            QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(4)
        column.addWidget(self.list)
        column.addLayout(row)
        self._fill()
        self.list.itemChanged.connect(self._told)
        self.add_button.clicked.connect(self._add)
        self.size_box.returnPressed.connect(self._add)

    def _fill(self) -> None:
        kept = _read(self._settings.value(KEY))
        known = {entry for entry, _ in kept}
        # Coins are taken when asked for; kept lists may be from before there were any.
        usual = [(entry, entry[0] != "coins") for entry in _usual()
                 if not kept or (entry[0] == "coins" and entry not in known)]
        for entry, on in (*kept, *usual):
            self._put(entry, on)

    def _put(self, entry: Entry, on: bool) -> None:
        item = QListWidgetItem(self._named(entry))
        item.setData(ENTRY, entry)
        item.setFlags(Qt.ItemFlag.ItemIsEnabled | Qt.ItemFlag.ItemIsSelectable
                      | Qt.ItemFlag.ItemIsUserCheckable)
        item.setCheckState(Qt.CheckState.Checked if on else Qt.CheckState.Unchecked)
        self.list.addItem(item)

    def _named(self, entry: Entry) -> str:
        kind, name, size = entry
        if kind == "washers":
            return f"Washers {name}, bolted on"
        if kind == "coins":
            return f"Coins ({name} and cents), let in"
        known = materials_of(self._session.committed.materials)
        stuff = known[name].name if name in known else name
        return f"{stuff[:1].upper()}{stuff[1:]} {kind}, " \
               f"{show_length(size, self._session.committed.units)}"

    def refresh(self) -> None:
        """Names and choices in the units and materials of the sketch."""
        sketch = self._session.committed
        self.size_box.set_units(sketch.units)
        self.list.blockSignals(True)
        for row in range(self.list.count()):
            item = self.list.item(row)
            item.setText(self._named(tuple(item.data(ENTRY))))
        self.list.blockSignals(False)
        known = materials_of(sketch.materials)
        wanted = [name for name in METALS if name in known]
        wanted += [one.id for one in sketch.materials if one.id not in wanted]
        if [self.material_box.itemData(k) for k in range(self.material_box.count())] != wanted:
            self.material_box.clear()
            for name in wanted:
                self.material_box.addItem(known[name].name, name)

    def entries(self) -> list[tuple[Entry, bool]]:
        """Everything on the list, and whether it is ticked."""
        items = [self.list.item(row) for row in range(self.list.count())]
        return [(tuple(item.data(ENTRY)), item.checkState() == Qt.CheckState.Checked)
                for item in items]

    def into(self, rules: WeightRules) -> WeightRules:
        """The rules with what is ticked; what the sketch's materials do not know is left
        out."""
        from core.pleasant.coins import MONEY, coins

        known = materials_of(self._session.committed.materials)
        on = [entry for entry, ticked in self.entries() if ticked]
        return replace(
            rules,
            sheets=tuple((name, size) for kind, name, size in on
                         if kind == "sheet" and name in known),
            rods=tuple((name, size) for kind, name, size in on
                       if kind == "rod" and name in known),
            washers=tuple(name for kind, name, _ in on if kind == "washers"),
            own=tuple(coin for kind, name, _ in on
                      if kind == "coins" and name in MONEY for coin in coins(name)))

    @Slot()
    def _add(self) -> None:
        size = self.size_box.read()
        if size is None or self.material_box.currentIndex() < 0:
            return
        kind: Kind = "rod" if self.kind_box.currentIndex() else "sheet"
        entry: Entry = (kind, self.material_box.currentData(), float(size))
        if entry not in [there for there, _ in self.entries()]:
            self._put(entry, True)
        self.list.scrollToBottom()
        self._told()

    @Slot()
    def _told(self) -> None:
        self._settings.setValue(KEY, [f"{int(on)}|{kind}|{name}|{size:g}"
                                      for (kind, name, size), on in self.entries()])
        self.changed.emit()


def _usual() -> list[Entry]:
    """What a workshop may have: what the advisor takes where nothing is said."""
    from core.pleasant import WeightRules
    from core.pleasant.coins import MONEY

    rules, found = WeightRules(), list[Entry]()
    found += [("sheet", name, size) for name, size in rules.sheets]
    found += [("rod", name, size) for name, size in rules.rods]
    found += [("washers", name, 0.0) for name in rules.washers]
    found += [("coins", name, 0.0) for name in MONEY]
    return found


def _read(kept: object) -> list[tuple[Entry, bool]]:
    """What was kept at an earlier start; what cannot be read is left out."""
    found: list[tuple[Entry, bool]] = []
    lines = [kept] if isinstance(kept, str) else kept if isinstance(kept, list) else []
    for line in lines:
        words = str(line).split("|")
        try:
            on, kind, name, size = words[0] == "1", words[1], words[2], float(words[3])
        except (IndexError, ValueError):
            continue
        if (kind in ("sheet", "rod") and size > 0.0) or kind in ("washers", "coins"):
            found.append(((kind, name, size), on))  # type: ignore[arg-type]
    return found
