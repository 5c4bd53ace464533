"""Sheets: what to print, looked at before it is printed."""

from __future__ import annotations

import math

from PySide6.QtCore import QSize, Qt, Signal, Slot
from PySide6.QtGui import QImage, QPixmap, QResizeEvent
from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QDialog,
    QDialogButtonBox,
    QFormLayout,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QSizePolicy,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from app.later import Later
from app.session import Session
from core import units
from core.drawing import PAPERS, Page, SheetOptions, layout_sheets
from core.errors import CrankwrightError, UnitError
from core.study import Study, study

REDRAW_MS = 150
#: Pixels a page is drawn with for the preview, along its longer side.
PREVIEW_PX = 1400


class SheetsDialog(QDialog):
    """Choose paper, scale and crank angle; leaf through the pages.

    `wanted(study, options)` when the user presses the button named by `verb`.
    """

    wanted = Signal(object, object)

    def __init__(self, session: Session, verb: str, parent: QWidget) -> None:
        super().__init__(parent)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setWindowTitle("Sheets")
        self._session = session
        self._study: Study | None = None
        self.pages: list[Page] = []
        self._page = 0
        self._picture = QImage()
        self.paper = QComboBox(self)
        self.paper.addItem("usual (letter)" if session.sketch.units == "in" else "usual (A4)",
                           "")
        for name in PAPERS:
            self.paper.addItem(name, name)
        self.scale = QLineEdit(self)
        self.scale.setPlaceholderText("to fit, a standard scale")
        self.scale.setToolTip("Such as 1:2; empty chooses a standard scale that fits")
        self.angle = QLineEdit(units.show_angle(math.degrees(session.crank_rad)), self)
        self.angle.setToolTip("Crank angle the layout is drawn at; empty: the drawn pose")
        self.templates = QCheckBox("Templates at full size", self)
        self.templates.setChecked(True)
        self.extremes = QCheckBox("Extreme positions", self)
        self.error = QLabel(self)
        self.error.setProperty("role", "error")
        self.error.setWordWrap(True)
        form = QFormLayout()
        form.addRow("Paper", self.paper)
        form.addRow("Scale", self.scale)
        form.addRow("Crank at", self.angle)
        form.addRow(self.templates)
        form.addRow(self.extremes)
        side = QVBoxLayout()
        side.addLayout(form)
        side.addWidget(self.error)
        side.addStretch(1)
        caution = QLabel("Check the 100 mm bar with a rule before cutting: print at full "
                         "size, not fitted to the page.", self)
        caution.setWordWrap(True)
        caution.setProperty("role", "faint")
        side.addWidget(caution)
        self.buttons = QDialogButtonBox(self)
        self.go = self.buttons.addButton(verb, QDialogButtonBox.ButtonRole.AcceptRole)
        self.buttons.addButton("Cancel", QDialogButtonBox.ButtonRole.RejectRole)
        self.buttons.accepted.connect(self._accepted)
        self.buttons.rejected.connect(self.reject)
        side.addWidget(self.buttons)

        self.view = QLabel(self)
        self.view.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self.view.setMinimumSize(420, 420)
        self.view.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Ignored)
        self.view.setAccessibleName("Preview of the page")
        self.back, self.on = QToolButton(self), QToolButton(self)
        self.back.setText("◀")
        self.on.setText("▶")
        self.back.setAccessibleName("Page before")
        self.on.setAccessibleName("Next page")
        self.count = QLabel(self)
        self.count.setAlignment(Qt.AlignmentFlag.AlignCenter)
        leaf = QHBoxLayout()
        leaf.addStretch(1)
        for widget in (self.back, self.count, self.on):
            leaf.addWidget(widget)
        leaf.addStretch(1)
        sheet = QVBoxLayout()
        sheet.addWidget(self.view, 1)
        sheet.addLayout(leaf)
        whole = QHBoxLayout(self)
        whole.addLayout(sheet, 1)
        box = QWidget(self)
        box.setLayout(side)
        box.setFixedWidth(280)
        whole.addWidget(box)

        self.resize(QSize(980, 700).boundedTo(parent.size() * 0.95))
        self._later = Later(self, REDRAW_MS, self.redraw)
        for signal in (self.paper.currentIndexChanged, self.scale.textEdited,
                       self.angle.textEdited, self.templates.toggled, self.extremes.toggled):
            signal.connect(self._soon)
        self.back.clicked.connect(self._leaf_back)
        self.on.clicked.connect(self._leaf_on)
        self._later.start()

    def options(self) -> SheetOptions:
        """What is chosen; UnitError when it cannot be read."""
        angle, scale = self.angle.text().strip(), self.scale.text().strip()
        return SheetOptions(
            paper=self.paper.currentData(), scale=_scale(scale) if scale else None,
            at_deg=units.parse_angle(angle) if angle else None,
            templates=self.templates.isChecked(), extremes=self.extremes.isChecked())

    @Slot()
    def _soon(self) -> None:
        self._later.start()

    @Slot()
    def redraw(self) -> None:
        """Lay the pages out anew."""
        self._later.stop()
        try:
            if self._study is None:
                known = self._session.finished_study()
                self._study = known or study(self._session.committed)
            self.pages = layout_sheets(self._study, self.options())
        except CrankwrightError as trouble:
            self.error.setText(str(trouble))
            self.go.setEnabled(False)
            return
        self.error.setText("")
        self.go.setEnabled(bool(self.pages))
        self._show(min(self._page, len(self.pages) - 1))

    @Slot()
    def _leaf_back(self) -> None:
        self._show(self._page - 1)

    @Slot()
    def _leaf_on(self) -> None:
        self._show(self._page + 1)

    def _show(self, number: int) -> None:
        from app.pdf import page_image

        self._page = max(number, 0)
        if not self.pages:
            return
        page = self.pages[self._page]
        longest = max(page.width_mm, page.height_mm)
        self._picture = page_image(page, PREVIEW_PX / longest)
        self.count.setText(f"page {self._page + 1} of {len(self.pages)}")
        self.back.setEnabled(self._page > 0)
        self.on.setEnabled(self._page + 1 < len(self.pages))
        self._fit_picture()

    def _fit_picture(self) -> None:
        if self._picture.isNull():
            return
        ratio = self.devicePixelRatioF()
        picture = self._picture.scaled(self.view.size() * ratio,
                                       Qt.AspectRatioMode.KeepAspectRatio,
                                       Qt.TransformationMode.SmoothTransformation)
        picture.setDevicePixelRatio(ratio)
        self.view.setPixmap(QPixmap.fromImage(picture))

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fit_picture()

    @Slot()
    def _accepted(self) -> None:
        self.redraw()
        if self.go.isEnabled() and self._study is not None:
            self.wanted.emit(self._study, self.options())
            self.accept()


def _scale(text: str) -> float:
    """A scale such as "1:2" or "0.5"; raises UnitError."""
    paper, colon, real = text.partition(":")
    value = units.parse_number(paper)
    if colon:
        below = units.parse_number(real)
        value = value / below if below else 0.0
    if not math.isfinite(value) or value <= 0:
        raise UnitError(f"{text!r} is not a scale", mend='write it as "1:2"')
    return value
