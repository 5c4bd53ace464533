"""The command ``fit``: the points of a sketch put where its wishes are met best."""

from __future__ import annotations

import argparse
import math
from pathlib import Path
from typing import TYPE_CHECKING, Any

from msgspec.structs import replace

from app.headless import as_json
from app.searching import add_seed, count, searching
from core.errors import SketchError
from core.files import load, save
from core.model import Sketch
from core.model.edits.fitting import let_rock

if TYPE_CHECKING:
    from core.wanted.fit import Fitting
    from core.wanted.measure import Met

#: Numbers of starts end here: beyond lies only a slip of the pen.
MOST_STARTS = 1000


def arguments(parser: argparse.ArgumentParser) -> None:
    """What the command takes."""
    parser.add_argument("file", metavar="FILE", help="the sketch")
    parser.add_argument("-o", "--out", metavar="OUT", help="where to write the tuned sketch "
                        "(default: only tell)")
    parser.add_argument("--free", nargs="+", action="extend", default=[],
                        metavar="PART.POINT",
                        help="the only points that may move (default: as in the sketch, "
                        "else all that are not locked)")
    parser.add_argument("--rocking", action="store_true", help="the crank may rock: it need "
                        "not go all the way round, only to and fro through all wished places "
                        "(default: as in the sketch)")
    add_seed(parser)
    parser.add_argument("--starts", type=count(MOST_STARTS), metavar="N",
                        help="starts besides the sketch itself (default: as many as suit it)")
    parser.add_argument("--json", action="store_true", help="print the result as JSON")


def command(given: argparse.Namespace) -> int:
    """Fit, tell, and write; 0 when every wish is met and the crank goes all the way (or
    rocks, where it may), else 1. The first Ctrl+C stops the fit and keeps the best so far."""
    from core.wanted.fit import fit

    loaded = load(given.file)
    sketch = _freed(loaded, tuple(given.free))
    if given.rocking:
        sketch = let_rock(sketch, True)
    with searching(Path(given.file).name) as going:
        found = fit(sketch, seed=given.seed, starts=given.starts, report=lambda _: going())
    if given.out is not None:
        save(replace(found.sketch, fit=loaded.fit), given.out)
    print(as_json(report(found)) if given.json else text(found))
    return 0 if found.good else 1


def _freed(sketch: Sketch, free: tuple[str, ...]) -> Sketch:
    """The sketch with these points alone free."""
    places = sketch.places()
    unknown = next((ref for ref in free if ref not in places), None)
    if unknown is not None:
        raise SketchError(f"there is no point {unknown!r}", where="--free",
                          mend="name points like crank.A")
    return replace(sketch, fit=replace(sketch.fit, free=tuple(free))) if free else sketch


def report(found: Fitting) -> dict[str, Any]:
    """The result as plain data: errors in tolerances, wishes, words, and where the points
    that moved are drawn now (mm)."""
    old, new = found.before.places(), found.sketch.places()
    earlier = {met.wish: met for met in found.before_mets}
    return {
        "good": found.good, "stopped": found.stopped,
        "error_before": found.before_error, "error": found.error,
        "wishes": [_wish(met, earlier.get(met.wish)) for met in found.mets],
        "words": list(found.words),
        "moved": {ref: [place.real, place.imag] for ref, place in new.items()
                  if place != old[ref]},
    }


def _wish(met: Met, earlier: Met | None) -> dict[str, Any]:
    return {
        "id": met.wish, "met": met.met, "unit": met.unit, "tolerance": met.tolerance,
        "worst": met.worst, "rms": met.rms, "crank_deg": math.degrees(met.crank_rad),
        "worst_before": earlier.worst if earlier is not None else None, "text": met.text,
    }


def text(found: Fitting) -> str:
    """The result for a person to read."""
    earlier = {met.wish: met for met in found.before_mets}
    rows = [("wish", "before", "after", "allowed", "")]
    rows += [(met.wish, _amount(earlier[met.wish].worst, met.unit),
              _amount(met.worst, met.unit), _amount(met.tolerance, met.unit),
              "met" if met.met else "missed") for met in found.mets]
    widths = [max(len(row[column]) for row in rows) for column in range(4)]
    lines = ["  ".join([row[0].ljust(widths[0]),
                        *(row[k].rjust(widths[k]) for k in (1, 2, 3)), row[4]]).rstrip()
             for row in rows]
    return "\n".join([*lines, "", *found.words])


def _amount(value: float, unit: str) -> str:
    """A largest error with its unit, to about three digits."""
    if not math.isfinite(value):
        return "–"
    shown = f"{value:.3g}" if value < 1000 else f"{value:.0f}"
    return f"{shown} {'°' if unit == 'deg' else unit}".replace(" °", "°").rstrip()
