"""Sketches to draw: small, inch, geared, sliding, crowded, too large for the paper."""

from __future__ import annotations

import cmath
import math
from collections.abc import Callable
from functools import cache
from pathlib import Path

import msgspec
import numpy as np

from core.drawing import Page, SheetOptions, layout_sheets
from core.drawing.lettering import separate, text_box
from core.files import load
from core.model import (
    Bar,
    Belt,
    Disc,
    Drive,
    Force,
    Lock,
    Mesh,
    Part,
    Pin,
    PinInSlot,
    Plate,
    Point,
    Polygon,
    Sketch,
    Slide,
    Spring,
)
from core.study import Study, study


def at(name: str, place: complex, trace: bool = False) -> Point:
    place = complex(place)
    return Point(id=name, x=place.real, y=place.imag, trace=trace)


def four_bar() -> Sketch:
    a, b, c, d = 0j, 20 + 34j, 150 + 90j, 130 - 10j
    return Sketch(
        title="Ferry rower", author="The founders",
        parts=(
            Part(id="base", fixed=True, points=(at("a", a), at("d", d)), layer=0,
                 outline=Plate(margin_mm=14.0), thickness_mm=9.0),
            Part(id="crank", points=(at("a", a), at("b", b)), layer=1),
            Part(id="coupler", points=(at("b", b), at("c", c), at("tip", 70 + 130j, True)),
                 layer=2),
            Part(id="rocker", points=(at("c", c), at("d", d)), layer=1,
                 outline=Bar(width_mm=20.0)),
        ),
        pins=(Pin(id="axle", at=("base.a", "crank.a"), diameter_mm=8.0),
              Pin(id="crank-pin", at=("crank.b", "coupler.b")),
              Pin(id="wrist", at=("coupler.c", "rocker.c")),
              Pin(id="rocker-pivot", at=("base.d", "rocker.d"))),
        drive=Drive(pin="axle", part="crank", drawn_deg=math.degrees(cmath.phase(b))),
    )


def inch_four_bar() -> Sketch:
    """The same in inches, every centre at a sixteenth."""
    sketch = four_bar()

    def even(mm: float) -> float:
        return round(mm / 25.4 * 16) / 16 * 25.4

    parts = tuple(msgspec.structs.replace(part, thickness_mm=6.35, points=tuple(
        msgspec.structs.replace(point, x=even(point.x), y=even(point.y))
        for point in part.points)) for part in sketch.parts)
    pins = tuple(msgspec.structs.replace(pin, diameter_mm=6.35) for pin in sketch.pins)
    return msgspec.structs.replace(
        sketch, units="in", parts=parts, pins=pins,
        title="A ferry rower with a title that is too long for one line of the title block")


def geared() -> Sketch:
    return Sketch(
        title="Geared arms",
        parts=(
            Part(id="board", fixed=True, points=(at("o", 0), at("q", 90)), layer=0,
                 outline=Plate(margin_mm=15.0)),
            Part(id="wheel-a", points=(at("o", 0), at("p", 24j)), layer=1,
                 outline=Disc(radius_mm=32.0, centre="o")),
            Part(id="wheel-b", points=(at("q", 90), at("r", 90 + 40j)), layer=1,
                 outline=Disc(radius_mm=62.0, centre="q")),
            Part(id="arm-a", points=(at("p", 24j), at("t", 40 + 140j, True)), layer=2),
            Part(id="arm-b", points=(at("r", 90 + 40j), at("t", 40 + 140j)), layer=3),
        ),
        pins=(Pin(id="a", at=("board.o", "wheel-a.o")),
              Pin(id="b", at=("board.q", "wheel-b.q"), diameter_mm=8.0),
              Pin(id="c", at=("wheel-a.p", "arm-a.p"), diameter_mm=4.0),
              Pin(id="d", at=("wheel-b.r", "arm-b.r"), diameter_mm=4.0),
              Pin(id="e", at=("arm-a.t", "arm-b.t"), diameter_mm=4.0)),
        meshes=(Mesh(id="pair", a="wheel-a.o", b="wheel-b.q", teeth_a=20, teeth_b=40),),
        drive=Drive(pin="a", part="wheel-a", drawn_deg=90.0),
    )


def sliding() -> Sketch:
    """A slider-crank with a slotted lever, a belt, a lock, a spring and a force."""
    c = cmath.rect(30, 1.0)
    w = c.real + math.sqrt(110**2 - c.imag**2)
    ring = ((w - 20, -15.0), (w + 60, -15.0), (w + 60, 15.0), (w - 20, 15.0))
    hole = ((w + 20, -6.0), (w + 40, -6.0), (w + 40, 6.0), (w + 20, 6.0))
    far = -80 - 60j
    lever = (c - far) / abs(c - far)
    return Sketch(
        title="Sliding ram",
        parts=(
            Part(id="bed", fixed=True, layer=0, points=(
                at("o", 0), at("a", 60), at("b", 190), at("l", far), at("p", -60 + 60j))),
            Part(id="crank", points=(at("o", 0), at("c", c)), layer=1),
            Part(id="rod", points=(at("c", c), at("w", w)), layer=2),
            Part(id="ram", points=(at("w", w), at("nose", w + 60)), layer=1,
                 outline=Polygon(outer=ring, holes=(hole,))),
            Part(id="lever", layer=3, points=(
                at("l", far), at("s", far + lever * 60), at("t", far + lever * 160))),
            Part(id="pulley", points=(at("p", -60 + 60j),), layer=4,
                 outline=Disc(radius_mm=18.0)),
            Part(id="flag", points=(at("p", -60 + 60j), at("top", -60 + 120j)), layer=5),
        ),
        pins=(Pin(id="o", at=("bed.o", "crank.o")), Pin(id="c", at=("crank.c", "rod.c")),
              Pin(id="w", at=("rod.w", "ram.w")), Pin(id="l", at=("bed.l", "lever.l")),
              Pin(id="p", at=("bed.p", "pulley.p", "flag.p"))),
        slides=(Slide(id="way", point="ram.w", along=("bed.a", "bed.b")),),
        slots=(PinInSlot(id="follow", point="crank.c", slot=("lever.s", "lever.t")),),
        locks=(Lock(id="made-fast", parts=("pulley", "flag"), pin="p"),),
        belts=(Belt(id="cord", a="crank.o", b="pulley.p", diameter_a_mm=20.0,
                    diameter_b_mm=36.0),),
        springs=(Spring(id="pull", a="bed.a", b="ram.w", rate_n_per_mm=0.1,
                        free_length_mm=60.0),),
        forces=(Force(id="push", at="ram.nose", fx_n=-5.0, fy_n=0.0),),
        drive=Drive(pin="o", part="crank", drawn_deg=math.degrees(1.0)),
    )


def crowded() -> Sketch:
    """Fifty parts on one crank: a row of parallel cranks, each working a wing."""
    count, arm = 12, 15 + 8j
    rail = [at(f"p{i}", 60 * i) for i in range(count + 1)]
    rail += [at(f"r{i}", 60 * i + 40 - 60j) for i in range(count)]
    link = tuple(at(f"e{i}", 60 * i + arm) for i in range(count + 1))
    parts = [Part(id="rail", fixed=True, points=tuple(rail), layer=0, thickness_mm=12.0),
             Part(id="drag-link", points=link, layer=2,
                  outline=Bar(width_mm=10.0, through=("e0", f"e{count}")))]
    pins = []
    for i in range(count + 1):
        parts.append(Part(id=f"crank-{i}", points=(at("o", 60 * i), at("e", 60 * i + arm)),
                          layer=1))
        joined = (f"drag-link.e{i}", f"crank-{i}.e")
        pins.append(Pin(id=f"o{i}", at=(f"rail.p{i}", f"crank-{i}.o")))
        pins.append(Pin(id=f"e{i}", at=(*joined, f"rod-{i}.e") if i < count else joined))
    for i in range(count):
        wing = 60 * i + 52 - 14j
        rod = (at("e", 60 * i + arm), at("w", wing))
        parts.append(Part(id=f"rod-{i}", points=rod, layer=3))
        parts.append(Part(id=f"wing-{i}", layer=4, points=(
            at("w", wing), at("r", 60 * i + 40 - 60j), at("tip", 60 * i + 75 - 40j, i == 3))))
        pins.append(Pin(id=f"w{i}", at=(f"rod-{i}.w", f"wing-{i}.w"), diameter_mm=4.0))
        pins.append(Pin(id=f"r{i}", at=(f"rail.r{i}", f"wing-{i}.r"), diameter_mm=5.0))
    return Sketch(title="Fifty parts", parts=tuple(parts), pins=tuple(pins),
                  drive=Drive(pin="o0", part="crank-0",
                              drawn_deg=math.degrees(cmath.phase(arm))))


def large() -> Sketch:
    """Parts larger than the paper."""
    sketch = four_bar()
    return msgspec.structs.replace(sketch, title="Large rower", parts=tuple(
        msgspec.structs.replace(part, points=tuple(
            msgspec.structs.replace(point, x=point.x * 4.3, y=point.y * 4.3)
            for point in part.points)) for part in sketch.parts))


SKETCHES: dict[str, Callable[[], Sketch]] = {
    "four_bar": four_bar, "inch_four_bar": inch_four_bar, "geared": geared,
    "sliding": sliding, "crowded": crowded, "large": large,
}


DEMOS = ("rowing-otter", "night-moth", "pier-walker", "lighthouse", "stiff-otter")


@cache
def demo(name: str) -> Study:
    """The study of a demo."""
    path = Path(__file__).parents[1] / "assets" / "demos" / f"{name}.json"
    return study(load(path), steps=72, refine=False)


@cache
def solved(name: str) -> Study:
    """The study of a sketch by name."""
    return study(SKETCHES[name](), steps=72, refine=False)


@cache
def sheets_of(name: str, options: SheetOptions = SheetOptions()) -> list[Page]:  # noqa: B008
    """The pages of a sketch by name, not to be changed."""
    return layout_sheets(solved(name), options)


def overlaps(page: Page) -> list[tuple[str, str]]:
    """Texts of a page that lie over one another."""
    boxes = [(text, text_box(text)) for text in page.texts()]
    low = np.array([box.min(axis=0) for _, box in boxes])
    high = np.array([box.max(axis=0) for _, box in boxes])
    near = (low[:, None] < high[None]).all(axis=-1)
    near &= near.T
    return [(boxes[i][0].text, boxes[j][0].text) for i, j in np.argwhere(np.triu(near, 1))
            if not separate(boxes[i][1], boxes[j][1])]
