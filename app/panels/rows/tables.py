"""Tables of the particulars: the knots of a wanted angle, handles and ticks of a path, the
corners of a region."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import msgspec

from app.panels import quantities as q
from core.errors import EditError
from core.model import Sketch, edits
from core.model.edits import angle_wishes
from core.model.wanted import WantedAngle, WantedPath, Zone

replace = msgspec.structs.replace
#: Longer tables are not shown: their rows are dragged on the canvas.
MOST_ROWS = 60


@dataclass(frozen=True)
class Table:
    """Rows of numbers, or words, that belong to one thing.

    `read(sketch)` gives them; `write(sketch, row, column, value)`, `add(sketch, row,
    crank_deg)` (after the row marked, or −1) and `remove(sketch, row)` give changed
    sketches or raise EditError. `noun` names a row ("knot"). `snug`
    columns are as wide as what is in them, not all alike. `after` is the title of the
    section it stands below; without one it stands last.
    """

    title: str
    noun: str
    heads: tuple[str, ...]
    quantities: tuple[q.Quantity, ...]
    read: Callable[[Sketch], list[tuple[Any, ...]]]
    write: Callable[[Sketch, int, int, Any], Sketch]
    add: Callable[[Sketch, int, float], Sketch]
    remove: Callable[[Sketch, int], Sketch]
    tip: str = ""
    snug: bool = False
    after: str = ""


def tables(sketch: Sketch, selection: frozenset[tuple[str, str]]) -> list[Table]:
    """The tables for a selection of one wish or region; none for several."""
    if len(selection) != 1:
        return []
    kind, name = next(iter(selection))
    if kind not in ("wish", "zone"):
        return []
    thing = edits.get(sketch, name)
    match thing:
        case WantedAngle():
            made = [_knots(name)]
        case WantedPath():
            made = [_ticks(name), _handles(name)]
        case Zone():
            made = [_corners(name)]
        case _:
            made = []
    return [table for table in made if len(table.read(sketch)) <= MOST_ROWS]


def _knots(name: str) -> Table:
    def wish(sketch: Sketch) -> WantedAngle:
        return edits.get(sketch, name)  # type: ignore[no-any-return]

    def read(sketch: Sketch) -> list[tuple[float, ...]]:
        return [(knot.crank_deg, knot.angle_deg) for knot in wish(sketch).knots]

    def write(sketch: Sketch, row: int, column: int, value: float) -> Sketch:
        old = wish(sketch)
        if column == 1:
            knot = old.knots[row]
            return edits.put(sketch, angle_wishes.move_knot(old, row, knot.crank_deg, value))
        knots = list(old.knots)
        knots[row] = replace(knots[row], crank_deg=value)
        return edits.put(sketch, angle_wishes.set_knots(old, knots))

    def add(sketch: Sketch, row: int, crank_deg: float) -> Sketch:
        from core.wanted.curves import angle_at  # not before something is wanted

        old = wish(sketch)
        angle = float(angle_at(old, crank_deg))
        if angle != angle:  # beyond the ends of an open curve: as its nearest knot
            angle = min(old.knots, key=lambda k: abs(k.crank_deg - crank_deg)).angle_deg
        new, _ = angle_wishes.add_knot(old, round(crank_deg, 1), round(angle, 2))
        return edits.put(sketch, new)

    def remove(sketch: Sketch, row: int) -> Sketch:
        return edits.put(sketch, angle_wishes.remove_knot(wish(sketch), row))

    return Table("Knots", "knot", ("Crank", "Angle"), (q.ANGLE, q.ANGLE), read, write, add,
                 remove, "A new knot stands at the crank angle shown")


def _ticks(name: str) -> Table:
    def path(sketch: Sketch) -> WantedPath:
        return edits.get(sketch, name)  # type: ignore[no-any-return]

    def read(sketch: Sketch) -> list[tuple[float, ...]]:
        return [(tick.at + 1.0, tick.crank_deg) for tick in path(sketch).ticks]

    def write(sketch: Sketch, row: int, column: int, value: float) -> Sketch:
        if column == 1:
            return edits.set_tick(sketch, name, row, value)
        return edits.move_tick(sketch, name, row, value - 1.0)[0]

    def add(sketch: Sketch, row: int, crank_deg: float) -> Sketch:
        taken = {tick.at for tick in path(sketch).ticks}
        end = int(edits.path_end(path(sketch)))
        whole = path(sketch).closed and path(sketch).curve != "places"
        free = [at for at in range(end if whole else end + 1) if at not in taken]
        if not free:
            raise EditError("every place of the path has a tick already", name,
                            "drag one of them along the path")
        return edits.add_tick(sketch, name, float(free[0]), round(crank_deg, 1))

    def remove(sketch: Sketch, row: int) -> Sketch:
        return edits.remove_tick(sketch, name, row)

    return Table("Timing", "tick", ("At place", "Crank"), (q.NUMBER, q.ANGLE), read, write,
                 add, remove, "A new tick ties the next place of the path to the crank angle "
                 "shown; 1.5 is halfway from the first place to the second")


def _handles(name: str) -> Table:
    def path(sketch: Sketch) -> WantedPath:
        return edits.get(sketch, name)  # type: ignore[no-any-return]

    def read(sketch: Sketch) -> list[tuple[float, ...]]:
        return [*path(sketch).through]

    def add(sketch: Sketch, row: int, _: float) -> Sketch:
        from core.wanted.curves import curve_of

        at = _between(row, len(path(sketch).through), int(edits.path_end(path(sketch))))
        place = complex(curve_of(path(sketch)).place(at))
        return edits.insert_handle(sketch, name, at, place)[0]

    def remove(sketch: Sketch, row: int) -> Sketch:
        return edits.remove_handle(sketch, name, row)

    return Table("Places", "place", ("x", "y"), (q.LENGTH, q.LENGTH), read,
                 _moved(name, read), add, remove,
                 "A new place lies on the path after the one marked")


def _corners(name: str) -> Table:
    def read(sketch: Sketch) -> list[tuple[float, ...]]:
        return [*edits.get(sketch, name).corners]

    def add(sketch: Sketch, row: int, _: float) -> Sketch:
        corners = edits.get(sketch, name).corners
        index = int(_between(row, len(corners), len(corners)))
        one, other = corners[index], corners[(index + 1) % len(corners)]
        middle = complex((one[0] + other[0]) / 2, (one[1] + other[1]) / 2)
        return edits.insert_handle(sketch, name, index + 0.5, middle)[0]

    def remove(sketch: Sketch, row: int) -> Sketch:
        return edits.remove_handle(sketch, name, row)

    return Table("Corners", "corner", ("x", "y"), (q.LENGTH, q.LENGTH), read,
                 _moved(name, read), add, remove,
                 "A new corner lies halfway from the one marked to the next")


def _between(row: int, count: int, end: int) -> float:
    """Halfway from a row to the next; from the last but one where there is no next."""
    index = count - 1 if row < 0 else row
    return min(index, end - 1) + 0.5 if end > 0 else 0.0


def _moved(name: str, read: Callable[[Sketch], list[tuple[float, ...]]],
           ) -> Callable[[Sketch, int, int, float], Sketch]:
    def write(sketch: Sketch, row: int, column: int, value: float) -> Sketch:
        place: list[Any] = list(read(sketch)[row])
        place[column] = value
        return edits.move_handle(sketch, name, row, complex(*place))
    return write
