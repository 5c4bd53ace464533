"""``python -m app.figures [FOLDER] [--only NAME]``: draw the documentation's figures,
``windows`` being the gallery and what comes of it, ``pleasant`` the advisor on the crank,
``locks`` that on holds."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from pathlib import Path

from app.figures import effort, holding, locks, wanted
from app.figures.windows import write_locks, write_pleasant, write_windows

FIGURES = {**wanted.FIGURES, **effort.FIGURES, **holding.FIGURES, **locks.FIGURES}
WINDOWS = {"windows": write_windows, "pleasant": write_pleasant, "locks": write_locks}
TARGET = Path(__file__).parents[2] / "docs" / "pictures"


def main(argv: Sequence[str] | None = None) -> int:
    """Write the figures as SVG; the exit code."""
    parser = argparse.ArgumentParser(prog="python -m app.figures", description=__doc__)
    parser.add_argument("folder", nargs="?", type=Path, default=TARGET)
    parser.add_argument("--only", choices=[*FIGURES, *WINDOWS], action="append")
    given = parser.parse_args(argv)
    given.folder.mkdir(parents=True, exist_ok=True)
    for name in given.only or [*FIGURES, *WINDOWS]:
        if name in WINDOWS:
            WINDOWS[name](given.folder)
        else:
            (given.folder / f"{name}.svg").write_text(FIGURES[name](), encoding="utf-8")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
