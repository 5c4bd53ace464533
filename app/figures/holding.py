"""The figure of docs/holding.md: one shaft, held on one side and on both."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from app.figures.plate import BRASS, FAINT, INK, Plate
from core.effort import effort
from core.making.ranges import show_load
from core.making.rods import loads
from core.making.strength import Check, strength
from core.making.strength.beam import beam
from core.making.strength.rod_checks import Strained, strained
from core.making.strength.words import show_safety
from core.model import Bar, Drive, Force, Gravity, Part, Pin, Point, Sketch
from core.motion import solve_turn

_WOOD, _FRAME, _BEND = "#e2c193", "#cfc6b3", "#b5482a"
_PULL_N, _ROD_MM = 80.0, 5.0
#: px for a mm along the rod; px for a N·mm of bending.
_SCALE, _TALL = 6.0, 0.08


def shaft(both: bool) -> Sketch:
    """A crank of 9 mm on a rod of 5 mm, pulled by its own middle with 80 N, three layers
    from its board; `both`: a second board on its other side."""

    def part(name: str, layer: int, thick: float = 6.0) -> Part:
        ends = (Point(id="o", x=0, y=0), Point(id="a", x=30, y=0))
        return Part(id=name, fixed=name.endswith("board"), layer=layer, thickness_mm=thick,
                    points=ends, outline=Bar(width_mm=30.0))

    boards = ("board", "other board") if both else ("board",)
    parts = [part("board", 0, 9.0), part("link", 1), part("crank", 2, 9.0)]
    if both:
        parts += [part("spacer", 3), part("other board", 4, 9.0)]
    return Sketch(
        parts=tuple(parts),
        pins=(Pin(id="shaft", at=(*(f"{board}.o" for board in boards), "crank.o"),
                  diameter_mm=_ROD_MM),),
        forces=(Force(id="pull", at="crank.o", fx_n=0.0, fy_n=-_PULL_N),),
        gravity=Gravity(g_m_s2=0.0), drive=Drive(pin="shaft", part="crank", rpm=1e-6))


def holding() -> str:
    """Both shafts from the side, and how much they are bent along their length."""
    plate = Plate(800, 330)
    for left, both in ((60.0, False), (440.0, True)):
        turn = solve_turn(shaft(both), steps=8)
        strain = effort(turn)
        load = next(one for one in loads(turn, strain) if one.rod.id == "shaft")
        bent = next(one for one in strength(turn, strain, friction=False).checks
                    if one.kind == "rod-bending" and one.joints == ("shaft",))
        _side(plate, left, strained(load, beam(load.rod)), bent,
              "held on both sides" if both else "held on one side")
    return plate.text()


def _side(plate: Plate, left: float, rod: Strained, bent: Check, title: str) -> None:
    of, axis, ground = rod.load.rod, 110.0, 215.0
    plate.word(complex(left, 24), title, 14, bold=True)

    def box(x0: float, x1: float, half: float, fill: str) -> None:
        a, b = left + _SCALE * x0, left + _SCALE * x1
        plate.line([complex(a, axis - half), complex(b, axis - half), complex(b, axis + half),
                    complex(a, axis + half)], INK, 1.2, closed=True, fill=fill)

    for k, station in enumerate(of.stations):
        box(station.from_mm, station.to_mm, 58.0 if k in of.supports else 40.0,
            _FRAME if k in of.supports else _WOOD)
        at = left + _SCALE * station.middle_mm
        plate.word(complex(at, axis - 64), station.part, 11, FAINT, "middle")
    box(of.from_mm - 3, of.to_mm + 3, of.diameter_mm / 2 * _SCALE / 2, BRASS)
    pulled = next(s for s in of.stations if s.part == "crank")
    at = left + _SCALE * pulled.middle_mm
    plate.line([complex(at, axis + 40), complex(at, axis + 76)], _BEND, 2.0)
    plate.line([complex(at - 5, axis + 68), complex(at, axis + 78), complex(at + 5, axis + 68)],
               _BEND, 2.0)
    plate.word(complex(at + 8, axis + 76), f"{_PULL_N:g} N", 12, _BEND)
    moment = rod.moment[0]
    curve = [complex(left + _SCALE * z, ground + _TALL * m)
             for z, m in zip(rod.beam.at_mm, moment, strict=True)]
    first, last = curve[0].real, curve[-1].real
    plate.line([complex(first, ground), *curve, complex(last, ground)], _BEND, 1.4,
               closed=True, fill="#f1d6cf")
    plate.line([complex(first - 10, ground), complex(last + 10, ground)], INK, 1.0)
    worst = float(np.max(moment))
    plate.word(complex(left, 318), f"bending up to {worst:.0f} N·mm:"
               f" {show_load(bent.value, bent.unit)}, a safety of {show_safety(bent)}", 12)


FIGURES: dict[str, Callable[[], str]] = {"holding": holding}
