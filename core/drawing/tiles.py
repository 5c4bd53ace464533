"""Pages of templates: small parts nested on shelves, large ones tiled with register marks."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import shapely

from core.drawing.clip import clipped, moved, register_mark, starts
from core.drawing.frame import STRIP_HEIGHT, Room, check_bars, frame, room_of
from core.drawing.items import FINE, PALE, SOFT, Item, Page, Pen, Text, box
from core.drawing.kinds import Kind
from core.drawing.lettering import centred, shortened
from core.drawing.paper import EDGE, PAPERS
from core.drawing.subject import Subject
from core.drawing.templates import (
    Template,
    caption_items,
    caption_size,
    lying_size,
    small_map,
    template,
)

OVERLAP = 10.0
#: A template that would take more pages than this is not printed.
MOST_TILES = 60
_SPACE = 6.0
_FOOT = 17.5
_SEAM = Pen(FINE, (2.0, 2.0), SOFT)
_MARK = Pen(FINE)


@dataclass(frozen=True)
class Tile:
    """One page of a tiled template: its name ("A1": column, row from the top) and the
    rectangle of the template it shows."""

    name: str
    room: Room


def template_pages(subject: Subject, alike: Sequence[Kind], paper: str) -> list[Page]:
    """Pages with every kind of part at full size, without title strips.

    Parts that fit are nested, largest first; a long one may lie aslant on a page of its
    own; what is still too large is tiled.
    """
    inches = subject.sketch.units == "in"
    upright = PAPERS[paper]
    cells: list[Template] = []
    alone: list[Page] = []
    for kind in alike:
        size = lying_size(subject.sketch.part(kind.parts[0]), 0.0)
        if (count := _count(size, upright, inches)) > MOST_TILES:
            alone.append(_refused(kind, count, upright, paper, inches))
            continue
        made = template(subject, kind)
        if _cell_fits(made, usable(upright, inches)):
            cells.append(made)
            continue
        turned = _aslant(subject, kind, upright, inches)
        if turned is None:
            alone += tiled(made, upright, paper, inches)
        else:
            alone.append(_single(turned, upright, paper, inches))
    return _shelves(cells, upright, paper, inches) + alone


def usable(size: tuple[float, float], inches: bool) -> Room:
    """What of a template page is free for parts."""
    low = EDGE + STRIP_HEIGHT + _FOOT + (6.0 if inches else 0.0)
    return Room(EDGE + 4.0, low, size[0] - EDGE - 4.0, size[1] - EDGE - 4.0)


def _cell(made: Template) -> tuple[float, float]:
    wide, high = caption_size(made.caption)
    return max(made.width, wide), made.height + high


def _cell_fits(made: Template, room: Room) -> bool:
    width, height = _cell(made)
    return width <= room.width and height <= room.height


def _blank(size: tuple[float, float], paper: str, inches: bool, title: str,
           advice: str = "Print at actual size; measure the bar before cutting.") -> Page:
    """A template page with its frame, check bars and advice."""
    page = Page(size[0], size[1], [], title, paper)
    page.items += frame(page, EDGE)
    x, y = EDGE + 4.0, EDGE + STRIP_HEIGHT + 4.0
    page.items += check_bars(x, y, inches)
    page.items.append(Text(x, y + (11.0 if inches else 5.0),
                           f"{advice} Double arrow: face grain.", 1.8))
    return page


def _shelves(cells: Sequence[Template], size: tuple[float, float], paper: str, inches: bool
             ) -> list[Page]:
    """First-fit shelves, tallest first: each part on the first shelf with room."""
    room = usable(size, inches)
    pages: list[Page] = []
    shelves: list[list[tuple[float, Template]]] = []
    level: list[tuple[int, float, float]] = []  # page, top and height of each shelf
    ends: list[float] = []
    bottoms: list[float] = []
    for made in sorted(cells, key=lambda t: (-_cell(t)[1], t.kind.item)):
        width, height = _cell(made)
        shelf = next((n for n, end in enumerate(ends) if end + width <= room.right
                      and height <= level[n][2] + 1e-9), None)
        if shelf is None:
            page = next((n for n, low in enumerate(bottoms) if low - height >= room.bottom),
                        len(bottoms))
            if page == len(bottoms):
                bottoms.append(room.top)
            shelf = len(shelves)
            shelves.append([])
            level.append((page, bottoms[page], height))
            ends.append(room.left)
            bottoms[page] -= height + _SPACE
        shelves[shelf].append((ends[shelf], made))
        ends[shelf] += width + _SPACE
    for number in range(len(bottoms)):
        page_made = _blank(size, paper, inches, "Templates, full size")
        for row, (on, top, _) in zip(shelves, level, strict=True):
            if on == number:
                for x, made in row:
                    page_made.items += _placed(made, x, top)
        pages.append(page_made)
    return pages


def _placed(made: Template, x: float, top: float) -> list[Item]:
    return [*moved(made.items, complex(x, top - made.height)),
            *caption_items(made.caption, x, top - made.height)]


def _aslant(subject: Subject, kind: Kind, size: tuple[float, float], inches: bool
            ) -> Template | None:
    """The template turned so that it fits one page, the least turn first from upright."""
    room = usable(size, inches)
    part = subject.sketch.part(kind.parts[0])
    for angle in (90.0, *(float(a) for a in range(85, 0, -5))):
        width, height = lying_size(part, angle)
        if width <= room.width and height <= room.height:
            made = template(subject, kind, angle)
            if _cell_fits(made, room):
                return made
    return None


def _single(made: Template, size: tuple[float, float], paper: str, inches: bool) -> Page:
    page = _blank(size, paper, inches, "Template, full size")
    room = usable(size, inches)
    width, _ = _cell(made)
    page.items += _placed(made, room.left + (room.width - width) / 2, room.top)
    return page


def tiles(width: float, height: float, room: Room, overlap: float = OVERLAP) -> list[Tile]:
    """Rectangles of a page's size that cover a template of `width` × `height` mm."""
    columns, rows = starts(width, room.width, overlap), starts(height, room.height, overlap)
    return [Tile(f"{_letter(column)}{row}", Room(x, y, x + room.width, y + room.height))
            for row, y in enumerate(reversed(rows), 1) for column, x in enumerate(columns)]


def _count(size: tuple[float, float], upright: tuple[float, float], inches: bool) -> int:
    """How many tiles a template of some width and height takes, at best."""
    rooms = usable(upright, inches), usable(upright[::-1], inches)
    counts = []
    for room in rooms:
        across, up = (max(1.0, (side - OVERLAP) / (window - OVERLAP))
                      for side, window in zip(size, (room.width, room.height), strict=True))
        counts.append(math.ceil(across - 1e-9) * math.ceil(up - 1e-9))
    return min(counts)


def _refused(kind: Kind, count: int, size: tuple[float, float], paper: str, inches: bool
             ) -> Page:
    page = _blank(size, paper, inches, f"Template {kind.parts[0]}, not printed")
    room = usable(size, inches)
    about = (f"{kind.item}  {kind.parts[0]}",
             f"At full size this part takes {count} sheets of {paper}; choose larger paper.")
    page.items += caption_items(about, room.left, room.top)
    return page


def _letter(column: int) -> str:
    return (_letter(column // 26 - 1) if column >= 26 else "") + chr(ord("A") + column % 26)


def tiled(made: Template, upright: tuple[float, float], paper: str, inches: bool) -> list[Page]:
    """A template over several pages, upright or across, whichever takes fewer."""
    size = min((upright, upright[::-1]), key=lambda s: len(
        tiles(made.width, made.height, usable(s, inches))))
    room = usable(size, inches)
    cover = tiles(made.width, made.height, room)
    marks = _register(cover)
    pages = []
    for tile in cover:
        window = shapely.box(tile.room.left, tile.room.bottom, tile.room.right, tile.room.top)
        if not made.shape.intersects(window):
            continue
        part = clipped(made.items, tile.room)
        page = _blank(size, paper, inches, f"Template {made.name}, tile {tile.name}",
                      "Print at actual size; measure the bar. Join: trim one sheet at the "
                      "dashed line, lay crosses on crosses.")
        shift = complex(room.left - tile.room.left, room.bottom - tile.room.bottom)
        page.items += moved(part, shift)
        page.items += moved(clipped(marks, tile.room), shift)
        page.items.append(box(room.left, room.bottom, room.width, room.height, _SEAM))
        page.items += _map(made, cover, tile, page, inches)
        pages.append(page)
    return pages


def _register(cover: Sequence[Tile]) -> list[Item]:
    """Register marks in the middle of every overlap, in template coordinates."""
    marks: list[Item] = []
    seen: set[tuple[int, int]] = set()
    for tile in cover:
        for other in cover:
            a, b = tile.room, other.room
            low = complex(max(a.left, b.left), max(a.bottom, b.bottom))
            high = complex(min(a.right, b.right), min(a.top, b.top))
            size = high - low
            if tile is other or min(size.real, size.imag) < OVERLAP / 2:
                continue
            middle = (low + high) / 2
            reach = 0.35 * max(size.real, size.imag)
            along = 1 + 0j if size.real > size.imag else 1j
            for share in (-1, 0, 1) if max(size.real, size.imag) > 4 * OVERLAP else (0,):
                at = middle + along * reach * share
                key = round(at.real * 10), round(at.imag * 10)
                if key not in seen:
                    seen.add(key)
                    marks += register_mark(at, _MARK)
    return marks


def _map(made: Template, cover: Sequence[Tile], here: Tile, page: Page,
         inches: bool) -> list[Item]:
    """Name of the tile and a small picture of how the tiles lie."""
    room = room_of(page, EDGE)
    left = min(tile.room.left for tile in cover)
    low = min(tile.room.bottom for tile in cover)
    wide = max(tile.room.right for tile in cover) - left
    high = max(tile.room.top for tile in cover) - low
    scale = min(34.0 / wide, 13.0 / high)
    x0, y0 = room.right - 4.0 - wide * scale, room.bottom + STRIP_HEIGHT + 2.0
    items: list[Item] = []
    for tile in cover:
        x, y = x0 + (tile.room.left - left) * scale, y0 + (tile.room.bottom - low) * scale
        fill = PALE if tile is here else None
        items.append(box(x, y, tile.room.width * scale, tile.room.height * scale,
                         Pen(0.13, colour=SOFT), fill))
    corner = complex(x0 - left * scale, y0 - low * scale)
    items += small_map((corner.real, corner.imag, corner.real + made.width * scale,
                        corner.imag + made.height * scale), made.items,
                       (made.width, made.height))
    items.append(centred(x0 - 3.0, y0 + 6.5, here.name, 5.0, align=1, bold=True))
    about = shortened(". ".join(made.caption), x0 - room.left - 26.0, 1.8, True)
    items.append(Text(room.left + 4.0, y0 + (17.5 if inches else 11.5), about, 1.8, bold=True))
    return items

