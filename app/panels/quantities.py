"""How each kind of value is read from and written in a box."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from core import units
from core.errors import UnitError

#: (text, sketch units) -> value ; (value, sketch units) -> text
Parse = Callable[[str, str], Any]
Show = Callable[[Any, str], str]


@dataclass(frozen=True)
class Quantity:
    """A kind of value: how to read it and how to write it."""

    parse: Parse
    show: Show


def _bounded(parse: Parse, least: float, open_end: bool, what: str) -> Parse:
    def checked(text: str, shown: str) -> Any:
        value = parse(text, shown)
        if not math.isfinite(value) or value < least or (open_end and value == least):
            limit = "more than" if open_end else "at least"
            raise UnitError(f"{what} must be {limit} {least:g}", mend="type a larger value")
        return value
    return checked


def _or_none(kind: Quantity) -> Quantity:
    """The same, or nothing typed for None."""
    def parse(text: str, shown: str) -> Any:
        return kind.parse(text, shown) if text.strip() else None

    def show(value: Any, shown: str) -> str:
        return "" if value is None else kind.show(value, shown)

    return Quantity(parse, show)


def _sharp(text: str, shown: str) -> float:
    """An angle between two lines."""
    value = _angle(text, shown)
    if not 0.0 <= value < 90.0:
        raise UnitError("it must lie between 0° and 90°", mend="type an angle such as 40")
    return value


def _length(text: str, shown: str) -> float:
    return units.parse_length(text, shown)


def _show_length(value: float, shown: str) -> str:
    return units.show_length(value, shown)


def _angle(text: str, _: str) -> float:
    return units.parse_angle(text)


def _show_angle(value: float, _: str) -> str:
    return units.show_angle(value)


def _number(text: str, _: str) -> float:
    return units.parse_number(text)


def _show_number(value: float, _: str) -> str:
    return f"{value:.6g}".replace("-", "−")


def _whole(text: str, _: str) -> int:
    value = units.parse_number(text)
    if value != round(value):
        raise UnitError(f"{text.strip()!r} is not a whole number", mend="type a whole number")
    return round(value)


def _show_whole(value: int, _: str) -> str:
    return str(value).replace("-", "−")


def _mass(text: str, shown: str) -> float:
    return units.parse_mass(text, "lb" if shown == "in" else "kg")


def _force(text: str, shown: str) -> float:
    return units.parse_force(text, "lbf" if shown == "in" else "n")


def _torque(text: str, shown: str) -> float:
    return units.parse_torque(text, "lbf·in" if shown == "in" else "n·m")


def _rate(text: str, shown: str) -> float:
    """Spring rate in N/mm; a bare number is in N/mm, or lbf/in in an inch sketch."""
    plain = text.strip().casefold().replace(" ", "")
    for ending, one in (("n/mm", 1.0), ("n/m", 1e-3), ("lbf/in", _LBF_IN), ("lb/in", _LBF_IN)):
        if plain.endswith(ending):
            return units.parse_number(plain.removesuffix(ending)) * one
    return units.parse_number(text) * (_LBF_IN if shown == "in" else 1.0)


def _show_rate(value: float, shown: str) -> str:
    return f"{value / _LBF_IN:.4g} lbf/in" if shown == "in" else f"{value:.4g} N/mm"


def _range(text: str, _: str) -> tuple[float, float]:
    """A coefficient, or two with a dash or "to" between."""
    plain = text.replace("–", " to ").replace("..", " to ").replace("…", " to ")
    ends = [units.parse_number(piece) for piece in plain.split("to")]
    if len(ends) > 2 or min(ends) < 0 or ends[-1] < ends[0]:
        raise UnitError(f"{text.strip()!r} is not a range",
                        mend='type one number, or two like "0.2 to 0.6"')
    return ends[0], ends[-1]


def _show_range(value: tuple[float, float], _: str) -> str:
    low, high = value
    return f"{low:g}" if low == high else f"{low:g} to {high:g}"


def _words(text: str, _: str) -> str:
    return text.strip()


def _show_words(value: str, _: str) -> str:
    return value


_LBF_IN = units.N_PER_LBF / units.MM_PER_INCH

LENGTH = Quantity(_length, _show_length)
SIZE = Quantity(_bounded(_length, 0.0, True, "a size"), _show_length)
ROOM = Quantity(_bounded(_length, 0.0, False, "it"), _show_length)
ANGLE = Quantity(_angle, _show_angle)
SPREAD = Quantity(_bounded(_angle, 0.0, True, "it"), _show_angle)
SHARP = Quantity(_sharp, _show_angle)
MAYBE_SIZE = _or_none(SIZE)
MAYBE_ROOM = _or_none(ROOM)
NUMBER = Quantity(_number, _show_number)
POSITIVE = Quantity(_bounded(_number, 0.0, True, "it"), _show_number)
FROM_ZERO = Quantity(_bounded(_number, 0.0, False, "it"), _show_number)
WHOLE = Quantity(_whole, _show_whole)
COUNT = Quantity(_bounded(_whole, 1, False, "it"), _show_whole)
MASS = Quantity(_bounded(_mass, 0.0, True, "a mass"), units.show_mass)
FORCE = Quantity(_force, units.show_force)
MAYBE_FORCE = _or_none(Quantity(_bounded(_force, 0.0, True, "a push"), units.show_force))
TENSION = Quantity(_bounded(_force, 0.0, False, "it"), units.show_force)
TORQUE = Quantity(_torque, units.show_torque)
RATE = Quantity(_bounded(_rate, 0.0, True, "a rate"), _show_rate)
FRICTION = Quantity(_range, _show_range)
WORDS = Quantity(_words, _show_words)
