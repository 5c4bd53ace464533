"""Grain on the sheets: the arrow of a template, the word in the list, which are alike."""

from __future__ import annotations

import math

import numpy as np
import pytest
from msgspec.structs import replace

from core.drawing.grain import grain_words, off_length_deg
from core.drawing.items import Path
from core.drawing.kinds import kinds
from core.drawing.schedules import part_list
from core.drawing.subject import subject
from core.drawing.templates import template
from core.model import Bar, Disc, Part, Point, Sketch
from core.study import study


def arm(name: str, x: float, **more) -> Part:
    return Part(id=name, points=(Point(id="A", x=x, y=0), Point(id="B", x=x, y=90)),
                outline=Bar(width_mm=24), **more)


def shown(*parts: Part):
    return subject(study(Sketch(parts=parts)))


def arrow_deg(part: Part, turn_deg: float = 0.0) -> float | None:
    """Direction of the grain arrow on the part's template, degrees in [0, 180)."""
    drawn = shown(part)
    made = template(drawn, kinds(drawn)[0], turn_deg)
    # The shafts of arrows are the only free lines of a part whose points carry no bores
    # besides the crosses at its points, which lie level and upright about them.
    heads = [item for item in made.items if isinstance(item, Path) and item.fill]
    if not heads:
        return None
    tips = [ring[0] for item in heads for ring in item.rings]
    assert len(tips) == 2
    along = complex(*(tips[1] - tips[0]))
    return math.degrees(np.angle(along)) % 180.0


@pytest.mark.parametrize(("grain_deg", "words", "arrow"), [
    (None, "along", 0.0), (90.0, "along", 0.0), (-90.0, "along", 0.0), (0.0, "across", 90.0),
    (60.0, "30° off", 150.0), (120.0, "30° off", 30.0), (90.3, "along", 0.3),
])
def test_the_arrow_and_the_words_follow_the_grain(grain_deg, words: str, arrow: float) -> None:
    """The bar stands upright as drawn and lies on its template."""
    part = arm("a", 0.0, grain_deg=grain_deg)
    assert grain_words(Sketch(parts=(part,)), part) == words
    found = arrow_deg(part)
    assert found is not None
    off = math.remainder(found - arrow, 180.0)
    assert abs(off) < 1e-6
    turned = arrow_deg(part, 90.0)
    assert turned is not None
    assert abs(math.remainder(turned - arrow - 90.0, 180.0)) < 1e-6


@pytest.mark.parametrize("material", ["steel", "acrylic", "mdf", "no such stuff"])
def test_what_has_no_grain_has_no_arrow(material: str) -> None:
    part = arm("a", 0.0, material=material, grain_deg=30.0)
    assert grain_words(Sketch(parts=(part,)), part) == "–"
    if material != "no such stuff":
        assert arrow_deg(part) is None


def test_parts_of_other_grain_are_cut_to_another_template() -> None:
    alike = shown(arm("a", 0), arm("b", 50), arm("c", 100, grain_deg=90.0))
    assert [kind.quantity for kind in kinds(alike)] == [3]
    unlike = shown(arm("a", 0), arm("b", 50, grain_deg=45.0), arm("c", 100, grain_deg=45.0))
    assert [kind.quantity for kind in kinds(unlike)] == [1, 2]
    rows = part_list(unlike, kinds(unlike)).rows
    assert [row[4] for row in rows] == ["along", "45° off"]


def test_mirrored_grain_is_the_same_part_turned_over() -> None:
    both = shown(arm("a", 0, grain_deg=45.0), arm("b", 50, grain_deg=135.0))
    (kind,) = kinds(both)
    assert (kind.quantity, kind.mirrored) == (2, 1)


def test_discs_are_alike_whichever_way_they_lie() -> None:
    def disc(name: str, x: float, to: complex) -> Part:
        return Part(id=name, points=(Point(id="A", x=x, y=0),
                                     Point(id="B", x=x + to.real, y=to.imag)),
                    outline=Disc(radius_mm=20))

    found = kinds(shown(disc("a", 0, 8), disc("b", 60, 8j)))
    assert [kind.quantity for kind in found] == [2]


def test_off_length_is_between_a_right_angle_either_way() -> None:
    part = arm("a", 0.0)
    for deg in range(-360, 361, 15):
        off = off_length_deg(replace(part, grain_deg=float(deg)))
        assert -90.0 < off <= 90.0
        assert abs(math.remainder(off - (deg - 90), 180.0)) < 1e-9
