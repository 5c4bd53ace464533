"""Random sketches of any size and state of completion come out as clean sheets."""

from __future__ import annotations

import random

import numpy as np
import pytest
from drawn import at, overlaps

from core.drawing import SheetOptions, layout_sheets
from core.drawing.front import _disc
from core.drawing.lettering import text_box
from core.model import Bar, Belt, Disc, Drive, Mesh, Part, Pin, PinInSlot, Plate, Sketch, Slide
from core.study import study

NAMES = ("a", "part with a long name that goes on and on", "ü", "x" * 60)


def random_sketch(draw: random.Random) -> Sketch:
    """Parts strewn about, often sharing places, joined where they do; much of it wrong."""
    size = 10 ** draw.uniform(-1, 5)
    places: list[tuple[str, complex]] = []
    parts: list[Part] = []
    pins: list[Pin] = []
    for number in range(draw.randint(1, 10)):
        spots = [complex(draw.gauss(0, size), draw.gauss(0, size))
                 for _ in range(draw.choice([1, 2, 2, 2, 3, 4, 7]))]
        if places and draw.random() < 0.8:
            spots[0] = draw.choice(places)[1]
        name = f"{draw.choice(NAMES)}{number}"
        parts.append(Part(
            id=name, fixed=draw.random() < 0.3, layer=draw.choice([None, 0, 1, 2]),
            points=tuple(at(f"p{j}", z, draw.random() < 0.3) for j, z in enumerate(spots)),
            outline=draw.choice([None, None, Disc(radius_mm=size * draw.random() + 0.01),
                                 Bar(width_mm=size / 10), Plate(margin_mm=size / 10)])))
        for j, spot in enumerate(spots):
            shared = [ref for ref, other in places if other == spot]
            if shared:
                pins.append(Pin(id=f"pin{len(pins)}", at=(shared[0], f"{name}.p{j}"),
                                diameter_mm=draw.choice([4.0, 6.0, size / 5])))
            places.append((f"{name}.p{j}", spot))
    ref = [place[0] for place in places]
    more = len(ref) > 4
    return Sketch(
        title=draw.choice(["", "T" * 300, "Two\nlines"]), units=draw.choice(["mm", "in"]),
        parts=tuple(parts), pins=tuple(pins),
        drive=Drive(pin=pins[0].id, part=pins[0].at[1].split(".")[0],
                    drawn_deg=draw.uniform(-400, 400)) if pins else None,
        meshes=(Mesh(id="m", a=ref[0], b=ref[-1], teeth_a=draw.randint(5, 90), teeth_b=40),)
        if more else (),
        slots=(PinInSlot(id="s", point=ref[0], slot=(ref[1], ref[2])),) if more else (),
        slides=(Slide(id="w", point=ref[3], along=(ref[1], ref[2])),) if more else (),
        belts=(Belt(id="b", a=ref[0], b=ref[-1], diameter_a_mm=size / 5,
                    diameter_b_mm=size / 3, crossed=True),) if more else (),
    )


@pytest.mark.parametrize("seed", range(14))
def test_any_sketch_makes_clean_sheets(seed: int) -> None:
    draw = random.Random(seed)
    options = SheetOptions(paper=draw.choice(["A4", "A3", "letter", "A1"]), extremes=True)
    pages = layout_sheets(study(random_sketch(draw), steps=24, refine=False), options)
    for page in pages:
        assert overlaps(page) == []
        corners = np.concatenate([text_box(text) for text in page.texts()])
        assert (corners > 5.0).all()
        assert (corners < (page.width_mm - 5.0, page.height_mm - 5.0)).all()


def test_text_keeps_clear_of_a_rod_as_wide_as_a_house_without_filling_it_with_circles() -> None:
    wide = _disc(0j, 5000.0)
    assert len(wide) < 300
    assert _disc(0j, 3.0) == wide[:len(_disc(0j, 3.0))]
