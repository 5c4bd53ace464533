"""Small sketches that go wrong in one way each. Invented numbers."""

from __future__ import annotations

import cmath
import math
from typing import Any

from linkages import meet

from core.findings import Finding
from core.model import (
    Disc,
    Drive,
    Lock,
    Mass,
    Part,
    Pin,
    PinInSlot,
    Point,
    Sketch,
    Slide,
)
from core.study import Study, study


def part(name: str, layer: int | None, *, fixed: bool = False, outline: Any = None,
         mass: Mass | None = None, **at: complex) -> Part:
    """A part with points at complex places."""
    points = tuple(Point(id=key, x=z.real, y=z.imag) for key, z in at.items())
    return Part(id=name, layer=layer, fixed=fixed, outline=outline, points=points, mass=mass)


def four_bar(lengths: tuple[float, float, float, float] = (100.0, 30.0, 100.0, 80.0),
             drawn_deg: float = 40.0, layers: tuple[int, int, int, int] = (0, 2, 3, 1),
             **more: Any) -> Sketch:
    """Ground, crank, coupler, rocker. With the default layers nothing touches."""
    d, a, b, c = lengths
    tip = a * cmath.exp(1j * math.radians(drawn_deg))
    elbow = meet(tip, complex(d), b, c)
    base = part("base", layers[0], fixed=True, o=0j, q=complex(d))
    parts = (base, part("crank", layers[1], o=0j, a=tip),
             part("coupler", layers[2], a=tip, b=elbow),
             part("rocker", layers[3], q=complex(d), b=elbow))
    pins = (Pin(id="O", at=("base.o", "crank.o")), Pin(id="A", at=("crank.a", "coupler.a")),
            Pin(id="B", at=("coupler.b", "rocker.b")), Pin(id="Q", at=("base.q", "rocker.q")))
    drive = Drive(pin="O", part="crank", drawn_deg=drawn_deg)
    return Sketch(parts=parts, pins=pins, drive=drive, **more)


def slider_crank(travel: tuple[float, float] = (60.0, 160.0)) -> Sketch:
    """Crank 30, rod 100, a block on a slide along x; stroke from 70 to 130."""
    tip = 30 * cmath.exp(1j * math.radians(60))
    block = complex(tip.real + math.sqrt(100**2 - tip.imag**2))
    parts = (part("base", 0, fixed=True, o=0j, s=complex(travel[0]), e=complex(travel[1])),
             part("crank", 2, o=0j, a=tip), part("rod", 3, a=tip, b=block),
             part("block", 1, outline=Disc(radius_mm=9), b=block))
    pins = (Pin(id="O", at=("base.o", "crank.o")), Pin(id="A", at=("crank.a", "rod.a")),
            Pin(id="B", at=("rod.b", "block.b")))
    return Sketch(parts=parts, pins=pins, drive=Drive(pin="O", part="crank", drawn_deg=60.0),
                  slides=(Slide(id="S", point="block.b", along=("base.s", "base.e")),))


def slotted() -> Sketch:
    """A crank whose pin runs in a slotted swing, a pad under the crank pin made fast to
    the crank in the layer between."""
    tip = 20j
    parts = (part("base", 0, fixed=True, o=0j, q=-80 + 0j),
             part("crank", 3, o=0j, a=tip), part("pad", 2, outline=Disc(radius_mm=9), a=tip),
             part("swing", 1, q=-80 + 0j, s=-80 + (80 + tip) * 0.6, e=-80 + (80 + tip) * 1.5))
    return Sketch(parts=parts, drive=Drive(pin="O", part="crank", drawn_deg=90.0),
                  pins=(Pin(id="O", at=("base.o", "crank.o")),
                        Pin(id="Q", at=("base.q", "swing.q"))),
                  slots=(PinInSlot(id="S", point="crank.a", slot=("swing.s", "swing.e")),),
                  locks=(Lock(id="L", parts=("crank", "pad")),))


def lone_crank(kg: float, reach: float = 60.0, direction_deg: float = 0.0,
               drawn_deg: float = 0.0, **more: Any) -> Sketch:
    """A weight on a crank about the origin, `direction_deg` ahead of its arm."""
    at = reach * cmath.exp(1j * math.radians(drawn_deg + direction_deg))
    heavy = Mass(mass_kg=kg, x=at.real, y=at.imag)
    arm = 50 * cmath.exp(1j * math.radians(drawn_deg))
    parts = (part("base", 0, fixed=True, o=0j), part("crank", 1, mass=heavy, o=0j, a=arm))
    fields: dict[str, Any] = {
        "pins": (Pin(id="O", at=("base.o", "crank.o"), diameter_mm=2),),
        "drive": Drive(pin="O", part="crank", drawn_deg=drawn_deg), **more}
    return Sketch(parts=parts, **fields)


def codes(done: Study) -> set[str]:
    return {one.code for one in done.findings}


def only(done: Study, code: str) -> Finding:
    """The one finding of a kind."""
    (found,) = [one for one in done.findings if one.code == code]
    return found


def mended(sketch: Sketch, code: str, number: int = 0) -> Study:
    """The study of a sketch after the mend of its first finding of a kind."""
    found = next(one for one in study(sketch).findings if one.code == code)
    return study(found.edits[number].apply(sketch))
