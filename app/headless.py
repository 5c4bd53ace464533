"""What the commands do. Each takes parsed arguments and returns the exit code; heavy rooms
are imported only by the commands that need them."""

from __future__ import annotations

import argparse
import json
import math
import sys
from collections.abc import Sequence
from importlib import metadata
from pathlib import Path
from typing import TYPE_CHECKING, Any

from app import demos
from app.display import require_display
from app.tables import csv_text
from core import files
from core.errors import MotionError, UnitError
from core.files import load, read_bytes, write_bytes
from core.units import parse_angle, parse_number

if TYPE_CHECKING:
    from core.findings import Finding

_FEWEST_STEPS, _MOST_STEPS = 8, 100_000


def version() -> str:
    """The version of Crankwright as installed."""
    try:
        return f"crankwright {metadata.version('crankwright')}"
    except metadata.PackageNotFoundError:
        return "crankwright (not installed)"


def steps(text: str) -> int:
    """The number of crank steps on a command line."""
    if not (text.isascii() and text.isdigit()
            and _FEWEST_STEPS <= int(text[:9]) <= _MOST_STEPS):
        raise argparse.ArgumentTypeError(
            f"give a whole number from {_FEWEST_STEPS} to {_MOST_STEPS}")
    return int(text)


def angle(text: str) -> float:
    """An angle on a command line, degrees."""
    try:
        return parse_angle(text)
    except UnitError as error:
        raise argparse.ArgumentTypeError(str(error).rstrip(".")) from None


def scale(text: str) -> float:
    """A drawing scale on a command line, ``1:2`` or ``0.5``: paper over real length."""
    paper, colon, real = text.partition(":")
    try:
        value = parse_number(paper) / (parse_number(real) if colon else 1.0)
    except (UnitError, ZeroDivisionError):
        value = 0.0
    if not 1e-3 <= value <= 1e3:
        raise argparse.ArgumentTypeError(f"{text[:20]!r} is not a scale; write it like 1:2")
    return value


def window(given: argparse.Namespace) -> int:
    """Open the window; a damaged sketch is its matter, a missing one is said here."""
    path = Path(given.file) if given.file else None
    if path is not None:
        read_bytes(path)
    require_display()
    from app.window import run

    return run(path)


def demo(given: argparse.Namespace) -> int:
    """Write a demo, or list them."""
    if given.name is None:
        print("\n".join(demos.names()))
    elif given.out is None:
        sys.stdout.write(demos.data(given.name).decode("utf-8"))
    else:
        write_bytes(given.out, demos.data(given.name), keep_previous=True)
    return 0


def turn(given: argparse.Namespace) -> int:
    """Solve the turn and print or write the table."""
    from app.summary import summary
    from core.study import report, study, turn_table

    whole = study(load(given.file), steps=given.steps)
    if whole.turn is None:
        raise _no_turn(whole.findings, Path(given.file).name)
    header, rows = turn_table(whole)
    if given.csv == "-":
        sys.stdout.write(csv_text(header, rows))
    elif given.csv is not None:
        write_bytes(given.csv, csv_text(header, rows).encode("utf-8"))
    if given.json:
        about = report(whole)
        kept = {key: about[key] for key in
                ("title", "crank_turns", "goes_round", "limits", "mobility")}
        print(as_json({**kept, "columns": list(header), "rows": [list(row) for row in rows]}))
    elif given.csv is None:
        print(summary(whole))
    return 0


def check(given: argparse.Namespace) -> int:
    """Print the findings; 1 when there is a fault or a warning."""
    from app.summary import finding_line
    from core.study import report, study

    about = report(study(load(given.file)))
    if given.json:
        print(as_json(about))
    else:
        print("\n".join(map(finding_line, about["findings"])) or "Nothing found.")
    return int(any(one["grade"] != "note" for one in about["findings"]))


def sheets(given: argparse.Namespace) -> int:
    """Write the layout sheets."""
    from app.pdf import write_sheets
    from core.drawing import SheetOptions
    from core.study import study

    chosen: dict[str, Any] = {
        "paper": given.paper, "at_deg": given.at, "scale": given.scale,
        "templates": False if given.no_templates else None,
    }
    options = SheetOptions(**{key: value for key, value in chosen.items() if value is not None})
    write_sheets(study(load(given.file)), Path(given.out), options)
    return 0


def schema(given: argparse.Namespace) -> int:
    """Print the JSON Schema."""
    print(as_json(files.schema()))
    return 0


def bench(argv: Any) -> int:
    """Measure, with the arguments of :mod:`app.bench`."""
    from app.bench import main

    return int(main(list(argv)) or 0)


def _no_turn(found: Sequence[Finding], where: str) -> MotionError:
    """Why a sketch has no turn, from its gravest finding, as one sentence."""
    if not found:
        return MotionError("there is nothing to turn", where, "add parts, pins and a crank")
    text, mend = (f"{words[:1].lower()}{words[1:]}".rstrip(".").replace(". ", "; ")
                  for words in (found[0].text, found[0].mend))
    return MotionError(text, where, mend)


def as_json(value: Any) -> str:
    """JSON as all commands print it; null for numbers that are none."""
    return json.dumps(_finite(value), ensure_ascii=False, indent=1, allow_nan=False)


def _finite(value: Any) -> Any:
    """JSON has no NaN: null stands for it."""
    if isinstance(value, dict):
        return {key: _finite(inner) for key, inner in value.items()}
    if isinstance(value, (list, tuple)):
        return [_finite(inner) for inner in value]
    if isinstance(value, (bool, int, str)) or value is None:
        return value
    return float(value) if math.isfinite(value) else None
