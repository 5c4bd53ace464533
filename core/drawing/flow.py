"""Tables, paragraphs and figures that flow down columns and on to further pages."""

from __future__ import annotations

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

    def _begun(self) -> bool:
        return self.y < self.room.top - 1e-6

    def _title(self, title: str) -> None:
        base = self.y - HEAD - 0.6
        self.page.items.append(Text(self.room.left, base, title, HEAD, bold=True))
        self.y -= _TITLE - 1.4

    def _prose(self, block: Prose) -> None:
        lines = [wrapped(text, self.room.width, SIZE) for text in block.paragraphs]
        if self.y - self.room.bottom < _TITLE + 4 * _LINE and self._begun():
            self._next()
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
        needs, widths = _widths(table, self.room.width)
        rows = [[wrapped(cell, max(width - _PAD, 4.0), SIZE)
                 for cell, width in zip(row, widths, strict=True)] for row in table.rows]
        heads = [wrapped(head, max(width - _PAD, 4.0), SIZE, True)
                 for head, width in zip(table.heads, widths, strict=True)]
        first = _TITLE + _height(heads) + sum(_height(row) for row in rows[:2])
        if self.y - self.room.bottom < first and self._begun():
            self._next()
        self._title(table.title)
        self._row(heads, widths, needs, table.right, True)
        for row in rows:
            if self.y - _height(row) < self.room.bottom and self._begun():
                self._next()
                self._title(f"{table.title}, continued")
                self._row(heads, widths, needs, table.right, True)
            self._row(row, widths, needs, table.right)
        note = wrapped(table.note, self.room.width, SIZE) if table.note else []
        self.y -= 1.2 if note else 0.0
        for text in note:
            if self.y - _LINE < self.room.bottom:
                self._next()
            self.page.items.append(Text(self.room.left, self.y - _LINE + 0.8, text, SIZE))
            self.y -= _LINE
        self.y -= _AFTER

    def _row(self, cells: list[list[str]], widths: list[float], needs: list[float],
             right: frozenset[int], head: bool = False) -> None:
        height, x = _height(cells), self.room.left
        for column, (lines, width) in enumerate(zip(cells, widths, strict=True)):
            flush = column in right
            at = x + min(width - _PAD, needs[column]) if flush else x
            for step, text in enumerate(lines):
                if text:
                    base = self.y - _ROW_PAD - SIZE - step * _LINE
                    self.page.items.append(Text(at, base, text, SIZE, 1 if flush else -1,
                                                bold=head))
            x += width
        self.y -= height
        pen = Pen(NARROW) if head else Pen(0.13, colour=PALE)
        self.page.items.append(Line(self.room.left, self.y, self.room.right, self.y, pen))


def _height(cells: list[list[str]]) -> float:
    return SIZE + 2 * _ROW_PAD + (max(len(lines) for lines in cells) - 1) * _LINE


def _widths(table: Table, width: float) -> tuple[list[float], list[float]]:
    """Widths of the text of each column, and column widths that fill `width`: room for the
    text where there is enough, else the widest columns give way."""
    wants = []
    for column, head in enumerate(table.heads):
        texts = [text_width(row[column], SIZE) for row in table.rows]
        wants.append(max([text_width(head, SIZE, True), *texts]) + _PAD + 1.0)
    needs = [want - _PAD - 1.0 for want in wants]
    spare = width - sum(wants)
    if spare >= 0:
        share = spare / len(wants)
        return needs, [want + share for want in wants]
    # Cap the widest columns at one common width, found by filling from the narrowest.
    left, capped = width, {}
    for rank, column in enumerate(sorted(range(len(wants)), key=lambda c: wants[c])):
        capped[column] = min(wants[column], left / (len(wants) - rank))
        left -= capped[column]
    return needs, [capped[column] for column in range(len(wants))]
