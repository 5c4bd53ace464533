"""Play, reverse, speed, slider and number box for the crank."""

from __future__ import annotations

import math

from PySide6.QtCore import QSignalBlocker, Qt, Slot
from PySide6.QtWidgets import (
    QComboBox,
    QDoubleSpinBox,
    QHBoxLayout,
    QSlider,
    QToolButton,
    QWidget,
)

from app.commands.cranking import SPEEDS
from app.session import Session

#: Slider steps per degree.
FINE = 10


class Transport(QWidget):
    """The means to turn the crank that are not the canvas or the lanes."""

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self.play = QToolButton(self)
        self.play.setCheckable(True)
        self.play.setText("▶  Turn")
        self.play.setToolTip("Start and stop the crank (Shift+Space)")
        self.reverse = QToolButton(self)
        self.reverse.setCheckable(True)
        self.reverse.setText("⟲")
        self.reverse.setToolTip("Turn the other way round (R)")
        self.speed = QComboBox(self)
        for value in SPEEDS:
            self.speed.addItem(f"× {value:g}", value)
        self.speed.setToolTip("Speed, against the rpm of the sketch")
        self.slider = QSlider(Qt.Orientation.Horizontal, self)
        self.slider.setToolTip("Crank angle")
        self.number = QDoubleSpinBox(self)
        self.number.setDecimals(1)
        self.number.setSuffix("°")
        self.number.setKeyboardTracking(False)
        self.number.setToolTip("Crank angle in degrees")
        for widget, name in ((self.play, "Turn the crank"), (self.reverse, "Other way round"),
                             (self.speed, "Speed"), (self.slider, "Crank angle"),
                             (self.number, "Crank angle in degrees")):
            widget.setAccessibleName(name)
        self.row = QHBoxLayout(self)
        self.row.setContentsMargins(10, 5, 10, 5)
        for widget in (self.play, self.reverse, self.speed):
            self.row.addWidget(widget)
        self.row.addWidget(self.slider, 1)
        self.row.addWidget(self.number)

        player = session.player
        self.play.clicked.connect(self._play_clicked)
        self.reverse.clicked.connect(self._reverse_clicked)
        self.speed.activated.connect(self._speed_chosen)
        self.slider.valueChanged.connect(self._slider_moved)
        self.number.valueChanged.connect(self._number_typed)
        player.playing_changed.connect(self._follow_player)
        player.manner_changed.connect(self._follow_player)
        session.crank_changed.connect(self._follow_crank)
        self._follow_player()

    def set_span(self, low_deg: float, high_deg: float) -> None:
        """The crank angles between which slider and box move."""
        blocked = QSignalBlocker(self.slider), QSignalBlocker(self.number)
        whole = high_deg - low_deg >= 360
        # The end of a whole turn is its beginning: a slider there would jump back.
        self.slider.setRange(round(low_deg * FINE), round(high_deg * FINE) - whole)
        self.slider.setPageStep(10 * FINE)
        self.slider.setSingleStep(FINE)
        self.number.setRange(low_deg, high_deg)
        self.number.setWrapping(whole)
        del blocked
        self._follow_crank(self._session.crank_rad)

    @Slot()
    def _play_clicked(self) -> None:
        self._session.player.set_playing(
            self.play.isChecked() and self._session.sketch.drive is not None)
        self._follow_player()

    @Slot()
    def _reverse_clicked(self) -> None:
        self._session.player.set_way(-1 if self.reverse.isChecked() else 1)

    @Slot(int)
    def _speed_chosen(self, place: int) -> None:
        self._session.player.set_speed(float(self.speed.itemData(place)))

    @Slot(int)
    def _slider_moved(self, value: int) -> None:
        self._session.set_crank(math.radians(value / FINE))

    @Slot(float)
    def _number_typed(self, deg: float) -> None:
        self._session.set_crank(math.radians(deg))

    @Slot()
    def _follow_player(self) -> None:
        player = self._session.player
        self.play.setChecked(player.playing)
        self.play.setText("❚❚  Stop" if player.playing else "▶  Turn")
        self.reverse.setChecked(player.way < 0)
        self.speed.setCurrentIndex(self.speed.findData(player.speed))

    @Slot(float)
    def _follow_crank(self, crank_rad: float) -> None:
        deg = math.degrees(crank_rad)
        blocked = QSignalBlocker(self.slider), QSignalBlocker(self.number)
        self.slider.setValue(round(deg * FINE))
        if not self.number.hasFocus() or abs(self.number.value() - deg) > 0.05:
            self.number.setValue(deg)
        del blocked
