"""The first sheet: the view at its scale, dimensions from the datum, notes, check bars."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from core.drawing.dimensions import SIZE, running
from core.drawing.frame import BLOCK_HEIGHT, BLOCK_WIDTH, Room, check_bars, room_of
from core.drawing.items import Circle, Item, Page, Text
from core.drawing.kinds import Kind
from core.drawing.labels import Labels, distances, label_all
from core.drawing.lettering import text_width, wrapped
from core.drawing.mechanism import View, extent, mechanism, traced
from core.drawing.paper import PAPERS, SheetOptions, show_scale, standard_scale
from core.drawing.placing import Placer
from core.drawing.subject import Subject
from core.drawing.words import reading_notes
from core.errors import CrankwrightError
from core.units import show_length

# Room on paper for dimensions: left and below for those from the datum, above and to the
# right for labels and centre distances.
_BAND = 24.0
_MARGIN = 12.0
#: With more centre distances than this the view is drawn twice.
_FEW_DISTANCES = 6
#: So it is with three or more that are shorter than this on paper, mm.
_SHORT = 16.0
_NOTE = 1.8
_NOTE_STEP = 2.9
#: Height of notes and check bars where they stand above the title block.
_NOTES = 26.0
#: Width of an upright check bar with its figures.
_BAR = 10.0
#: Inside the frame, what it takes to set tables beside the view, and notes beside the
#: title block.
_TABLES_BESIDE = 380.0
_NOTES_BESIDE = BLOCK_WIDTH + 60.0
#: What is at least so large, mm, is never enlarged: full size tells a maker more than a
#: filled sheet.
_PLAIN = 120.0
#: What a cell of text on a part costs, a cell on a line costing 1.
_ON_PART = 0.02
#: Rods are kept clear of text so far from their middle, mm on paper.
_THICKEST = 100.0


@dataclass(frozen=True)
class Front:
    """How the first sheet is laid out.

    `page` the sheet, `room` where the view goes, `view` its scale and place; `tables` the
    column for tables beside the view, if any; `aside` whether the notes stand left of the
    title block instead of on top of it.
    """

    page: Page
    room: Room
    view: View
    tables: Room | None
    aside: bool


def front(shown: Subject, options: SheetOptions, paper: str) -> Front:
    """The layout of the first sheet that shows the view largest: upright or across, on wide
    paper with tables beside the view if it loses nothing by them.

    Raises
    ------
    CrankwrightError
        When a scale is asked for at which the view does not fit the paper.
    """
    left, bottom, right, top = extent(shown, options.extremes)
    size = complex(max(right - left, 1.0), max(top - bottom, 1.0))
    # Upright paper suits a file of small sheets, paper lying on its side a table of plans.
    tall = size.imag * (1.5 if PAPERS[paper][0] < 250.0 else 0.8) >= size.real
    inches = shown.sketch.units == "in"
    band = _band(shown)
    best: Front | None = None
    for width, height in sorted({PAPERS[paper], PAPERS[paper][::-1]},
                                key=lambda wh: (wh[1] > wh[0]) != tall):
        page = Page(width, height, title="Layout", paper=paper)
        for room, tables, aside in _plans(page, inches):
            inner = complex(room.width - band - _MARGIN, room.height - band - _MARGIN)
            largest = min(inner.real / size.real, inner.imag / size.imag)
            if options.scale is not None and options.scale > largest:
                continue
            if max(size.real, size.imag) >= _PLAIN:
                largest = min(largest, 1.0)
            scale = options.scale or standard_scale(largest, shown.sketch.units)
            free = inner - scale * size
            corner = complex(room.left, room.bottom) + band * (1 + 1j) + free / 2
            view = View(scale, corner - scale * complex(left, bottom))
            if best is None or scale > best.view.scale * (1 + 1e-9):
                best = Front(page, room, view, tables, aside)
    if best is None:
        assert options.scale is not None
        raise CrankwrightError(
            f"at {show_scale(options.scale)} the view is larger than {paper}", "scale",
            "take larger paper, a smaller scale, or leave the scale out")
    return best


def _band(shown: Subject) -> float:
    """Room left of and below the view for dimensions from the datum."""
    values = [part for pivot in shown.pivots if pivot.fixed
              for part in ((pivot.at - shown.datum).real, (pivot.at - shown.datum).imag)]
    widths = [text_width(show_length(value, shown.sketch.units, False), SIZE)
              for value in values]
    return max(_BAND, 16.0 + max(widths, default=0.0))


def _plans(page: Page, inches: bool) -> list[tuple[Room, Room | None, bool]]:
    """The ways to divide a sheet: room for the view, column of tables, notes aside."""
    room = room_of(page)
    plans: list[tuple[Room, Room | None, bool]] = []
    over = room.bottom + BLOCK_HEIGHT
    if room.width >= _TABLES_BESIDE:
        column = Room(room.right - BLOCK_WIDTH + 6.0, over + _NOTES + 4.0, room.right - 6.0,
                      room.top - 6.0)
        plans.append((Room(room.left, room.bottom, room.right - BLOCK_WIDTH, room.top), column,
                      False))
    if room.width >= _NOTES_BESIDE:
        bars = _BAR * (2 if inches else 1)
        return [*plans, (Room(room.left + bars, over, room.right, room.top), None, True)]
    return [*plans, (Room(room.left, over + _NOTES, room.right, room.top), None, False)]


def draw_fronts(first: Front, shown: Subject, options: SheetOptions, alike: Sequence[Kind]
                ) -> list[Front]:
    """The mechanism with its dimensions, labels and notes, on one sheet; where there are
    many centre distances, or short ones on paper, they get a sheet of their own."""
    lengths = distances(shown, alike)
    short = sum(length * first.view.scale < _SHORT for length in lengths)
    if len(lengths) <= _FEW_DISTANCES and short < 3:
        _draw(first, shown, options, alike, "all")
        return [first]
    _draw(first, shown, options, alike, "names")
    page = Page(first.page.width_mm, first.page.height_mm, title="Centre distances",
                paper=first.page.paper)
    second = replace(first, page=page)
    _draw(second, shown, replace(options, extremes=False), alike, "distances")
    return [first, second]


def _draw(made: Front, shown: Subject, options: SheetOptions, alike: Sequence[Kind],
          what: Labels) -> None:
    room, view = made.room, made.view
    drawn = mechanism(shown, view, options.extremes)
    placer = Placer(room.left + 2, room.bottom + 2, room.width - 4, room.height - 4)
    for shape in shown.shapes.values():
        placer.shade(view.shape(shape), _ON_PART)
    placer.draw(drawn)
    placer.draw(_rims(shown, view), 3.0)
    if what != "distances":
        datum = _from_datum(shown, view, room, options)
        placer.draw(datum)
        drawn += datum
    labels, left_out = label_all(shown, view, placer, alike, what)
    made.page.items += [*drawn, *labels]
    made.page.items += _notes(made, shown, options, left_out)


def _rims(shown: Subject, view: View) -> list[Item]:
    """Rods again, to be kept clear of text more than other lines."""
    return [item for pivot in shown.pivots
            for item in _disc(view.at(pivot.at), pivot.diameter_mm / 2 * view.scale)]


def _disc(at: complex, radius: float) -> list[Item]:
    inside = min(radius, _THICKEST)  # of what is larger than a sheet the middle is enough
    return [Circle(at.real, at.imag, r) for r in np.arange(0.3, inside + 0.8, 0.5)]


def _from_datum(shown: Subject, view: View, room: Room, options: SheetOptions) -> list[Item]:
    """Running dimensions of the fixed pivots, X below and Y left of the view."""
    fixed = [pivot for pivot in shown.pivots if pivot.fixed]
    if not fixed:
        return []
    left, bottom, _, _ = extent(shown, options.extremes)
    low = view.at(complex(left, bottom))
    origin = view.at(shown.datum)
    items: list[Item] = []
    for across in (True, False):
        rows: dict[int, tuple[float, float, str]] = {}
        for pivot in fixed:
            at = view.at(pivot.at)
            away = pivot.at - shown.datum
            mm = away.real if across else away.imag
            along, other = (at.real, at.imag) if across else (at.imag, at.real)
            start = other - pivot.diameter_mm / 2 * view.scale - (6.5 if across else 3.0)
            key = round(mm * 100)
            if key not in rows or start < rows[key][1]:
                rows[key] = along, start, show_length(mm, shown.sketch.units, False)
        at_line = (low.imag if across else low.real) - 7.0
        span = (room.left + 4, room.right - 4) if across else (room.bottom + 4, room.top - 4)
        items += running(sorted(rows.values()), at_line, *span, across,
                         origin.real if across else origin.imag)
    return items


def _notes(made: Front, shown: Subject, options: SheetOptions, left_out: Sequence[str]
           ) -> list[Item]:
    """Check bars and reading notes, above the title block or left of it."""
    room = room_of(made.page)
    inches = shown.sketch.units == "in"
    advice = "Print at actual size and measure the bar" + ("s." if inches else ".")
    notes = reading_notes(shown, options.extremes, bool(traced(shown)))
    if left_out:
        notes.append("No room for " + ", ".join(left_out) + ": see the tables.")
    if made.aside:
        items = check_bars(room.left + 4.0, room.bottom + 6.0, inches, upright=True)
        left = room.left + 4.0 + _BAR * (2 if inches else 1)
        width = room.right - BLOCK_WIDTH - 3.0 - left
        return items + _lines([*notes, advice], left, room.bottom + 4.0, width)
    left, bottom = room.right - BLOCK_WIDTH + 3.0, room.bottom + BLOCK_HEIGHT + 4.0
    items = check_bars(left, bottom, inches)
    items.append(Text(left, bottom + (11.5 if inches else 5.5), advice, _NOTE))
    return items + _lines(notes, left + 119.0, bottom - 1.5, 56.0)


def _lines(notes: Sequence[str], left: float, lowest: float, width: float) -> list[Item]:
    """Notes broken into lines, the last of them on `lowest`."""
    lines = [line for note in notes for line in wrapped(note, width, _NOTE)]
    return [Text(left, lowest + _NOTE_STEP * step, line, _NOTE)
            for step, line in enumerate(reversed(lines))]
