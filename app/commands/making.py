"""What leaves the window: sheets, printer, tables, pictures."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QBuffer, QByteArray, QIODevice, QObject, Slot
from PySide6.QtWidgets import QDialog

from app.dialogs.ask import tell
from app.dialogs.files import ask_save, plain_name
from app.tables import csv_text
from core.errors import CrankwrightError
from core.files import write_bytes

if TYPE_CHECKING:
    from PySide6.QtPrintSupport import QPrintDialog, QPrinter

    from app.dialogs.sheets import SheetsDialog
    from app.window import MainWindow
    from core.drawing import SheetOptions
    from core.study import Study

#: The picture of the canvas is drawn with this many pixels to one of the screen's.
PICTURE_RATIO = 2


class Making(QObject):
    """Prints and exports the sketch of a window."""

    def __init__(self, window: MainWindow) -> None:
        super().__init__(window)
        self._window, self._session = window, window.session
        self.dialog: SheetsDialog | None = None
        self.printing: QPrintDialog | None = None
        self._printer: QPrinter | None = None
        self._ready: tuple[Study, SheetOptions] | None = None

    def export_sheets(self) -> None:
        """Look at the sheets, then choose where the PDF goes."""
        self._open_sheets("Write PDF…", self._ask_pdf)

    def print_sheets(self) -> None:
        """Look at the sheets, then choose a printer."""
        self._open_sheets("Print…", self._ask_printer)

    def _open_sheets(self, verb: str, then: Callable[[object, object], None]) -> None:
        from app.dialogs.sheets import SheetsDialog

        self.dialog = SheetsDialog(self._session, verb, self._window)
        self.dialog.wanted.connect(then)
        self.dialog.open()

    @Slot(object, object)
    def _ask_pdf(self, study: Study, options: SheetOptions) -> None:
        self._ready = study, options
        self._choose("Sheets to PDF", "pdf", "PDF (*.pdf)", self.write_pdf)

    @Slot(str)
    def write_pdf(self, name: str) -> None:
        """Write the sheets looked at last."""
        from app.pdf import write_sheets

        if self._ready is not None:
            self._write(name, lambda: write_sheets(self._ready[0], name, self._ready[1]))

    @Slot(object, object)
    def _ask_printer(self, study: Study, options: SheetOptions) -> None:
        from PySide6.QtPrintSupport import QPrintDialog, QPrinter

        self._ready = study, options
        self._printer = QPrinter(QPrinter.PrinterMode.HighResolution)
        self._printer.setDocName(study.sketch.title or "Crankwright")
        self.printing = QPrintDialog(self._printer, self._window)
        self.printing.finished.connect(self._print)
        # QPrintDialog hides the plain open() behind one for a slot's name.
        QDialog.open(self.printing)

    @Slot(int)
    def _print(self, answer: int) -> None:
        from app.pdf import dated_sheets, print_pages

        accepted = answer == QDialog.DialogCode.Accepted
        if not accepted or self._ready is None or self._printer is None:
            return
        try:
            print_pages(self._printer, dated_sheets(*self._ready))
        except CrankwrightError as trouble:
            tell(self._window, "Nothing was printed.", str(trouble))

    def export_table(self) -> None:
        """Choose where the turn table goes."""
        self._choose("Turn table to CSV", "csv", "Tables (*.csv)", self.write_table)

    @Slot(str)
    def write_table(self, name: str) -> None:
        """Write places, angles and torque over the turn."""
        from core.study import study, turn_table

        def write() -> None:
            known = self._session.study if self._session.study_is_current else None
            header, rows = turn_table(known or study(self._session.committed))
            write_bytes(name, csv_text(header, rows).encode())

        self._write(name, write)

    def export_picture(self) -> None:
        """Choose where the picture goes."""
        self._choose("Picture of the canvas", "png", "Pictures (*.png)", self.write_picture)

    @Slot(str)
    def write_picture(self, name: str) -> None:
        """Write what the canvas shows."""
        from PySide6.QtGui import QPixmap

        canvas = self._window.canvas
        picture = QPixmap(canvas.size() * PICTURE_RATIO)
        picture.setDevicePixelRatio(PICTURE_RATIO)
        canvas.render(picture)
        data = QByteArray()
        buffer = QBuffer(data)
        buffer.open(QIODevice.OpenModeFlag.WriteOnly)
        picture.save(buffer, "PNG")
        buffer.close()
        self._write(name, lambda: write_bytes(name, data.data()))

    def _choose(self, title: str, ending: str, kinds: str,
                then: Callable[[str], None]) -> None:
        path = self._session.path
        stem = path.stem if path else plain_name(self._session.sketch.title)
        folder = path.parent if path else Path.home()
        ask_save(self._window, title, folder / f"{stem}.{ending}", kinds, ending, then)

    def _write(self, name: str, write: Callable[[], object]) -> None:
        try:
            write()
        except (CrankwrightError, OSError) as trouble:
            tell(self._window, f"{Path(name).name} could not be written.", str(trouble))
        else:
            self._session.told.emit(f"Written to {Path(name).name}.")
