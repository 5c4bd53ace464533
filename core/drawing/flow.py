"""Tables, paragraphs and figures that flow down columns and on to further pages."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field

from core.drawing.frame import Room
from core.drawing.items import NARROW, PALE, Item, Line, Page, Pen, Text
from core.drawing.lettering import text_width, wrapped

SIZE = 2.0
HEAD = 3.0
_LINE = 3.6
_PAD = 1.6
_ROW_PAD = 1.0
_TITLE = 8.0
_AFTER = 7.0
#: A table with more rows than this is set in ranks side by side where they fit.
_LONG = 12
_RANK_GAP = 8.0
#: Columns wider apart than this are hard to follow across.
_MOST_SPARE = 12.0


@dataclass(frozen=True)
class Table:
    """Rows of text under column heads.

    `right` holds the columns set flush right (numbers); `note` stands below in small
    type. A column narrower than its text breaks it into lines.
    """

    title: str
    heads: tuple[str, ...]
    rows: Sequence[tuple[str, ...]]
    right: frozenset[int] = frozenset()
    note: str = ""


@dataclass(frozen=True)
class Prose:
    """Paragraphs under a title."""

    title: str
    paragraphs: Sequence[str]


@dataclass(frozen=True)
class Figure:
    """A drawing `height_mm` high, made by `draw(room)` for the room it gets."""

    title: str
    height_mm: float
    draw: Callable[[Room], list[Item]]


Block = Table | Prose | Figure


@dataclass
class Flow:
    """Puts blocks one below another into rooms taken from `rooms`, as many as needed."""

    rooms: Iterator[tuple[Page, Room]]
    page: Page = field(init=False)
    room: Room = field(init=False)
    y: float = field(init=False)

    def __post_init__(self) -> None:
        self._next()

    def _next(self) -> None:
        self.page, self.room = next(self.rooms)
        self.y = self.room.top

    def put(self, block: Block) -> None:
        """Adds one block below the last."""
        if isinstance(block, Table):
            self._table(block)
        elif isinstance(block, Prose):
            self._prose(block)
        else:
            if self.y - self.room.bottom < block.height_mm + _TITLE and self._begun():
                self._next()
            self._title(block.title)
            bottom = max(self.y - block.height_mm, self.room.bottom)
            self.page.items += block.draw(Room(self.room.left, bottom, self.room.right, self.y))
            self.y = bottom - _AFTER

    def _keep(self, whole: float, least: float) -> None:
        """Goes on to the next room where the rest of this one would part a block that is
        `whole` mm high under its title: one that takes no more than half a room is kept in
        one piece, of a higher one at least `least` stands below the title."""
        left = self.y - self.room.bottom - _TITLE
        wanted = whole if whole <= self.room.height / 2 else min(whole, least)
        if left < wanted and self._begun():
            self._next()

    def _begun(self) -> bool:
        return self.y < self.room.top - 1e-6

    def _title(self, title: str) -> None:
        base = self.y - HEAD - 0.6
        self.page.items.append(Text(self.room.left, base, title, HEAD, bold=True))
        self.y -= _TITLE - 1.4

    def _prose(self, block: Prose) -> None:
        lines = [wrapped(text, self.room.width, SIZE) for text in block.paragraphs]
        whole = sum(len(paragraph) * _LINE + 1.2 for paragraph in lines)
        self._keep(whole, 4 * _LINE)
        self._title(block.title)
        for paragraph in lines:
            if self.y - len(paragraph) * _LINE < self.room.bottom and self._begun():
                self._next()
            for row in paragraph:
                if self.y - _LINE < self.room.bottom and self._begun():
                    self._next()
                self.page.items.append(Text(self.room.left, self.y - _LINE + 0.8, row, SIZE))
                self.y -= _LINE
            self.y -= 1.2
        self.y -= _AFTER - 1.2

    def _table(self, table: Table) -> None:
        """A table; a long narrow one stands in several ranks side by side."""
        needs = _needs(table)
        ranks = 1
        if len(table.rows) > _LONG:
            ranks = max(1, int((self.room.width + _RANK_GAP) // (sum(needs) + _RANK_GAP)))
        width = (self.room.width - (ranks - 1) * _RANK_GAP) / ranks
        widths = _widths(needs, width)
        made = _Columns(table, needs, widths)
        rows = [made.wrap(row) for row in table.rows]
        heads = made.wrap(table.heads, bold=True)
        share = math.ceil(len(rows) / ranks)
        note = (len(wrapped(table.note, self.room.width, SIZE)) * _LINE + 1.2 if table.note
                else 0.0)
        whole = _height(heads) + max((sum(map(_height, rows[first:first + share]))
                                      for first in range(0, len(rows), share)), default=0.0)
        self._keep(whole + note, _height(heads) + sum(map(_height, rows[:2])))
        title = table.title
        while True:
            self._title(title)
            top = self.y
            taken, lows = 0, [top]
            for rank in range(ranks):
                left = self.room.left + rank * (width + _RANK_GAP)
                share = math.ceil((len(rows) - taken) / (ranks - rank))
                self.y = top
                self.page.items += made.draw(heads, left, self.y, head=True)
                self.y -= _height(heads)
                for row in rows[taken:taken + share]:
                    if self.y - _height(row) < self.room.bottom and self.y < top - 2 * SIZE:
                        break
                    self.page.items += made.draw(row, left, self.y)
                    self.y -= _height(row)
                    taken += 1
                lows.append(self.y)
            self.y = min(lows)
            rows = rows[taken:]
            if not rows:
                break
            self._next()
            title = f"{table.title}, continued"
        self._note(table.note)
        self.y -= _AFTER

    def _note(self, note: str) -> None:
        lines = wrapped(note, self.room.width, SIZE) if note else []
        self.y -= 1.2 if note else 0.0
        if self.y - len(lines) * _LINE < self.room.bottom:
            self._next()
        for text in lines:
            self.page.items.append(Text(self.room.left, self.y - _LINE + 0.8, text, SIZE))
            self.y -= _LINE


@dataclass(frozen=True)
class _Columns:
    """The columns of a table: how wide the text is, how wide they are."""

    table: Table
    needs: list[float]
    widths: list[float]

    def wrap(self, row: Sequence[str], bold: bool = False) -> list[list[str]]:
        """The lines of every cell of a row."""
        return [wrapped(cell, max(width - _PAD, 4.0), SIZE, bold)
                for cell, width in zip(row, self.widths, strict=True)]

    def draw(self, cells: list[list[str]], x: float, y: float, head: bool = False
             ) -> list[Item]:
        """A row with its upper left corner at (x, y), and the line below it."""
        items: list[Item] = []
        low, left = y - _height(cells), x
        for column, (lines, width) in enumerate(zip(cells, self.widths, strict=True)):
            flush = column in self.table.right
            at = x + min(width - _PAD, self.needs[column] - _PAD - 1.0) if flush else x
            items += [Text(at, y - _ROW_PAD - SIZE - step * _LINE, text, SIZE,
                           1 if flush else -1, bold=head)
                      for step, text in enumerate(lines) if text]
            x += width
        pen = Pen(NARROW) if head else Pen(0.13, colour=PALE)
        return [*items, Line(left, low, x, low, pen)]


def _height(cells: list[list[str]]) -> float:
    return SIZE + 2 * _ROW_PAD + (max(len(lines) for lines in cells) - 1) * _LINE


def _needs(table: Table) -> list[float]:
    """What every column would like: its widest text and some white."""
    needs = []
    for column, head in enumerate(table.heads):
        texts = [text_width(row[column], SIZE) for row in table.rows]
        needs.append(max([text_width(head, SIZE, True), *texts]) + _PAD + 1.0)
    return needs


def _widths(needs: list[float], width: float) -> list[float]:
    """Column widths within `width`, the white between them shared alike; too little
    width is taken from the widest."""
    spare = width - sum(needs)
    if spare >= 0:
        each = min(spare / len(needs), _MOST_SPARE)
        return [need + each for need in needs]
    # Cap the widest columns at one common width, found by filling from the narrowest.
    left, capped = width, {}
    for rank, column in enumerate(sorted(range(len(needs)), key=lambda c: needs[c])):
        capped[column] = min(needs[column], left / (len(needs) - rank))
        left -= capped[column]
    return [capped[column] for column in range(len(needs))]
