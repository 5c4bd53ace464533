"""Places in a table: x, y and, if there is a third column, the crank angle.

Columns are parted by semicolons, tabs, commas or blanks; decimal commas are read where
commas do not part. Lines that begin with # are left out. A first line of headings may name
the columns: a heading that is x or ends in .x, y, or crank; ``_mm``, ``_cm``, ``_in`` or
``_rad`` at its end says the unit (else mm and degrees). Several pairs of x and y are several
curves, as in the turn table this program writes.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from core.errors import FileError
from core.files.curves.curve import MOST_POINTS, Curve, check_places
from core.units import MM_PER_INCH

_PLAIN = re.compile(r"[+-]?\d+(?:,\d+)?(?:[eE][+-]?\d+)?")
_UNITS = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": MM_PER_INCH, "inch": MM_PER_INCH,
          "deg": 1.0, "rad": 180.0 / math.pi}
_CRANK = {"crank", "angle", "theta", "phi", "crank_angle"}
#: A table whose ends are no further apart than this many usual steps comes round.
_ROUND_STEPS = 1.75


@dataclass(frozen=True)
class _Column:
    """What a column holds: "x", "y" or "crank" of a curve, and its factor to mm or °."""

    index: int
    role: str
    curve: str
    factor: float


def table_curves(data: bytes, where: str = "") -> list[Curve]:
    """The curves of a table.

    Raises
    ------
    FileError
        No rows, a row that is not numbers, no pair of columns x and y.
    """
    lines = [(number, line.strip()) for number, line in enumerate(
        _text(data, where).splitlines(), start=1)
        if line.strip() and not line.lstrip().startswith("#")]
    if not lines:
        raise FileError("the table is empty", where, "give it rows of x and y")
    if len(lines) > MOST_POINTS:
        raise FileError(f"the table has more than {MOST_POINTS} rows", where, "thin it out")
    mark, comma = _parting([line for _, line in lines])
    rows = [(number, [cell.strip().strip('"') for cell in line.split(mark)])
            for number, line in lines]
    headings = None
    if not any(_is_number(cell, comma) for cell in rows[0][1]):
        headings = rows.pop(0)[1]
    if not rows:
        raise FileError("the table has headings but no rows", where, "give it rows of x and y")
    columns = (_named(headings, where) if headings
               else _unnamed(max(len(cells) for _, cells in rows), where))
    return _curves(columns, rows, comma, where)


def _text(data: bytes, where: str) -> str:
    for mark, coding in ((b"\xff\xfe", "utf-16"), (b"\xfe\xff", "utf-16")):
        if data.startswith(mark):
            return data.decode(coding, "replace")
    if b"\0" in data:
        raise FileError("it is not a table of text", where, "save it as CSV")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("latin-1")  # headings only: numbers are ASCII in either


def _parting(lines: Sequence[str]) -> tuple[str | None, bool]:
    """What parts a line into cells (None: blanks), and whether decimal commas may be
    meant."""
    for mark in (";", "\t"):
        if sum(mark in line for line in lines) > len(lines) / 2:
            return mark, True
    body = lines[1:] or lines
    if not any("," in line for line in body):
        return None, False
    blanks = all(len(line.split()) > 1 and all(map(_PLAIN.fullmatch, line.split()))
                 for line in body)
    return (None, True) if blanks else (",", False)


def _is_number(cell: str, comma: bool) -> bool:
    try:
        float(cell.replace(",", ".") if comma else cell)
    except ValueError:
        return False
    return True


def _named(headings: Sequence[str], where: str) -> list[_Column]:
    found = []
    for index, heading in enumerate(headings):
        bare = re.sub(r"[\s(\[]+", "_", heading.strip().casefold()).strip("_)]")
        stem, _, unit = bare.rpartition("_")
        factor = _UNITS.get(unit)
        stem = stem if factor is not None and stem else bare
        _, dot, last = stem.rpartition(".")
        if last in ("x", "y"):
            name = heading.strip().rpartition(".")[0] if dot else ""
            found.append(_Column(index, last, name, factor or 1.0))
        elif stem in _CRANK:
            found.append(_Column(index, "crank", "", factor or 1.0))
    with_x, with_y = ({c.curve for c in found if c.role == role} for role in ("x", "y"))
    if not with_x & with_y:
        raise FileError("its headings name no x and y", where,
                        "call two columns x and y, and a third crank if there is one")
    return found


def _unnamed(count: int, where: str) -> list[_Column]:
    if count < 2:
        raise FileError("its rows have one number", where, "give each row x and y")
    if count > 3:
        raise FileError(f"its rows have {count} numbers", where,
                        "keep x, y and the crank angle, or add a line of headings")
    return [_Column(index, role, "", 1.0)
            for index, role in enumerate(("x", "y", "crank")[:count])]


def _curves(columns: Sequence[_Column], rows: Sequence[tuple[int, list[str]]], comma: bool,
            where: str) -> list[Curve]:
    names = list(dict.fromkeys(column.curve for column in columns if column.role == "x"))
    crank = next((c for c in columns if c.role == "crank"), None)
    held = {c.index: np.array([_value(cells, c, number, comma, where)
                               for number, cells in rows]) for c in columns}
    curves = []
    for name in names:
        pair = [next((c for c in columns if (c.role, c.curve) == (role, name)), None)
                for role in ("x", "y")]
        if pair[0] is None or pair[1] is None:
            continue
        places = held[pair[0].index] + 1j * held[pair[1].index]
        there = ~np.isnan(places)
        if not there.any():
            continue
        places = places[there]
        check_places(places, where)
        turned = held[crank.index][there] if crank is not None else None
        if turned is not None and np.isnan(turned).any():
            turned = None
        closed = bool(there.all()) and comes_round(places)
        if len(places) > 2 and places[0] == places[-1]:
            places, turned = places[:-1], None if turned is None else turned[:-1]
        curves.append(Curve(places, closed, turned, "places", name))
    return curves


def _value(cells: Sequence[str], column: _Column, number: int, comma: bool,
           where: str) -> float:
    """The number in a column of a row; NaN for an empty cell."""
    cell = cells[column.index] if column.index < len(cells) else ""
    if not cell:
        return math.nan
    place = f"{where}: line {number}" if where else f"line {number}"
    try:
        value = float(cell.replace(",", ".") if comma else cell)
    except ValueError:
        shown = cell if len(cell) <= 24 else cell[:24] + "…"
        raise FileError(f"{shown!r} is not a number", place,
                        "write x, y and, if you like, the crank angle") from None
    if not math.isfinite(value):
        raise FileError("the number is not finite", place, "write an ordinary number")
    return value * column.factor


def comes_round(places: np.ndarray) -> bool:
    """Whether the way from the last of some places back to the first is a step like the
    others."""
    if len(places) < 4:
        return len(places) == 3 and bool(places[0] == places[2])
    steps = np.abs(np.diff(places))
    back = abs(places[-1] - places[0])
    return bool(back <= _ROUND_STEPS * max(float(np.median(steps)), float(steps.mean())))
