"""The sheets of a sketch: layout, tables, curves, cautions, and templates."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

import msgspec

from core.drawing.cautions import cautions_of, finger_table
from core.drawing.curves import figures
from core.drawing.flow import Flow, Prose
from core.drawing.frame import (
    STRIP_HEIGHT,
    Fields,
    Room,
    frame,
    room_of,
    title_block,
    title_strip,
)
from core.drawing.front import Front, draw_fronts, front
from core.drawing.items import Page
from core.drawing.kinds import kinds
from core.drawing.paper import (
    EDGE,
    FILING_EDGE,
    SheetOptions,
    check_scale,
    paper_named,
    show_scale,
)
from core.drawing.schedules import tables
from core.drawing.subject import subject
from core.drawing.tiles import template_pages
from core.drawing.words import state_of
from core.model import Sketch

if TYPE_CHECKING:
    from core.study import Study

_GAP = 6.0


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
        For an unknown paper, a scale that is none or too large for the paper, or a crank
        angle out of reach.
    """
    options = options or SheetOptions()
    check_scale(options.scale)
    shown = subject(study, options.at_deg)
    paper = paper_named(options.paper, study.sketch.units)
    alike = kinds(shown)
    first = front(shown, options, paper)
    fronts = draw_fronts(first, shown, options, alike)
    pages = [made.page for made in fronts]
    flow = Flow(_rooms(fronts, pages))
    for table in tables(shown, alike):
        flow.put(table)
    for figure in figures(shown):
        flow.put(figure)
    state = state_of(shown)
    if state:
        flow.put(Prose("The whole turn", state))
    fingers = finger_table(study)
    if fingers is not None:
        flow.put(fingers)
    flow.put(Prose("Cautions", cautions_of(study.sketch)))
    fields = fields_of(study.sketch, options, show_scale(first.view.scale))
    pages = [page for page in pages if page.items]
    for page in pages:
        page.items[:0] = frame(page)
    full = template_pages(shown, alike, paper) if options.templates else []
    count = len(pages) + len(full)
    for number, page in enumerate([*pages, *full], 1):
        named = replace(fields, document=page.title)
        page.items += (title_block(page, named, number, count) if number <= len(fronts) else
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
                  "Layout", scale, units)


def _rooms(fronts: list[Front], pages: list[Page]) -> Iterator[tuple[Page, Room]]:
    """Columns for tables: beside the view on large paper, then on pages of their own."""
    first = fronts[0].page
    room = room_of(first)
    for made in fronts:
        if made.tables is not None:
            yield made.page, made.tables
    columns = max(1, int((room.width - _GAP) // 165.0))
    width = (room.width - _GAP * (columns + 1)) / columns
    while True:
        page = Page(first.width_mm, first.height_mm, [], "Tables and notes", first.paper)
        pages.append(page)
        for column in range(columns):
            left = room.left + _GAP + column * (width + _GAP)
            yield page, Room(left, room.bottom + STRIP_HEIGHT + 4.0, left + width,
                             room.top - _GAP)
