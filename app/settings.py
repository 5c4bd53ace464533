"""What is remembered between starts: recent files, window, the hint."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import QSettings, QStandardPaths

MOST_RECENT = 10


def user_settings() -> QSettings:
    """The settings of this user."""
    return QSettings("Crankwright", "Crankwright")


def state_folder() -> Path:
    """Where unsaved work is kept against a crash."""
    base = QStandardPaths.writableLocation(
        QStandardPaths.StandardLocation.AppLocalDataLocation)
    return Path(base) / "unsaved"


class RecentFiles:
    """The files opened or saved last, newest first; ones that are gone are left out."""

    def __init__(self, settings: QSettings) -> None:
        self._settings = settings

    def paths(self) -> list[Path]:
        """At most ten files that exist."""
        stored = self._settings.value("files/recent", [])
        names = [stored] if isinstance(stored, str) else list(stored or [])
        return [Path(name) for name in names if Path(name).is_file()]

    def add(self, path: Path) -> None:
        """Put a file first."""
        full = path.absolute()
        rest = [each for each in self.paths() if each != full]
        names = [str(each) for each in [full, *rest]][:MOST_RECENT]
        self._settings.setValue("files/recent", names)

    def clear(self) -> None:
        """Forget all."""
        self._settings.remove("files/recent")
