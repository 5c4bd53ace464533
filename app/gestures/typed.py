"""Lengths typed while a gesture is under way."""

from __future__ import annotations

from core.errors import UnitError
from core.units import parse_length


def typed_length(text: str, units: str) -> float:
    """A length of more than nothing, mm, plain numbers in `units`; raises UnitError."""
    length = parse_length(text, units)
    if length <= 0.0:
        raise UnitError(f"{text.strip()!r} is no length between two places",
                        mend="type more than 0")
    return length
