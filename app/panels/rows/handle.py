"""Particulars of the handle, and the steps between it and the crank."""

from __future__ import annotations

import math
from typing import Any

from app.panels import quantities as q
from app.panels.rows.row import Row, Section
from app.panels.rows.tables import Table
from core import units
from core.errors import UnitError
from core.model import Sketch, edits

KINDS = {"gears": "gears", "belt": "belt", "crossed belt": "crossed"}
_TIP = ("From the hand inwards. Hand and crank: teeth of the gears or diameters of the "
        "pulleys on either side. m: the module of gears. %: the share of the work that is "
        "passed on. Play: along the pitch circle. Shift: of the profiles of the two gears, in "
        "modules. Kind: gears, belt or crossed.")


def handle_section(sketch: Sketch) -> Section:
    """The handle; rows act on the sketch's, whatever id they get."""
    rows = [
        _row("radius_mm", "Radius", quantity=q.SIZE,
             tip="From the middle of its shaft to the middle of the grip"),
        _row("who", "Turned by", kind="choice",
             choices=(("adult", "a grown-up"), ("child", "a child"))),
        _row("limit_n", "Hardest push", quantity=q.MAYBE_FORCE, empty="as is usual",
             tip="What it may ask for at most; left empty, what is usual for who turns it"),
    ]
    if sketch.handle.steps:
        rows.append(Row("handle turns", "Turns", _turns, kind="fact",
                        tip="Of the handle for one of the crank, and which way"))
        rows.append(Row("handle play", "Play", _play, kind="fact",
                        tip="How far the handle moves while the crank stands"))
    return Section("Handle", ("",), tuple(rows))


def _row(name: str, label: str, **more: Any) -> Row:
    def read(sketch: Sketch, _: str) -> Any:
        return getattr(sketch.handle, name)

    def write(sketch: Sketch, _: str, value: Any) -> Sketch:
        return edits.set_handle(sketch, **{name: value})

    return Row(f"handle {name}", label, read, write, verb="Change handle", **more)


def _turns(sketch: Sketch, _: str) -> str:
    steps = sketch.handle.steps
    ratio = math.prod(step.ratio for step in steps)
    against = sum(step.reverses for step in steps) % 2
    way = "against the crank" if against else "with the crank"
    return f"{ratio:.4g} for one, {way}"


def _play(sketch: Sketch, _: str) -> str:
    from core.effort.hand import backlash_of  # not before there are steps

    play = backlash_of(sketch.handle.steps)
    return "unknown without a module" if play is None else units.show_angle(
        math.degrees(play))


def steps_table() -> Table:
    """The steps from the hand inwards."""

    def read(sketch: Sketch) -> list[tuple[Any, ...]]:
        return [(step.kind, (step.driver, step.kind), (step.driven, step.kind),
                 step.module_mm if step.kind == "gears" else None, step.efficiency,
                 step.backlash_mm if step.kind == "gears" else None,
                 step.shift if step.kind == "gears" else None)
                for step in sketch.handle.steps]

    def write(sketch: Sketch, row: int, column: int, value: Any) -> Sketch:
        if column == 0:
            return edits.set_step_kind(sketch, row, value)
        name = ("driver", "driven", "module_mm", "efficiency", "backlash_mm",
                "shift")[column - 1]
        if name == "backlash_mm" and value is None:
            value = 0.0
        if name == "shift" and value is None:
            value = (0.0, 0.0)
        if column in (1, 2):
            value = _wheel(value, sketch, row)
        return edits.change_step(sketch, row, **{name: value})

    def add(sketch: Sketch, row: int, _: float) -> Sketch:
        return edits.add_step(sketch, len(sketch.handle.steps) if row < 0 else row + 1)

    return Table("Steps from hand to crank", "step",
                 ("Kind", "Hand", "Crank", "m", "%", "Play", "Shift"),
                 (KIND, _WHEEL, _WHEEL, _MODULE, SHARE, _PLAY, _SHIFT), read, write, add,
                 edits.remove_step, _TIP, snug=True, after="Handle")


def _kind(text: str, _: str) -> str:
    plain = text.strip().casefold()
    for kind, shown in KINDS.items():
        if plain and (kind.startswith(plain) or shown.startswith(plain)):
            return kind
    raise UnitError(f"{text.strip()!r} is no kind of step", mend="type gears, belt or crossed")


def _show_kind(value: str, _: str) -> str:
    return KINDS[value]


def _wheel(text: str, sketch: Sketch, row: int) -> float:
    """Teeth, or the diameter of a pulley, by what the step is."""
    if sketch.handle.steps[row].kind == "gears":
        return units.parse_number(text)
    return units.parse_length(text, sketch.units)


def _as_typed(text: str, _: str) -> str:
    return text


def _show_wheel(value: tuple[float, str], shown: str) -> str:
    size, kind = value
    return f"{size:g}" if kind == "gears" else units.show_length(size, shown)


def _share(text: str, shown: str) -> tuple[float, float]:
    """Efficiencies as parts of one or of a hundred: what is above one is a percentage."""
    plain = text.replace("%", " ").replace("-", " to ")
    low, high = q.FRICTION.parse(plain, shown)
    return (low / 100.0, high / 100.0) if high > 1.0 else (low, high)


def _show_share(value: tuple[float, float], _: str) -> str:
    low, high = (f"{100 * end:.3g}" for end in value)
    return low if low == high else f"{low}–{high}"


def _bare_length(value: float | None, shown: str) -> str:
    """Without its unit, for which there is no room."""
    one = units.MM_PER_INCH if shown == "in" else 1.0
    return "–" if value is None else f"{value / one:.3g}"


def _maybe_mm(text: str, shown: str) -> float | None:
    plain = text.strip()
    return None if plain in ("", "–", "-") else units.parse_length(plain, shown)


def _module(text: str, _: str) -> float | None:
    plain = text.strip()
    return None if plain in ("", "–", "-") else units.parse_number(plain)


def _show_module(value: float | None, _: str) -> str:
    return "–" if value is None else f"{value:g}"


def _shift(text: str, _: str) -> tuple[float, float] | None:
    plain = text.replace("\u2212", "-").replace("/", " ").replace(",", " ").split()
    if plain in ([], ["–"], ["-"]):
        return None
    if len(plain) > 2:
        raise UnitError(f"{text.strip()!r} is not one number for each of the two gears",
                        mend='type "0.3 / 0"')
    values = [units.parse_number(each) for each in plain]
    return (values[0], values[1] if len(values) > 1 else 0.0)


def _show_shift(value: tuple[float, float] | None, _: str) -> str:
    if value is None or value == (0.0, 0.0):
        return "–"
    return " / ".join(f"{each:.3g}" for each in value)


KIND = q.Quantity(_kind, _show_kind)
SHARE = q.Quantity(_share, _show_share)
#: What is typed is read once the step it belongs to is known.
_WHEEL = q.Quantity(_as_typed, _show_wheel)
_MODULE = q.Quantity(_module, _show_module)
_PLAY = q.Quantity(_maybe_mm, _bare_length)
_SHIFT = q.Quantity(_shift, _show_shift)
