"""The fit panel: what is wished and how far off it is, what may move, start and stop."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from PySide6.QtCore import QRectF, QSize, Qt, Signal, Slot
from PySide6.QtGui import QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QResizeEvent
from PySide6.QtWidgets import (
    QCheckBox,
    QFrame,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QProgressBar,
    QPushButton,
    QScrollArea,
    QSizePolicy,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from app import engine, icons
from app.later import Later
from app.panels.trail import Trail
from app.seeking.fit_run import FitRun
from app.session import Session
from core import units
from core.model.edits import fitting

if TYPE_CHECKING:
    from core.wanted.measure import Met

#: While a fit runs, the numbers are written this often and no oftener.
REFRESH_MS = 100
#: What it means to let the crank rock.
ROCKING = "It need not go all the way round, only to and fro through all wished places."


class MetMark(QWidget):
    """Whether a wish is met: a tick or a triangle, so that colour alone says nothing."""

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session, self.met = session, False
        self.setFixedSize(QSize(16, 16))

    def set_met(self, met: bool) -> None:
        """Show one or the other."""
        self.met = met
        self.setToolTip("Met: no error is above the tolerance" if met else
                        "Missed: some error is above the tolerance")
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        icons.paint_met(painter, self.met, QRectF(1, 1, 14, 14), self._session.look.theme)
        painter.end()


class WishName(QLabel):
    """The name of a wish: `pressed(name)` on a click or Enter."""

    pressed = Signal(str)

    def __init__(self, name: str, parent: QWidget | None = None) -> None:
        super().__init__(name, parent)
        self.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        self.setCursor(Qt.CursorShape.PointingHandCursor)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        if self.rect().contains(event.position().toPoint()):
            self.pressed.emit(self.text())

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Space):
            self.pressed.emit(self.text())
        else:
            super().keyPressEvent(event)


class FitPanel(QFrame):
    """`closed()` when it is sent away."""

    closed = Signal()

    def __init__(self, session: Session, run: FitRun, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session, self.run = session, run
        self._before: dict[str, Met] = {}
        self._rows: dict[str, tuple[MetMark, QLabel, QLabel]] = {}
        self.setAccessibleName("Fit")
        self._build()
        self._later = Later(self, REFRESH_MS, self.refresh)
        self._was_running = False
        run.changed.connect(self._run_changed)
        session.study_changed.connect(self._soon)
        session.look.changed.connect(self.update)
        self.refresh()

    def _build(self) -> None:
        heading = QLabel("Fit", self)
        heading.setProperty("role", "heading")
        self.close_button = QToolButton(self)
        self.close_button.setText("×")
        self.close_button.setAccessibleName("Close the fit panel")
        self.close_button.setToolTip("Close; a fit that runs is stopped and its best kept")
        self.close_button.setAutoRaise(True)
        self.close_button.setFixedSize(28, 24)
        head = QHBoxLayout()
        head.addWidget(heading, 1)
        head.addWidget(self.close_button)
        self.wish_page = QWidget(self)
        self.wish_page.setMinimumWidth(1)
        self._grid = QGridLayout(self.wish_page)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(8)
        self._grid.setVerticalSpacing(3)
        self._grid.setColumnStretch(1, 1)
        self.wish_area = QScrollArea(self)
        self.wish_area.setWidgetResizable(True)
        self.wish_area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.wish_area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.wish_area.setWidget(self.wish_page)
        self.free_line = _wrapped(self, "faint")
        self.rock_box = QCheckBox("The crank may rock", self)
        self.rock_box.setToolTip(ROCKING)
        self.rock_line = _wrapped(self, "faint")
        self.rock_line.setText(ROCKING)
        self.words = _wrapped(self)
        self.trail = Trail(self._session.look, self)
        self.bar = QProgressBar(self)
        self.bar.setRange(0, 1000)
        self.bar.setTextVisible(False)
        self.bar.setFixedHeight(6)
        self.stage = _wrapped(self, "faint")
        self.start_button = QPushButton("Fit", self)
        self.back_button = QPushButton("Put back", self)
        self.back_button.setToolTip("Show the sketch as it was before the fit (Esc)")
        buttons = QHBoxLayout()
        buttons.addWidget(self.start_button)
        buttons.addWidget(self.back_button)
        buttons.addStretch(1)
        column = QVBoxLayout(self)
        column.setContentsMargins(12, 2, 12, 10)
        column.setSpacing(6)
        column.addLayout(head)
        self.free_line.setToolTip("To hold a joint where it is, select its pin and tick "
                                  "“Locked in place” above")
        column.addWidget(self.wish_area)
        column.addWidget(self.free_line)
        column.addWidget(self.rock_box)
        column.addWidget(self.rock_line)
        column.addWidget(self.trail)
        column.addWidget(self.bar)
        column.addWidget(self.stage)
        column.addLayout(buttons)  # above the words, so that they stay under the mouse
        column.addWidget(self.words)
        self.close_button.clicked.connect(self._close)
        self.rock_box.clicked.connect(self._let_rock)
        self.start_button.clicked.connect(self._start_or_stop)
        self.back_button.clicked.connect(self.run.put_back)

    # -- doing -------------------------------------------------------------------------

    @Slot()
    def _start_or_stop(self) -> None:
        if self.run.running:
            self.run.stop()
        else:
            self.run.start()

    @Slot(bool)
    def _let_rock(self, on: bool) -> None:
        self.run.settle()
        self._session.commit("Change how the crank may go",
                             fitting.let_rock(self._session.committed, on))
        self.refresh()

    @Slot(str)
    def _show_wish(self, name: str) -> None:
        """Choose a wish, and turn the crank to where it is missed most."""
        met = self._mets().get(name)
        if met is not None and math.isfinite(met.crank_rad):
            self._session.player.set_playing(False)
            self._session.set_crank(met.crank_rad)
        self._session.select([("wish", name)])

    @Slot()
    def _close(self) -> None:
        self.run.settle()
        self.closed.emit()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape:
            if self.run.running:
                self.run.put_back()
            else:
                self._close()
        else:
            super().keyPressEvent(event)

    # -- showing -----------------------------------------------------------------------

    @Slot()
    def _run_changed(self) -> None:
        if self.run.running and not self._was_running:
            self._before = self._mets()
        elif not self.run.running and not self.run.can_put_back:
            self._before = {}
        edge, self._was_running = self.run.running != self._was_running, self.run.running
        if edge or not self.run.running:
            self.refresh()
        else:
            self._soon()

    @Slot()
    def _soon(self) -> None:
        if self.isVisible():
            self._later.soon()

    def showEvent(self, event: object) -> None:
        self.refresh()

    def _mets(self) -> dict[str, Met]:
        study = self._session.study
        return {met.wish: met for met in getattr(study, "wanted", ())}

    @Slot()
    def refresh(self) -> None:
        """Write everything anew, when it is seen."""
        if not self.isVisible():
            return
        run = self.run
        self._refresh_wishes()
        self.free_line.setText(self._free_text())
        self.free_line.setVisible(bool(self.free_line.text()))
        rocking = self._session.committed.fit.rocking
        self.rock_box.setChecked(rocking)
        self.rock_line.setVisible(rocking)
        self.trail.show_errors(run.trail)
        self.trail.setVisible(bool(run.trail))
        self.bar.setVisible(run.running)
        self.bar.setValue(round(1000 * run.done))
        self.stage.setVisible(run.running)
        known = bool(run.trail) and math.isfinite(run.trail[-1])
        error = f" · error {_number(run.trail[-1])} tolerances" if known else ""
        self.stage.setText(f"{run.stage.capitalize()}{error}")
        told = "\n".join(run.words)
        self.words.setText(told)
        self.words.setVisible(bool(told) and not run.running)
        self.start_button.setText("Stop" if run.running else
                                  "Fit again" if run.can_put_back else "Fit")
        self.start_button.setToolTip(
            "Stop, and keep the best so far" if run.running else
            "Try once more, from other starts" if run.can_put_back else
            "Move what is not locked until the wishes are met as well as may be (F9)")
        self.back_button.setEnabled(run.running or run.can_put_back)
        self._take_room()

    def _take_room(self) -> None:
        """No more height than there is something to say."""
        layout = self.layout()
        layout.activate()
        wrapped = layout.totalHeightForWidth(self.width())  # −1 where nothing wraps
        self.setMaximumHeight(wrapped if wrapped > 0 else layout.totalSizeHint().height())

    def resizeEvent(self, event: QResizeEvent) -> None:
        if event.size().width() != event.oldSize().width():
            self._take_room()
        super().resizeEvent(event)

    def _refresh_wishes(self) -> None:
        sketch = self._session.sketch
        if tuple(self._rows) != tuple(wish.id for wish in sketch.wanted):
            self._make_rows([wish.id for wish in sketch.wanted])
        mets = self._mets()
        if self.run.running and not self._before:
            self._before = mets  # the fit began before the sketch was ever measured
        for name, (mark, label, numbers) in self._rows.items():
            met = mets.get(name)
            mark.setVisible(met is not None)
            numbers.setText("not measured" if met is None else
                            _before_and_now(self._before.get(name), met, sketch.units))
            if met is not None:
                mark.set_met(met.met)
                for widget in (label, numbers):
                    widget.setToolTip(met.text)
        self.wish_area.setVisible(bool(self._rows))
        self.wish_area.setFixedHeight(min(self.wish_page.sizeHint().height(), 150) + 2)

    def _make_rows(self, names: list[str]) -> None:
        for row in self._rows.values():
            for widget in row:
                self._grid.removeWidget(widget)
                widget.deleteLater()
        self._rows = {}
        for at, name in enumerate(names):
            mark = MetMark(self._session, self.wish_page)
            label = WishName(name, self.wish_page)
            label.pressed.connect(self._show_wish)
            policy = label.sizePolicy()
            policy.setHorizontalPolicy(QSizePolicy.Policy.Ignored)
            label.setSizePolicy(policy)
            numbers = QLabel(self.wish_page)
            for column, widget in enumerate((mark, label, numbers)):
                self._grid.addWidget(widget, at, column)
            self._rows[name] = (mark, label, numbers)

    def _free_text(self) -> str:
        sketch = self._session.committed
        if not sketch.parts:
            return ""
        free, held = engine.free_points(sketch)
        if not free:
            return "Nothing may move: unlock some points."
        told = f"{free} joint{'s' if free != 1 else ''} may move"
        if sketch.fit.free:
            return f"{told}, as chosen under Particulars."
        return told + (f"; {held} locked." if held else
                       ", for none is locked: select a pin and tick “Locked in place” "
                       "to hold it.")


def _wrapped(parent: QWidget, role: str = "") -> QLabel:
    """A label that wraps to the panel's width and never widens it."""
    label = QLabel(parent)
    label.setWordWrap(True)
    if role:
        label.setProperty("role", role)
    policy = label.sizePolicy()
    policy.setHorizontalPolicy(QSizePolicy.Policy.Ignored)
    label.setSizePolicy(policy)
    return label


def _before_and_now(before: Met | None, now: Met, shown: str) -> str:
    """"3.1 mm → 0.4 mm": the mean error, before the fit where that was another."""
    old, new = ("" if met is None else _error(met, shown) for met in (before, now))
    return f"{old} → {new}" if old and old != new else new


def _error(met: Met, shown: str) -> str:
    return units.show_error(met.rms, met.unit, shown) if math.isfinite(met.rms) \
        else "not reached"


def _number(value: float) -> str:
    return f"{value:.2g}" if value >= 1e-4 else "below 0.0001"
