"""``crankwright bench``: how fast it is, measured in one run on this machine.

Times of one call are the best of many; ratios compare two things measured in the same run,
so they hold on other machines too. Nothing here is a test: a slow machine is not a fault.
"""

from __future__ import annotations

import argparse
import json
import os
import platform
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from app.memory import keep_freed_memory

if TYPE_CHECKING:
    from app.bench.clock import Row


def main(argv: Sequence[str] | None = None) -> int:
    """Measure and print a table (or JSON); 0 whatever the figures are."""
    parser = argparse.ArgumentParser(
        prog="crankwright bench", description="Measures how fast Crankwright is here.")
    parser.add_argument("--json", action="store_true", help="print JSON instead of a table")
    parser.add_argument("--no-window", action="store_true",
                        help="leave out what needs Qt (windows are drawn offscreen)")
    parser.add_argument("--no-wanted", action="store_true",
                        help="leave out fitting and finding")
    given = parser.parse_args(argv)
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
    keep_freed_memory()  # as the window does
    rows = _rows(window=not given.no_window, wanted=not given.no_wanted)
    if given.json:
        print(json.dumps([_plain(row) for row in rows], ensure_ascii=False, indent=1))
        return 0
    print(f"Python {platform.python_version()}, {os.cpu_count()} cores, "
          f"{platform.machine()}; a machine busy with other things shows more\n")
    for row in rows:
        print(_line(row), flush=True)
    return 0


def _rows(window: bool, wanted: bool) -> Iterator[Row]:
    from app.bench.solving import solving_rows

    yield from solving_rows()
    if wanted:
        from app.bench.wanting import wanting_rows

        yield from wanting_rows()
    if window:
        from app.bench.showing import showing_rows

        yield from showing_rows()


def _line(row: Row) -> str:
    target = verdict = ""
    if row.target is not None:
        target = f"{'≥' if row.least else '≤'} {row.target:g} {row.unit}"
        verdict = "met" if row.met else "MISSED"
    return f"{row.what:<58}{row.value:>12.4g} {row.unit:<3} {target:<12} {verdict}".rstrip()


def _plain(row: Row) -> dict[str, object]:
    return {"what": row.what, "value": row.value, "unit": row.unit, "target": row.target,
            "least": row.least, "met": row.met}
