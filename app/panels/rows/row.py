"""What one line of the particulars is: a value of the sketch and how to change it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from app.panels.quantities import WORDS, Quantity
from core.model import Sketch, edits

#: (sketch, id of the thing) -> value
Read = Callable[[Sketch, str], Any]
#: (sketch, id of the thing, value) -> sketch
Write = Callable[[Sketch, str, Any], Sketch]


@dataclass(frozen=True)
class Row:
    """One value.

    `kind` chooses the widget: "box" (a quantity), "choice" (value and text pairs),
    "switch", "text" (several lines), "fact" (shown, not edited), "button" (gives True).
    `verb` labels the undo step. `renames` marks the row whose value is the id itself.
    `empty` is written faintly where nothing is typed in: what holds then.
    """

    key: str
    label: str
    read: Read
    write: Write | None = None
    kind: str = "box"
    quantity: Quantity | None = None
    choices: tuple[tuple[Any, str], ...] = ()
    tip: str = ""
    verb: str = ""
    renames: bool = False
    empty: str = ""


@dataclass(frozen=True)
class Section:
    """Rows under a heading; `ids` are the things they belong to."""

    title: str
    ids: tuple[str, ...]
    rows: tuple[Row, ...] = field(default=())


def name_row() -> Row:
    """The row that renames a thing."""
    return Row("name", "Name", _same, edits.rename, quantity=WORDS, verb="Rename",
               renames=True, tip="1 to 64 characters, no full stop")


def _same(_: Sketch, item_id: str) -> str:
    return item_id


def field_row(group: str, name: str, label: str, **more: Any) -> Row:
    """A row for a plain field of a struct in `group`."""

    def read(sketch: Sketch, item_id: str) -> Any:
        return getattr(edits.get(sketch, item_id), name)

    def write(sketch: Sketch, item_id: str, value: Any) -> Sketch:
        return edits.change(sketch, group, item_id, **{name: value})

    return Row(name, label, read, write, verb=f"Change {label.lower()}", **more)


def titled(word: str, ids: tuple[str, ...], rows: list[Row]) -> list[Section]:
    """One section for one or several things called `word`; one can be renamed."""
    title = word.capitalize() if len(ids) == 1 else f"{len(ids)} {word}s"
    return [Section(title, ids, tuple([name_row(), *rows] if len(ids) == 1 else rows))]
