"""The picture of the window in the README: ``python -m app.picture`` draws it anew.

The real window is shown on a demo without a screen and grabbed when its study is there.
"""

from __future__ import annotations

import argparse
import os
import tempfile
from collections.abc import Sequence
from pathlib import Path

WIDE_PX, HIGH_PX = 1360, 850
TARGET = Path(__file__).parents[1] / "assets" / "window.png"


def main(argv: Sequence[str] | None = None) -> int:
    """Grab the window on a demo; the exit code."""
    parser = argparse.ArgumentParser(prog="python -m app.picture", description=__doc__)
    parser.add_argument("demo", nargs="?", default="rowing-otter")
    parser.add_argument("-o", "--out", type=Path, default=TARGET)
    parser.add_argument("--crank-deg", type=float, default=40.0)
    parser.add_argument("--dark", action="store_true")
    given = parser.parse_args(argv)
    os.environ["QT_QPA_PLATFORM"] = "offscreen"
    grab(given.demo, given.out, given.crank_deg, "dark" if given.dark else "light")
    return 0


def grab(demo: str, out: Path, crank_deg: float, mode: str) -> None:
    """Write the picture of the window on a demo at a crank angle as PNG."""
    import math

    from PySide6.QtCore import QEventLoop, QSettings, QTimer

    from app.panels import hint
    from app.window import MainWindow, application

    app = application()
    with tempfile.TemporaryDirectory() as folder:
        settings = QSettings(str(Path(folder) / "settings.ini"), QSettings.Format.IniFormat)
        settings.setValue(hint.KEY, True)
        window = MainWindow(settings, Path(folder) / "unsaved")
        window.resize(WIDE_PX, HIGH_PX)
        window.session.look.set_mode(mode)
        window.show()
        window.filing.load_demo(demo)
        loop = QEventLoop()
        window.session.study_changed.connect(loop.quit)
        QTimer.singleShot(60_000, loop.quit)
        loop.exec()
        window.session.set_crank(math.radians(crank_deg))
        window.session.select([])
        window.canvas.setFocus()
        settled = QEventLoop()
        QTimer.singleShot(400, settled.quit)
        settled.exec()
        window.grab().save(str(out), "PNG")
        window.close()
    app.quit()


if __name__ == "__main__":
    raise SystemExit(main())
