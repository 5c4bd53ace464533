"""The figures of docs/locks.md: what each hold bears on one arm, and the room holds need."""

from __future__ import annotations

import math
from collections.abc import Callable

from app.figures.plate import BRASS, FAINT, INK, Plate
from core.effort.hand import efficiency_of
from core.effort.push_limits import limit_of
from core.making.locks import Seat, capacity
from core.making.locks.room import need
from core.making.locks.telling import bears_words
from core.making.locks.words import named
from core.making.rings import rings_for, washer_for
from core.materials import MATERIALS
from core.model import LOCK_KINDS, Handle

_WOOD, _DARK, _FRAME, _JAM, _METAL = "#e2c193", "#c69c63", "#cfc6b3", "#b5482a", "#9aa3a8"
_ROD_MM, _ARM_MM, _WALL_MM = 8.0, 6.0, 8.0
_LEFT, _TOP, _ROW, _WIDE = 210.0, 64.0, 26.0, 420.0
_LOW_NMM, _HIGH_NMM = 100.0, 20_000.0
_SCALE = 5.0


def arm() -> Seat:
    """An arm of birch plywood on a steel shaft, as the figures have it."""
    return Seat(_ROD_MM, _ARM_MM, _ARM_MM, MATERIALS["steel"], MATERIALS["birch-plywood"],
                _WALL_MM)


def jam_nmm() -> float:
    """What a grown-up's hand puts on the crank when something is blocked."""
    handle = Handle()
    return limit_of(handle)[0] * handle.radius_mm * efficiency_of(handle)[1]


def bears() -> str:
    """What each kind of hold bears on that arm, and what a jam puts on it."""
    plate = Plate(800, _TOP + _ROW * len(LOCK_KINDS) + 60)

    def at(nmm: float) -> float:
        share = math.log(nmm / _LOW_NMM) / math.log(_HIGH_NMM / _LOW_NMM)
        return _LEFT + _WIDE * min(max(share, 0.0), 1.0)

    plate.word(complex(16, 26), "An arm of 6 mm birch plywood on an 8 mm steel shaft: where"
               " each hold gives way", 14, bold=True)
    bottom = _TOP + _ROW * len(LOCK_KINDS)
    for nm in (0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0):
        x = at(1000.0 * nm)
        plate.line([complex(x, _TOP - 8), complex(x, bottom)], "#ddd6c8", 1.0)
        plate.word(complex(x, bottom + 16), f"{nm:g}", 11, FAINT, "middle")
    plate.word(complex(_LEFT + _WIDE, bottom + 34), "N·m", 11, FAINT, "middle")
    found = sorted((capacity(kind, arm()) for kind in LOCK_KINDS), key=lambda one: -one.low)
    for k, one in enumerate(found):
        y = _TOP + _ROW * (k + 0.5)
        plate.word(complex(_LEFT - 12, y + 4), named(one.kind, one.size_mm, "mm"), 12,
                   anchor="end")
        a, b = at(one.low), max(at(one.high), at(one.low) + 3.0)
        plate.line([complex(a, y - 7), complex(b, y - 7), complex(b, y + 7), complex(a, y + 7)],
                   INK, 1.0, closed=True, fill=BRASS)
        plate.word(complex(_LEFT + _WIDE + 14, y + 4), one.weakest.name, 11, FAINT)
    x = at(jam_nmm())
    plate.line([complex(x, _TOP - 14), complex(x, bottom)], _JAM, 2.0, dash="6 4")
    plate.word(complex(x, _TOP - 20), f"the hand at its limit in a jam: {jam_nmm() / 1e3:.2f}"
               " N·m", 12, _JAM, "middle")
    return plate.text()


def room() -> str:
    """Three ways to hold that arm from the side, with what each takes of the shaft."""
    plate = Plate(800, 300)
    sheet = arm()
    boss = Seat(_ROD_MM, 2 * _ARM_MM, _ARM_MM, sheet.shaft, sheet.hub, _ROD_MM)
    _side(plate, 70.0, sheet, "pinned", 2.0, "a pin through the edge")
    _side(plate, 320.0, boss, "pinned", 2.0, "a pin through a boss")
    _side(plate, 570.0, sheet, "screwed", 4.0, "a collar with a flange")
    return plate.text()


def _side(plate: Plate, left: float, sits: Seat, kind: str, size: float, title: str) -> None:
    axis, wants = 150.0, need(kind, sits, size)

    def box(x0: float, x1: float, half: float, fill: str, middle: float = 0.0) -> None:
        a, b = left + _SCALE * x0, left + _SCALE * x1
        y0, y1 = axis + _SCALE * (middle - half), axis + _SCALE * (middle + half)
        plate.line([complex(a, y0), complex(b, y0), complex(b, y1), complex(a, y1)], INK, 1.2,
                   closed=True, fill=fill)

    plate.word(complex(left, 26), title, 14, bold=True)
    thick, ring, washer = sits.thickness_mm, rings_for(_ROD_MM)[0], washer_for(_ROD_MM)
    front = thick + wants.along
    end = front + washer.thick_mm + ring.beyond_mm
    box(0.0, thick, 8.0 + _ROD_MM / 2, _WOOD)
    if wants.along:
        box(thick, front, wants.around if kind == "pinned" else 8.0,
            _DARK if kind == "pinned" else _METAL)
        if kind == "screwed":
            box(thick, thick + 2.0, wants.around, _METAL)
    box(-9.0, end, _ROD_MM / 2, BRASS)
    box(front, front + washer.thick_mm, washer.outer_mm / 2, _METAL)
    groove = front + washer.thick_mm
    box(groove, groove + ring.width_mm, ring.outer_mm / 2, _FRAME)
    at = (thick + front) / 2 if wants.along else thick / 2
    half = 8.0 + _ROD_MM / 2 if not wants.along else wants.around
    if kind == "pinned":
        box(at - size / 2, at + size / 2, half, _METAL)
    else:
        box(at - size / 2 + 1, at + size / 2 + 1, 3.0, _FRAME, -6.5)
    bears = capacity(kind, sits, size)
    plate.word(complex(left, 254), f"beside the arm: {wants.along:g} mm", 12)
    plate.word(complex(left, 272), "about the axis: " + (
        f"{wants.around:g} mm" if wants.along else "the arm's own"), 12)
    plate.word(complex(left, 290), f"bears {bears_words(bears, 'mm')}", 12)


FIGURES: dict[str, Callable[[], str]] = {"locks-bear": bears, "locks-room": room}
