"""Asking for a file."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QFileDialog, QWidget


def ask_open(parent: QWidget, title: str, folder: Path, kinds: str,
             then: Callable[[str], None]) -> QFileDialog:
    """Ask for a file that exists; `then` gets its name when one is chosen."""
    dialog = QFileDialog(parent, title, str(folder), kinds)
    dialog.setFileMode(QFileDialog.FileMode.ExistingFile)
    return _opened(dialog, then)


def ask_save(parent: QWidget, title: str, start: Path, kinds: str, ending: str,
             then: Callable[[str], None]) -> QFileDialog:
    """Ask where to write (a file that exists is written over only when the user says so);
    a name without an ending gets `ending`."""
    dialog = QFileDialog(parent, title, str(start.parent), kinds)
    dialog.setAcceptMode(QFileDialog.AcceptMode.AcceptSave)
    dialog.setDefaultSuffix(ending)
    dialog.selectFile(start.name)
    return _opened(dialog, then)


def _opened(dialog: QFileDialog, then: Callable[[str], None]) -> QFileDialog:
    dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
    dialog.fileSelected.connect(then)
    dialog.open()
    return dialog


def plain_name(text: str) -> str:
    """A title as the name of a file: letters, digits, hyphens, underscores and spaces."""
    name = "".join(c if c.isalnum() or c in "-_ " else "-" for c in text.strip())
    return name or "sketch"
