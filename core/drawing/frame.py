"""The frame of a sheet, its title block and check bar."""

from __future__ import annotations

from dataclasses import dataclass

from core.drawing.items import NARROW, SOFT, WIDE, Item, Line, Page, Pen, Text, box
from core.drawing.lettering import shortened, wrapped
from core.drawing.paper import EDGE, FILING_EDGE
from core.drawing.symbols import check_bar

#: ISO 5457: the title block is at most 180 mm wide, lower right. From memory.
BLOCK_WIDTH = 180.0
BLOCK_HEIGHT = 34.0
STRIP_HEIGHT = 10.0
_PAD = 1.2
_FRAME = Pen(0.7)
_CELL = Pen(NARROW)


@dataclass(frozen=True)
class Fields:
    """The data fields of ISO 7200, as text; `title` may take two lines."""

    title: str
    owner: str
    number: str
    date: str
    creator: str
    approver: str
    document: str
    scale: str
    units: str


@dataclass(frozen=True)
class Room:
    """A rectangle of a page to draw in, mm."""

    left: float
    bottom: float
    right: float
    top: float

    @property
    def width(self) -> float:
        """Width, mm."""
        return self.right - self.left

    @property
    def height(self) -> float:
        """Height, mm."""
        return self.top - self.bottom


def room_of(page: Page, left_edge: float = FILING_EDGE) -> Room:
    """What is inside the frame."""
    return Room(left_edge, EDGE, page.width_mm - EDGE, page.height_mm - EDGE)


def frame(page: Page, left_edge: float = FILING_EDGE) -> list[Item]:
    """Frame and centring marks (ISO 5457)."""
    room = room_of(page, left_edge)
    middle_x, middle_y = page.width_mm / 2, page.height_mm / 2
    marks = [
        Line(room.left - 5.0, middle_y, room.left, middle_y, _FRAME),
        Line(room.right + 5.0, middle_y, room.right, middle_y, _FRAME),
        Line(middle_x, room.bottom - 5.0, middle_x, room.bottom, _FRAME),
        Line(middle_x, room.top + 5.0, middle_x, room.top, _FRAME),
    ]
    return [box(room.left, room.bottom, room.width, room.height, _FRAME), *marks]


def title_block(page: Page, fields: Fields, number: int, count: int) -> list[Item]:
    """The full title block at the lower right corner of the frame."""
    room = room_of(page)
    x, y = room.right - BLOCK_WIDTH, room.bottom
    items: list[Item] = [box(x, y, BLOCK_WIDTH, BLOCK_HEIGHT, Pen(WIDE))]
    items += _cell(x, y + 20, 116, 14, "Title", fields.title, 4.0, bold=True, lines=2)
    items += _cell(x + 116, y + 20, 40, 14, "Document type", fields.document, 2.5)
    items += _cell(x + 156, y + 20, 24, 14, "Sheet", f"{number} of {count}", 2.5)
    items += _cell(x, y + 10, 62, 10, "Legal owner", fields.owner)
    items += _cell(x + 62, y + 10, 54, 10, "Identification number", fields.number)
    items += _cell(x + 116, y + 10, 40, 10, "Date of issue", fields.date)
    items += _cell(x + 156, y + 10, 24, 10, "Scale", fields.scale, bold=True)
    items += _cell(x, y, 62, 10, "Created by", fields.creator)
    items += _cell(x + 62, y, 54, 10, "Approved by", fields.approver)
    items += _cell(x + 116, y, 40, 10, "Dimensions in", fields.units)
    items += _cell(x + 156, y, 24, 10, "Paper", page.paper)
    return items


def title_strip(page: Page, fields: Fields, number: int, count: int,
                left_edge: float = FILING_EDGE) -> list[Item]:
    """The one-line title block of a following sheet."""
    room = room_of(page, left_edge)
    # On small paper the strip closes the frame from side to side.
    total = room.width if room.width < BLOCK_WIDTH + 20.0 else BLOCK_WIDTH
    x, y = room.right - total, room.bottom
    items: list[Item] = [box(x, y, total, STRIP_HEIGHT, Pen(WIDE))]
    row = ((64.0 + total - BLOCK_WIDTH, "Title", fields.title),
           (38.0, "Document type", fields.document),
           (32.0, "Identification number", fields.number),
           (22.0, "Date of issue", fields.date), (24.0, "Sheet", f"{number} of {count}"))
    for width, label, value in row:
        items += _cell(x, y, width, STRIP_HEIGHT, label, value, 2.2)
        x += width
    return items


def _cell(x: float, y: float, width: float, height: float, label: str, value: str,
          size: float = 2.5, bold: bool = False, lines: int = 1) -> list[Item]:
    """One field: its name small at the top, its value below."""
    items: list[Item] = [box(x, y, width, height, _CELL),
                         Text(x + _PAD, y + height - 2.8, label, 1.5, colour=SOFT)]
    inner = width - 2 * _PAD
    rows = wrapped(value, inner, size, bold)
    if len(rows) > 1 and lines > 1:
        size *= 0.75
        rows = wrapped(value, inner, size, bold)
    if len(rows) > lines:
        rows = [*rows[:lines - 1], " ".join(rows[lines - 1:])]
    rows = [shortened(row, inner, size, bold) for row in rows]
    base = y + (height - 3.4 - size) / 2 + (len(rows) - 1) * size * 0.75
    return items + [Text(x + _PAD, base - step * size * 1.5, row, size, bold=bold)
                    for step, row in enumerate(rows) if row]


def check_bars(x: float, y: float, inches: bool, upright: bool = False) -> list[Item]:
    """Bars to measure on the print; (x, y) is the left or lower end of the first. Inch
    sketches get one of 4 in next to the one of 100 mm."""
    items = check_bar(x, y, upright=upright)
    if inches:
        items += check_bar(x + (9.0 if upright else 0.0), y + (0.0 if upright else 6.0), True,
                           upright)
    return items


