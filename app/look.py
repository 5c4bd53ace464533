"""How the drawing is shown: theme, grid, snap, paths. Kept between starts."""

from __future__ import annotations

from PySide6.QtCore import QObject, QSettings, Qt, Signal
from PySide6.QtGui import QGuiApplication

from app.theme import DARK, LIGHT, Theme

#: Things that can be switched on and off, with what they are at the first start.
SWITCHES = {"grid": True, "snap": True, "paths": True, "wishes": True, "labels": True,
            "symbols": True}


class Look(QObject):
    """View settings; none of them belongs to the sketch, so none is undone.

    `changed` is emitted after any change.
    """

    changed = Signal()

    def __init__(self, settings: QSettings | None = None,
                 parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._settings = settings
        self._on = {name: self._stored(name, default) for name, default in SWITCHES.items()}
        self._mode = str(settings.value("look/theme", "auto")) if settings else "auto"
        self._hidden: frozenset[str] = frozenset()
        hints = QGuiApplication.styleHints() if QGuiApplication.instance() else None
        if hints is not None:
            hints.colorSchemeChanged.connect(self._system_changed)

    def _stored(self, name: str, default: bool) -> bool:
        if self._settings is None:
            return default
        return self._settings.value(f"look/{name}", default, type=bool) is True

    @property
    def mode(self) -> str:
        """"light", "dark" or "auto" (as the system has it)."""
        return self._mode

    @property
    def theme(self) -> Theme:
        """The theme shown now."""
        if self._mode == "auto":
            scheme = QGuiApplication.styleHints().colorScheme()
            return DARK if scheme == Qt.ColorScheme.Dark else LIGHT
        return DARK if self._mode == "dark" else LIGHT

    def set_mode(self, mode: str) -> None:
        """Choose "light", "dark" or "auto"."""
        self._mode = mode
        if self._settings is not None:
            self._settings.setValue("look/theme", mode)
        self.changed.emit()

    def shows(self, name: str) -> bool:
        """Whether "grid", "snap", "paths", "wishes", "labels" or "symbols" is on."""
        return self._on[name]

    def set_shown(self, name: str, on: bool) -> None:
        """Switch one of them."""
        if self._on[name] != on:
            self._on[name] = on
            if self._settings is not None:
                self._settings.setValue(f"look/{name}", on)
            self.changed.emit()

    @property
    def hidden(self) -> frozenset[str]:
        """Ids of parts not drawn (and not to be hit by the mouse)."""
        return self._hidden

    def set_hidden(self, part_id: str, hide: bool) -> None:
        """Hide or show a part; its motion and checks go on."""
        now = self._hidden | {part_id} if hide else self._hidden - {part_id}
        if now != self._hidden:
            self._hidden = now
            self.changed.emit()

    def show_all(self) -> None:
        """Show every part again."""
        if self._hidden:
            self._hidden = frozenset()
            self.changed.emit()

    def _system_changed(self) -> None:
        if self._mode == "auto":
            self.changed.emit()
