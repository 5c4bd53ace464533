"""Weights belong to their part: they go where it goes."""

from __future__ import annotations

import pytest
from msgspec.structs import replace
from pleasing import nodding_heron

from core.errors import EditError
from core.model import Polygon, Weight
from core.model.edits import (
    add_weight,
    change,
    change_weight,
    copy_parts,
    mirror,
    move_weight,
    paste,
    remove,
    remove_weight,
)
from core.motion.redimension import drag_parts, drag_point, follow_twins

DISC = Weight(mass_kg=0.02, x=130.0, y=2.0, diameter_mm=20.0, thickness_mm=6.0)


def heron():
    return add_weight(nodding_heron(), "neck", DISC)


def test_weights_are_added_changed_moved_and_taken_off() -> None:
    two = add_weight(heron(), "neck", DISC)
    moved = move_weight(two, "neck", 1, 140 + 5j)
    assert [each.place for each in moved.part("neck").weights] == [130 + 2j, 140 + 5j]
    heavier = change_weight(moved, "neck", 0, mass_kg=0.5)
    assert heavier.part("neck").weights[0].mass_kg == 0.5
    assert remove_weight(heavier, "neck", 0).part("neck").weights == (
        moved.part("neck").weights[1],)


def test_what_is_not_there_or_cannot_be_is_refused_in_a_sentence() -> None:
    with pytest.raises(EditError, match="no weight 2"):
        move_weight(heron(), "neck", 1, 0j)
    with pytest.raises(EditError, match="no such part"):
        add_weight(heron(), "beak", DISC)
    with pytest.raises(EditError, match="cannot have -1"):
        change_weight(heron(), "neck", 0, mass_kg=-1.0)
    with pytest.raises(EditError, match="cannot have nan"):
        change_weight(heron(), "neck", 0, diameter_mm=float("nan"))


def apart(sketch, part: str = "neck") -> list[float]:
    """Distances of a part's first weight from its points: its place on the part."""
    at = sketch.part(part).weights[0].place
    return [abs(point.place - at) for point in sketch.part(part).points]


def test_a_weight_goes_with_its_part_when_that_is_dragged() -> None:
    moved = drag_parts(heron(), ["neck"], 12.0, -7.0)
    assert moved.part("neck").weights[0].place == pytest.approx(142 - 5j)
    assert apart(moved) == pytest.approx(apart(heron()))


def test_when_a_bar_is_made_longer_a_weight_stays_at_its_share_of_it() -> None:
    bare = nodding_heron()
    a, b = (bare.point(f"coupler.{name}").place for name in "AB")
    at = a + 0.25 * (b - a)
    before = add_weight(bare, "coupler", replace(DISC, x=at.real, y=at.imag))
    longer = drag_point(before, "coupler.B", b.real + 15.0, b.imag + 10.0)
    a, b = (longer.point(f"coupler.{name}").place for name in "AB")
    (weight,) = longer.part("coupler").weights
    assert weight.place == pytest.approx(a + 0.25 * (b - a))
    assert (weight.mass_kg, weight.diameter_mm) == (DISC.mass_kg, DISC.diameter_mm)


def test_on_a_free_outline_it_stays_with_the_wood() -> None:
    box = Polygon(outer=((0.0, 0.0), (150.0, 0.0), (150.0, 80.0), (0.0, 80.0)))
    before = change(heron(), "parts", "neck", outline=box)
    there = before.point("neck.B")
    moved = drag_point(before, "neck.B", there.x + 5.0, there.y + 5.0)
    assert moved.part("neck").weights == before.part("neck").weights


def test_a_twin_has_its_weights_mirrored_and_follows_them() -> None:
    twinned = mirror(heron(), ["crank", "coupler", "neck"], 0.0, 0.0, 90.0, twin=True)
    sketch = twinned[0] if isinstance(twinned, tuple) else twinned
    (twin,) = sketch.twins
    copy = dict(twin.parts)["neck"]
    assert sketch.part(copy).weights[0].place == pytest.approx(-130 + 2j)
    moved = follow_twins(sketch, move_weight(sketch, "neck", 0, 100 + 10j))
    assert moved.part(copy).weights[0].place == pytest.approx(-100 + 10j)


def test_copied_parts_have_copies_of_the_weights() -> None:
    sketch, new = paste(heron(), copy_parts(heron(), ["neck"]), 10.0, 20.0)
    assert sketch.part(new[0]).weights[0].place == pytest.approx(140 + 22j)


def test_they_go_with_the_part_that_is_removed() -> None:
    left = remove(heron(), ["neck"])
    assert all(not part.weights for part in left.parts)
