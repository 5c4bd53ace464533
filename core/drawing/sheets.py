"""The sheets of a sketch: layout, tables, curves, cautions, and templates."""

from __future__ import annotations

import hashlib
import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import msgspec
import numpy as np

from core.drawing.dimensions import running
from core.drawing.flow import Figure, Flow, Prose
from core.drawing.frame import (
    BLOCK_HEIGHT,
    BLOCK_WIDTH,
    STRIP_HEIGHT,
    Fields,
    Room,
    check_bars,
    frame,
    room_of,
    title_block,
    title_strip,
)
from core.drawing.items import Circle, Item, Page, Text
from core.drawing.kinds import Kind, kinds
from core.drawing.labels import label_all
from core.drawing.lettering import wrapped
from core.drawing.mechanism import View, extent, mechanism, traced
from core.drawing.paper import (
    EDGE,
    FILING_EDGE,
    PAPERS,
    SheetOptions,
    check_scale,
    paper_named,
    show_scale,
    standard_scale,
)
from core.drawing.placing import Placer
from core.drawing.plots import gap_plot, torque_plot
from core.drawing.schedules import tables
from core.drawing.subject import Subject, subject
from core.drawing.tiles import template_pages
from core.drawing.words import CAUTIONS, reading_notes, state_of
from core.model import Sketch
from core.units import MM_PER_INCH, show_length, show_torque

if TYPE_CHECKING:
    from core.study import Study

# Room on paper for dimensions: left and below for those from the datum, above and to the
# right for labels and centre distances.
_BAND = 26.0
_MARGIN = 15.0
_NOTE = 2.0
#: Height of the reading notes and check bars above the title block.
_NOTES = 26.0
#: What a cell of text on a part costs, a cell on a line costing 1.
_ON_PART = 0.02
_GAP = 6.0
#: Inside the frame, what it takes to set tables beside the view.
_BESIDE = 380.0


def layout_sheets(study: Study, options: SheetOptions | None = None) -> list[Page]:
    """Every sheet of a sketch.

    Parameters
    ----------
    study : what :func:`core.study.study` returns; a sketch that does not turn is drawn too.
    options : paper, crank angle, scale and title block; the usual ones when left out.

    Returns
    -------
    list of Page
        The layout first, then tables, curves and cautions, then the templates at full size.

    Raises
    ------
    CrankwrightError
        For an unknown paper, a scale that is none, or a crank angle out of reach.
    """
    options = options or SheetOptions()
    check_scale(options.scale)
    shown = subject(study, options.at_deg)
    paper = paper_named(options.paper, study.sketch.units)
    alike = kinds(shown)
    first, view = _layout_page(shown, options, paper)
    _draw_view(first, view, shown, options, alike)
    pages = [first]
    flow = Flow(_rooms(first, pages))
    for table in tables(shown, alike):
        flow.put(table)
    for figure in _figures(shown):
        flow.put(figure)
    state = state_of(shown)
    if state:
        flow.put(Prose("The whole turn", state))
    flow.put(Prose("Cautions", CAUTIONS))
    fields = fields_of(study.sketch, options, show_scale(view.scale))
    pages = [page for page in pages if page.items]
    for page in pages:
        page.items[:0] = frame(page)
    full = template_pages(shown, alike, paper) if options.templates else []
    count = len(pages) + len(full)
    for number, page in enumerate([*pages, *full], 1):
        named = replace(fields, document=page.title)
        page.items += (title_block(page, fields, number, count) if number == 1 else
                       title_strip(page, named, number, count,
                                   FILING_EDGE if number <= len(pages) else EDGE))
    return [*pages, *full]


def fields_of(sketch: Sketch, options: SheetOptions, scale: str) -> Fields:
    """The title block of a sketch. Without a number the sheets carry a digest of the
    sketch, so that a print can be told from that of an older version."""
    digest = hashlib.sha256(msgspec.json.encode(sketch)).hexdigest()[:8].upper()
    units = "inches" if sketch.units == "in" else "millimetres"
    return Fields(sketch.title or "Untitled sketch", options.owner or sketch.author or "–",
                  options.number or f"CW-{digest}", options.date or "–",
                  options.creator or sketch.author or "–", options.approver or "–",
                  "Layout drawing", scale, units)


def _layout_page(shown: Subject, options: SheetOptions, paper: str) -> tuple[Page, View]:
    """The first page, upright or across, whichever shows the view larger."""
    best: tuple[Page, View] | None = None
    left, bottom, right, top = extent(shown, options.extremes)
    size = complex(max(right - left, 1.0), max(top - bottom, 1.0))
    # Upright paper suits a file of small sheets, paper lying on its side a table of plans.
    tall = size.imag * (1.5 if PAPERS[paper][0] < 250.0 else 0.8) >= size.real
    for width, height in sorted({PAPERS[paper], PAPERS[paper][::-1]},
                                key=lambda wh: (wh[1] > wh[0]) != tall):
        page = Page(width, height, title="Layout", paper=paper)
        room = _view_room(page)
        inner = complex(room.width - _BAND - _MARGIN, room.height - _BAND - _MARGIN)
        scale = options.scale or standard_scale(
            min(inner.real / size.real, inner.imag / size.imag), shown.sketch.units)
        free = complex(inner.real - size.real * scale, inner.imag - size.imag * scale)
        corner = complex(room.left + _BAND + free.real / 2, room.bottom + _BAND + free.imag / 2)
        view = View(scale, corner - scale * complex(left, bottom))
        if best is None or scale > best[1].scale * (1 + 1e-9):
            best = page, view
    assert best is not None
    return best


def _has_column(page: Page) -> bool:
    return room_of(page).width >= _BESIDE


def _view_room(page: Page) -> Room:
    """Where the view goes: beside the column of tables, or above the title block."""
    room = room_of(page)
    if _has_column(page):
        return Room(room.left, room.bottom, room.right - BLOCK_WIDTH, room.top)
    low = room.bottom + BLOCK_HEIGHT + _NOTES
    return Room(room.left, low, room.right, room.top)


def _rooms(first: Page, pages: list[Page]) -> Iterator[tuple[Page, Room]]:
    """Columns for tables: beside the view on large paper, then on pages of their own."""
    room = room_of(first)
    if _has_column(first):
        yield first, Room(room.right - BLOCK_WIDTH + _GAP,
                          room.bottom + BLOCK_HEIGHT + _NOTES + 4.0,
                          room.right - _GAP, room.top - _GAP)
    columns = max(1, int((room.width - _GAP) // 165.0))
    width = (room.width - _GAP * (columns + 1)) / columns
    while True:
        page = Page(first.width_mm, first.height_mm, [], "Tables and notes", first.paper)
        pages.append(page)
        for column in range(columns):
            left = room.left + _GAP + column * (width + _GAP)
            yield page, Room(left, room.bottom + STRIP_HEIGHT + 4.0, left + width,
                             room.top - _GAP)


def _draw_view(page: Page, view: View, shown: Subject, options: SheetOptions,
               alike: Sequence[Kind]) -> None:
    """The mechanism with its dimensions, labels and notes."""
    room = _view_room(page)
    drawn = mechanism(shown, view, options.extremes)
    placer = Placer(room.left + 2, room.bottom + 2, room.width - 4, room.height - 4)
    for shape in shown.shapes.values():
        placer.shade(view.shape(shape), _ON_PART)
    placer.draw(drawn)
    placer.draw(_rims(shown, view), 3.0)
    dimensions = _from_datum(shown, view, room, options)
    placer.draw(dimensions)
    labels, left_out = label_all(shown, view, placer, alike)
    page.items += [*drawn, *dimensions, *labels]
    page.items += _notes(page, shown, options, left_out)


def _rims(shown: Subject, view: View) -> list[Item]:
    """Rods again, to be kept clear of text more than other lines."""
    return [item for pivot in shown.pivots
            for item in _disc(view.at(pivot.at), pivot.diameter_mm / 2 * view.scale)]


def _disc(at: complex, radius: float) -> list[Item]:
    return [Circle(at.real, at.imag, r) for r in np.arange(0.3, radius + 0.8, 0.5)]


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


def _notes(page: Page, shown: Subject, options: SheetOptions, left_out: Sequence[str]
           ) -> list[Item]:
    """Check bars and reading notes above the title block."""
    room = room_of(page)
    inches = shown.sketch.units == "in"
    left, bottom = room.right - BLOCK_WIDTH + 3.0, room.bottom + BLOCK_HEIGHT + 4.0
    items = check_bars(left, bottom, inches)
    advice = "Print at actual size and measure the bar" + ("s." if inches else ".")
    items.append(Text(left, bottom + (11.5 if inches else 5.5), advice, _NOTE))
    notes = reading_notes(shown, options.extremes, bool(traced(shown)))
    if left_out:
        notes.append("No room for " + ", ".join(left_out) + ": see the tables.")
    lines = [line for note in notes for line in wrapped(note, 56.0, 1.8)]
    lowest = room.bottom + BLOCK_HEIGHT + 2.5
    return items + [Text(left + 119.0, lowest + 2.9 * step, line, 1.8)
                    for step, line in enumerate(reversed(lines))]


def _figures(shown: Subject) -> list[Figure]:
    """Torque and gap over the turn."""
    study, units = shown.study, shown.sketch.units
    figures: list[Figure] = []
    if study.turn is None:
        return figures
    crank = np.degrees(study.turn.crank_rad)
    effort, space = study.effort, study.gaps
    if effort is not None and np.isfinite(effort.torque_nmm).any():
        per, name = (112.984829, "lbf·in") if units == "in" else (1000.0, "N·m")
        figures.append(Figure(
            "Driving torque over the turn", 62.0,
            torque_plot(crank, effort.torque_nmm / per, effort.torque_low_nmm / per,
                        effort.torque_high_nmm / per,
                        [(math.degrees(a), math.degrees(b)) for a, b in effort.runaway], name,
                        lambda value: show_torque(float(value) * per, units))))
    if space is not None and np.isfinite(space.smallest_mm).any() and space.pairs:
        per = MM_PER_INCH if units == "in" else 1.0
        figures.append(Figure(
            "Smallest gap over the turn", 50.0,
            gap_plot(crank, space.smallest_mm / per, shown.sketch.gap_mm / per, units,
                     lambda value: show_length(float(value) * per, units))))
    return figures
