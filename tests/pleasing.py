"""A mechanism whose crank is unpleasant: a heron that nods with a heavy head. Numbers
invented."""

from __future__ import annotations

import cmath
import math

from linkages import meet

from core.model import Bar, Drive, Part, Pin, Plate, Point, Sketch


def nodding_heron(**more: object) -> Sketch:
    """Crank 20 mm, coupler 90 mm, a neck of 130 mm on a fixed pivot 100 mm away that the
    coupler holds 40 mm out; the neck is thick hard wood, so that the crank runs away."""
    o, q = 0j, 95 + 20j
    a = 20 * cmath.exp(1j * math.radians(70))
    b = meet(a, q, 90, 40)
    head = q - 130 * (b - q) / abs(b - q) * cmath.exp(0.9j)
    plate = Part(id="reeds", fixed=True, thickness_mm=9.0, outline=Plate(margin_mm=20.0),
                 points=(_point("O", o), _point("Q", q), _point("S", 40 - 60j)), layer=0)
    crank = Part(id="crank", points=(_point("O", o), _point("A", a)), layer=1,
                 outline=Bar(width_mm=24.0))
    coupler = Part(id="coupler", points=(_point("A", a), _point("B", b)), layer=2,
                   outline=Bar(width_mm=14.0))
    neck = Part(id="neck", points=(_point("B", b), _point("Q", q), _point("head", head)),
                outline=Bar(width_mm=44.0), layer=3, thickness_mm=18.0,
                material="sugar-maple")
    fields: dict[str, object] = {
        "title": "Nodding heron", "parts": (plate, crank, coupler, neck),
        "pins": (Pin(id="shaft", at=("reeds.O", "crank.O")),
                 Pin(id="knuckle", at=("crank.A", "coupler.A")),
                 Pin(id="lift", at=("coupler.B", "neck.B")),
                 Pin(id="perch", at=("neck.Q", "reeds.Q"))),
        "drive": Drive(pin="shaft", part="crank", rpm=20.0, drawn_deg=70.0),
    }
    return Sketch(**(fields | more))


def _point(name: str, at: complex) -> Point:
    return Point(id=name, x=round(at.real, 3), y=round(at.imag, 3))
