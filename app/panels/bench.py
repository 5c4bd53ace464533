"""The bench: few tools, then the parts in stack order."""

from __future__ import annotations

from PySide6.QtCore import QSize, Qt, Signal, Slot
from PySide6.QtWidgets import (
    QButtonGroup,
    QGridLayout,
    QLabel,
    QSizePolicy,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from app import icons
from app.gestures import TOOLS, ToolInfo
from app.panels.stack import StackList
from app.session import Session

PER_ROW = 2


class Bench(QWidget):
    """Tools on top, parts below. `tool_chosen(id)` when a tool is taken up."""

    tool_chosen = Signal(str)

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self.buttons: dict[str, QToolButton] = {}
        self._group = QButtonGroup(self)
        self._group.setExclusive(True)
        column = QVBoxLayout(self)
        column.setContentsMargins(8, 8, 4, 8)
        column.setSpacing(4)
        tools = QGridLayout()
        tools.setSpacing(4)
        for place, info in enumerate(TOOLS):
            tools.addWidget(self._button(info), *divmod(place, PER_ROW))
        column.addLayout(tools)
        heading = QLabel("Parts, front to back", self)
        heading.setProperty("role", "heading")
        self.stack = StackList(session, self)
        column.addWidget(heading)
        column.addWidget(self.stack, 1)
        self._group.buttonClicked.connect(self._clicked)
        session.look.changed.connect(self._themed)
        self._themed()
        self.show_tool("arrange")

    def _button(self, info: ToolInfo) -> QToolButton:
        button = QToolButton(self)
        button.setObjectName(info.id)
        button.setCheckable(True)
        button.setText(info.name)
        button.setAccessibleName(info.name)
        button.setToolTip(f"<b>{info.name}</b> ({info.key})<br>{info.tip}")
        button.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        button.setIconSize(QSize(20, 20))
        button.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextBesideIcon)
        button.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        button.setMinimumHeight(32)
        self._group.addButton(button)
        self.buttons[info.id] = button
        return button

    @Slot()
    def _themed(self) -> None:
        for name, button in self.buttons.items():
            button.setIcon(icons.icon(name, self._session.look.theme))

    @Slot(QToolButton)
    def _clicked(self, button: QToolButton) -> None:
        self.tool_chosen.emit(button.objectName())

    @Slot(str)
    def show_tool(self, tool_id: str) -> None:
        """Mark the tool in hand."""
        if tool_id in self.buttons:
            self.buttons[tool_id].setChecked(True)
