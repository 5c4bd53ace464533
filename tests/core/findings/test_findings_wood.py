"""Findings about holes off the wood of their own part."""

from __future__ import annotations

import pytest
from faulty import codes, four_bar, only, part
from msgspec.structs import replace

from core.model import Bar, Disc, Pin, PinInSlot, Polygon, Sketch
from core.study import study


def with_outline(sketch: Sketch, name: str, outline) -> Sketch:
    return replace(sketch, parts=tuple(
        replace(one, outline=outline) if one.id == name else one for one in sketch.parts))


def test_a_sound_four_bar_has_all_its_holes_in_wood() -> None:
    assert {"off-the-wood", "breaks-the-edge"}.isdisjoint(codes(study(four_bar())))


def test_a_pin_beyond_the_outline_of_its_part_is_told_with_how_far() -> None:
    # A disc of 20 mm about one end of the crank of 30 mm: the other end is 10 mm outside.
    bare = with_outline(four_bar(), "crank", Disc(radius_mm=20.0, centre="o"))
    found = only(study(bare), "off-the-wood")
    assert found.grade == "fault"
    assert (found.parts, found.joints) == (("crank",), ("A",))
    assert found.value == pytest.approx(10.0, abs=0.03)
    assert "10 mm off the wood of crank" in found.text or "10.0" in found.text


def test_a_hole_at_the_very_edge_breaks_through_it() -> None:
    # A pin of 6 mm, its middle 2 mm inside the rim: 1 mm of the hole is bare.
    thin = with_outline(four_bar(), "crank", Disc(radius_mm=32.0, centre="o"))
    found = only(study(thin), "breaks-the-edge")
    assert (found.grade, found.joints) == ("warning", ("A",))
    assert found.value == pytest.approx(1.0, abs=0.03)
    wider = with_outline(four_bar(), "crank", Disc(radius_mm=33.1, centre="o"))
    assert "breaks-the-edge" not in codes(study(wider))


def test_a_slot_is_looked_at_on_both_ends_and_may_be_drawn_in_the_outline() -> None:
    corners = ((-10.0, -10.0), (60.0, -10.0), (60.0, 10.0), (-10.0, 10.0))
    cut = ((-3.1, -3.1), (43.1, -3.1), (43.1, 3.1), (-3.1, 3.1))
    lever = part("lever", 2, outline=Polygon(outer=corners, holes=(cut,)), a=0j, b=40 + 0j)
    base = part("base", 0, fixed=True, o=20 + 0j)
    sketch = Sketch(parts=(base, lever), slots=(
        PinInSlot(id="slit", point="base.o", slot=("lever.a", "lever.b")),))
    assert "off-the-wood" not in codes(study(sketch))
    longer = replace(sketch, parts=(base, part("lever", 2, outline=lever.outline, a=0j,
                                               b=65 + 0j)))
    found = only(study(longer), "off-the-wood")
    assert found.value == pytest.approx(5.0)
    assert found.text.startswith("slit lies")


def test_a_sketch_that_has_no_shape_to_look_at_is_left_to_its_own_checks() -> None:
    flat = replace(four_bar(), pins=(Pin(id="O", at=("base.o", "crank.o")),))
    broken = with_outline(flat, "crank", Bar(through=("o",), width_mm=0.0))
    assert "off-the-wood" not in codes(study(broken))
