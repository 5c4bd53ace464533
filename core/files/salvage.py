"""Opening what is sound in a damaged sketch, and saying what was left out."""

from __future__ import annotations

import re
from typing import Any, get_args, get_origin

import msgspec

from core.errors import FileError
from core.files.mending import read_damaged
from core.files.migrations import check_header, migrate
from core.files.raw import decode
from core.files.shape import chosen, explain, steps_of
from core.model import FORMAT, GROUPS, VERSION, Part, Sketch
from core.model.edits.basics import first_free, ids
from core.model.problem import Problem, quoted
from core.model.structs import fields_of, hints_of, is_struct
from core.model.validate import LONGEST_ID, problems

_MOST_ROUNDS = 500
_GONE = object()
#: Lists of names that make sense without one of them, as long as two are left.
_SHORTER = {"at", "parts", "through", "around", "points", "free"}

replace = msgspec.structs.replace


def salvage(data: bytes, where: str = "") -> tuple[Sketch, list[str]]:
    """The sound part of a sketch file, and in words what was left out or set anew.

    Every part, joint and load that can be read and refers only to things there are is
    kept; misfits that the window can mend are kept as they are. A file cut short is read
    up to the cut.

    Raises
    ------
    FileError
        When nothing of a sketch can be found: empty, too large, nested too deep, no JSON
        object at its beginning, another format.
    """
    raw, trouble = read_damaged(decode(data, where, damaged=True), where)
    lost = [f"The file is damaged: {trouble}."] if trouble else []
    try:
        version = check_header(raw, where)
        raw = migrate(raw, where) if version < VERSION else raw
    except FileError as error:
        if not isinstance(raw.get("parts"), list):
            raise
        lost.append(f"It was read as a sketch although {error.what}.")
    sketch = _fitted({**raw, "format": FORMAT, "version": VERSION}, Sketch, "", lost)
    return _sound(sketch, lost), lost


def _fitted(raw: Any, kind: Any, place: str, lost: list[str]) -> Any:
    """`raw` as `kind` without what does not fit; _GONE when too little is left."""
    kind = chosen(kind, raw)
    entry = next(iter(get_args(kind)), None) if get_origin(kind) is tuple else None
    if is_struct(kind) and isinstance(raw, dict):
        return _fitted_struct(raw, kind, place, lost)
    if isinstance(raw, list) and any(is_struct(one) for one in (entry, *get_args(entry))):
        fitted = (_fitted(row, entry, f"{place}[{i}]", lost) for i, row in enumerate(raw))
        return tuple(item for item in fitted if item is not _GONE)
    try:
        return msgspec.convert(raw, kind, strict=True)
    except msgspec.ValidationError as error:
        inside, what, _ = explain(str(error), raw, kind)
        lost.append(f"{place}{inside}: {what}; it was left out.")
        return _GONE


def _fitted_struct(raw: dict[str, Any], kind: Any, place: str, lost: list[str]) -> Any:
    hints = hints_of(kind)
    kept: dict[str, Any] = {}
    for key, value in raw.items():
        path = f"{place}.{key}" if place else key
        if key in hints:
            fitted = _fitted(value, hints[key], path, lost)
            if fitted is not _GONE:
                kept[key] = fitted
        elif key != kind.__struct_config__.tag_field:
            lost.append(f"{place or 'the sketch'}: {quoted(key)} is not known here; "
                        "it was left out.")
    missing = [name for name, field in fields_of(kind).items()
               if field.required and name not in kept]
    if missing:
        name = quoted(raw["id"]) if isinstance(raw.get("id"), str) else "it"
        lost.append(f'{place}: "{missing[0]}" is missing, so {name} was left out.')
        return _GONE
    return kind(**kept)


def _sound(sketch: Sketch, lost: list[str]) -> Sketch:
    """Without what makes it unusable: ids are renamed, fields go back to their default,
    and what then is still wrong is dropped, until no problem is fatal."""
    for _ in range(_MOST_ROUNDS):
        fatal = [problem for problem in problems(sketch) if problem.fatal]
        if not fatal:
            return sketch
        sketch = _round(sketch, fatal, lost)
    raise FileError("too much of it is damaged", mend="choose another file or its .bak")


def _round(sketch: Sketch, fatal: list[Problem], lost: list[str]) -> Sketch:
    """The sketch with one problem of each thing mended; the rest is seen next round."""
    first: dict[tuple[str, int], Problem] = {}
    for problem in fatal:
        steps = steps_of(problem.place)
        grouped = steps[0] in GROUPS
        first.setdefault((str(steps[0]), int(steps[1]) if grouped else -1), problem)
    rows = {group: list(getattr(sketch, group)) for group in GROUPS}
    taken = ids(sketch)
    # From the last to the first of a group, so that earlier places stay true.
    for (group, index), problem in sorted(first.items(), reverse=True):
        steps = steps_of(problem.place)
        if index < 0:
            sketch = _reset(sketch, steps)
            lost.append(f"{problem.place}: {problem.what}; it was left out.")
            continue
        old = rows[group][index]
        if steps[-1] == "id":
            rows[group][index], name = _named_anew(old, steps[2:], group, taken)
            lost.append(f"{problem.place}: {problem.what}, so it was called {quoted(name)}.")
            continue
        new = _reset(old, steps[2:])
        rows[group][index: index + 1] = [] if new is None else [new]
        gone = f"{quoted(old.id)} was left out" if new is None else "that was left out"
        lost.append(f"{problem.place}: {problem.what}, so {gone}.")
    return replace(sketch, **{group: tuple(items) for group, items in rows.items()})


def _reset(value: Any, steps: list[str | int]) -> Any:
    """`value` without the smallest thing on a path that it can do without; None when that
    is all of it."""
    if not steps or not isinstance(value, msgspec.Struct):
        return None
    name = str(steps[0])
    inner = getattr(value, name)
    if isinstance(inner, tuple):
        new = _reset_entry(inner, steps[1:], name)
    else:
        new = _reset(inner, steps[1:])
    if new is not None:
        return replace(value, **{name: new})
    field = fields_of(type(value))[name]
    return None if field.required else replace(value, **{name: field.default})


def _reset_entry(rows: tuple[Any, ...], steps: list[str | int], name: str) -> Any:
    """The same for an entry of a tuple."""
    if not steps:
        return None
    index = int(steps[0])
    new = _reset(rows[index], steps[1:])
    if new is not None:
        return (*rows[:index], new, *rows[index + 1:])
    pair = isinstance(rows[index], tuple) and name in ("parts", "others")
    if isinstance(rows[index], msgspec.Struct) or pair or (name in _SHORTER and len(rows) > 2):
        return (*rows[:index], *rows[index + 1:])
    return None


def _named_anew(item: Any, steps: list[str | int], group: str,
                taken: set[str]) -> tuple[Any, str]:
    """The item, or the point of it that the path leads to, under a fresh id.

    References keep meaning the first bearer of a name.
    """
    if isinstance(item, Part) and len(steps) > 1:
        index = int(steps[1])
        point = item.points[index]
        new = first_free(_clean(point.id) or "point", {p.id for p in item.points})
        points = (*item.points[:index], replace(point, id=new), *item.points[index + 1:])
        return replace(item, points=points), new
    new = first_free(_clean(item.id) or group.removesuffix("s").replace("_", " "), taken)
    taken.add(new)
    return replace(item, id=new), new


def _clean(name: str) -> str:
    """A usable id as near to `name` as can be, with room for a number after it."""
    kept = "".join(mark for mark in name if mark.isprintable() and mark != ".")
    return re.sub(r"\s+", " ", kept)[: LONGEST_ID - 8].strip()
