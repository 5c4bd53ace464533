"""Play, reverse, speed, slider and number box for the crank."""

from __future__ import annotations

import math
from dataclasses import dataclass

from PySide6.QtCore import QEvent, QSignalBlocker, QSize, Qt, Slot
from PySide6.QtGui import QResizeEvent
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
#: A slider shorter than this is of no use.
LEAST_PX = 60
#: So much more a button with the focus takes while it is down, for its wider border.
FOCUS_PX = 2
#: What the play button says (standing, playing), with room for words and without.
PLAY = {True: ("▶  Turn", "❚❚  Stop"), False: ("▶", "❚❚")}


@dataclass
class _Widths:
    """Of the play button and of everything, pixels."""

    play: int = 0
    whole: int = 0


class Transport(QWidget):
    """The means to turn the crank that are not the canvas or the lanes, and a button to
    choose these. Where there is no room for words the signs alone stay, and the slider
    goes: the lanes under it do the same."""

    _stale = True

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self._sides = {True: _Widths(), False: _Widths()}
        self._wordy = True
        self.play = QToolButton(self)
        self.play.setCheckable(True)
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
        self.slider.setMinimumWidth(LEAST_PX)
        self.number = QDoubleSpinBox(self)
        self.number.setDecimals(1)
        self.number.setSuffix("°")
        self.number.setKeyboardTracking(False)
        self.number.setToolTip("Crank angle in degrees")
        self.chooser = QToolButton(self)
        self.chooser.setToolTip("Which lanes are shown")
        self.chooser.setPopupMode(QToolButton.ToolButtonPopupMode.InstantPopup)
        for widget, name in ((self.play, "Turn the crank"), (self.reverse, "Other way round"),
                             (self.speed, "Speed"), (self.slider, "Crank angle"),
                             (self.number, "Crank angle in degrees"),
                             (self.chooser, "Lanes")):
            widget.setAccessibleName(name)
        self.row = QHBoxLayout(self)
        for widget in (self.play, self.reverse, self.speed):
            self.row.addWidget(widget)
        self.row.addWidget(self.slider, 1)
        self.row.addWidget(self.number)
        self.row.addWidget(self.chooser)
        self._measure()
        self._stale = True

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

    def minimumSizeHint(self) -> QSize:
        return QSize(self._sides[False].whole, self.row.minimumSize().height())

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fit()

    def changeEvent(self, event: QEvent) -> None:
        super().changeEvent(event)
        if event.type() in (QEvent.Type.FontChange, QEvent.Type.StyleChange):
            self._stale = True

    def event(self, event: QEvent) -> bool:
        # Asked for a layout, the buttons have the new font and style too.
        if event.type() == QEvent.Type.LayoutRequest and self._stale:
            self._measure()
        return super().event(event)

    def _measure(self) -> None:
        """How wide everything is, with words and without."""
        self._stale = False
        for wordy, sides in self._sides.items():
            sides.play = 0
            self._set_wordy(wordy)
            for text in PLAY[wordy]:
                self.play.setText(text)
                sides.play = max(sides.play, self.play.sizeHint().width())
            sides.play += FOCUS_PX
            self._set_wordy(wordy)
            self.row.invalidate()
            sides.whole = self.row.minimumSize().width()
        self._set_wordy(self.width() >= self._sides[True].whole)
        self.updateGeometry()

    def _fit(self) -> None:
        wordy = self.width() >= self._sides[True].whole
        if wordy != self._wordy:
            self._set_wordy(wordy)
            self.row.activate()

    def _set_wordy(self, wordy: bool) -> None:
        self._wordy = wordy
        side = 10 if wordy else 4
        self.row.setContentsMargins(side, 5, side, 5)
        # The same for both its texts, so that nothing moves when it is pressed.
        self.play.setMinimumWidth(self._sides[wordy].play)
        self.slider.setVisible(wordy)
        self.chooser.setText("Lanes ▾" if wordy else "▾")
        self._say_play()

    def _say_play(self) -> None:
        playing = self._session.player.playing
        self.play.setChecked(playing)
        self.play.setText(PLAY[self._wordy][playing])

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
        self._say_play()
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
