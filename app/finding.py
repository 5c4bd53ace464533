"""The command ``find``: mechanisms for the wishes of a sketch, or for a path in a file."""

from __future__ import annotations

import argparse
import math
from pathlib import Path
from typing import TYPE_CHECKING, Any

from msgspec.structs import replace

from app.cores import cores
from app.headless import as_json
from app.searching import add_seed, count, searching
from core.errors import CrankwrightError, FileError, UnitError
from core.files import load, make_folder, save
from core.model import Sketch, WantedPath
from core.units import parse_length

if TYPE_CHECKING:
    from core.wanted.find import Found, Proposal

MOST_PROPOSALS = 200
#: Share of a path's size that is its tolerance when none is given.
_TOLERANCE = 0.01


def _length(text: str) -> float:
    try:
        value = parse_length(text)
    except UnitError as error:
        raise argparse.ArgumentTypeError(str(error).rstrip(".")) from None
    if not 1e-6 <= value <= 1e6:
        raise argparse.ArgumentTypeError(f"{text[:20]!r} is no tolerance; write it like 0.5")
    return value


def arguments(parser: argparse.ArgumentParser) -> None:
    """What the command takes."""
    parser.add_argument("file", nargs="?", metavar="FILE", help="a sketch with wishes")
    parser.add_argument("--path", metavar="FILE", help="instead: a path from CSV (x, y and, if "
                        "you like, crank angle), SVG or DXF")
    parser.add_argument("--as", dest="curve", choices=("smooth", "straight", "places"),
                        help="how the places of --path are joined (default: as in the file; "
                        "a table smoothly, one with crank angles not at all)")
    parser.add_argument("--tolerance", type=_length, metavar="MM", help="how far the path "
                        "may be off (default: as in the sketch; of --path 1 %% of its size)")
    parser.add_argument("--top", type=count(MOST_PROPOSALS, 1), default=24, metavar="N",
                        help="proposals wanted (default 24), cognates besides")
    parser.add_argument("--family", action="append", default=[], metavar="ID",
                        help="only this family; may be given several times")
    parser.add_argument("-o", "--out", metavar="DIR",
                        help="write each proposal as a sketch into this folder")
    add_seed(parser)
    parser.add_argument("--json", action="store_true", help="print the result as JSON")


def command(given: argparse.Namespace) -> int:
    """Search, tell, and write; 0 when a proposal meets every wish, else 1. The first
    Ctrl+C stops the search and keeps what is found."""
    from core.wanted.find import crew, find

    sketch, name = _asked(given)
    with searching(name) as going:
        found = find(sketch, seed=given.seed, top=max(given.top, 1),
                     families=given.family or None, report=lambda _: going(),
                     processes=cores())
    crew.dismiss()
    if given.out is not None:
        write(found, Path(given.out))
    print(as_json(report(found)) if given.json else text(found))
    return 0 if any(one.good for one in found.proposals) else 1


def _asked(given: argparse.Namespace) -> tuple[Sketch, str]:
    """The sketch with the wishes, and the name of its file."""
    if (given.file is None) == (given.path is None):
        raise CrankwrightError("give a sketch, or a path with --path",
                               mend="see crankwright find --help")
    if given.path is not None:
        return Sketch(wanted=(path_wish(given.path, given.curve, given.tolerance),)), \
            Path(given.path).name
    sketch = load(given.file)
    return (sketch if given.tolerance is None else _within(sketch, given.tolerance)), \
        Path(given.file).name


def _within(sketch: Sketch, tolerance_mm: float) -> Sketch:
    return replace(sketch, wanted=tuple(
        replace(wish, tolerance_mm=tolerance_mm) if hasattr(wish, "tolerance_mm") else wish
        for wish in sketch.wanted))


def path_wish(path: str, curve: str | None = None, tolerance_mm: float | None = None
              ) -> WantedPath:
    """The longest curve of a file as a wish, as the window takes it, but for a table
    without crank angles, whose rows are joined smoothly unless `curve` says otherwise.

    Raises FileError when there is none.
    """
    from core.files.curves import read_curves
    from core.wanted.tracing import traced

    longest = read_curves(path)[0]
    if len(longest.places) < 2:
        raise FileError("one place is no path", Path(path).name, "give two or more")
    wish = traced(longest.places, kind=longest.kind, closed=longest.closed,
                  crank_deg=longest.crank_deg)
    joined: Any = curve or ("smooth" if wish.curve == "places" and not wish.ticks
                            else wish.curve)
    size = max(longest.size_mm, 1e-9)
    return replace(wish, curve=joined, tolerance_mm=_TOLERANCE * size
                   if tolerance_mm is None else tolerance_mm)


def write(found: Found, folder: Path) -> None:
    """Each proposal as a sketch: ``01-four-bar.json`` and so on; the folder is made."""
    make_folder(folder)
    for number, one in enumerate(found.proposals, start=1):
        save(one.sketch, folder / f"{number:02}-{one.family}.json")


def report(found: Found) -> dict[str, Any]:
    """The result as plain numbers and words: errors in tolerances of the wishes."""
    return {"stage": found.stage, "words": list(found.words),
            "proposals": [_plain(one) for one in found.proposals]}


def _plain(one: Proposal) -> dict[str, Any]:
    return {"family": one.family, "name": one.name, "good": one.good, "error": one.error,
            "worst": one.worst, "worst_mm": one.worst_mm,
            "transmission_deg": one.transmission_deg, "size_mm": one.size_mm,
            "peak_torque_nm": one.peak_torque_nmm / 1000, "pareto": one.pareto,
            "kin": one.kin, "meets": [list(pair) for pair in one.meets]}


def text(found: Found) -> str:
    """The result as a table for a terminal."""
    if not found.proposals:
        return "\n".join(["No mechanism was found for this.", *found.words])
    head = ("", "mechanism", "error", "worst", "mm", "transm. °", "size mm", "N·m", "")
    rows = [head, *(_row(number, one)
                    for number, one in enumerate(found.proposals, start=1))]
    wide = [max(len(row[k]) for row in rows) for k in range(len(head))]
    lines = ["  ".join(cell.ljust(width) if k == 1 else cell.rjust(width)
                       for k, (cell, width) in enumerate(zip(row, wide, strict=True))).rstrip()
             for row in rows]
    met = sum(one.good for one in found.proposals)
    return "\n".join([
        *lines, "",
        f"{met} of {len(found.proposals)} meet every wish. Errors are in tolerances: 1 is just "
        "met. * no other is better", "in error, transmission angle, size and torque at once. "
        "Equal letters: the same path, another build. × parts meet, as they are stacked.",
        *found.words])


def _row(number: int, one: Proposal) -> tuple[str, ...]:
    torque = one.peak_torque_nmm / 1000
    kin = chr(ord("a") + one.kin % 26)
    return (str(number), one.name, f"{one.error:.2g}", f"{one.worst:.2g}",
            f"{one.worst_mm:.2f}", f"{one.transmission_deg:.0f}", f"{one.size_mm:.0f}",
            f"{torque:.2g}" if math.isfinite(torque) else "–",
            f"{'*' if one.pareto else ' '}{kin}{'×' if one.meets else ' '}")
