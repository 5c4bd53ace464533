"""Rows of a pin: what its rod is of, its play, and the hinge in its place."""

from __future__ import annotations

import pytest

from app.panels.rows import sections
from app.panels.rows.row import Row
from core.model import Hinge, Sketch, edits


@pytest.fixture
def of(four_bar: Sketch):
    def rows(sketch: Sketch = four_bar, *ids: str) -> dict[str, Row]:
        made = sections(sketch, frozenset(("pin", each) for each in ids or ("b",)))
        return {row.key: row for section in made for row in section.rows}
    return rows


def test_a_rod_may_be_of_metal_wood_or_plastic_but_not_of_a_sheet(of, four_bar) -> None:
    row = of()["material"]
    known = [value for value, _ in row.choices]
    assert {"steel", "brass-rod", "beech"} <= set(known)
    assert not {"birch-plywood", "mdf", "music-wire"} & set(known)
    assert row.read(four_bar, "b") == "steel"
    changed = row.write(four_bar, "b", "brass-rod")
    assert edits.get(changed, "b").material == "brass-rod"


def test_a_material_nobody_knows_can_still_be_seen(of, four_bar) -> None:
    strange = edits.change(four_bar, "pins", "b", material="moon-rock")
    assert ("moon-rock", "moon-rock") in of(strange)["material"].choices


def test_play_is_a_length_or_nothing(of, four_bar) -> None:
    row = of()["clearance_mm"]
    assert row.quantity.show(row.read(four_bar, "b"), "mm") == ""
    tight = row.write(four_bar, "b", row.quantity.parse("0.1 mm", "mm"))
    assert edits.get(tight, "b").clearance_mm == pytest.approx(0.1)
    assert row.quantity.parse("", "mm") is None


def test_a_hinge_takes_the_place_of_the_rod_and_shows_its_screws(of, four_bar) -> None:
    rows = of()
    assert "hinge_screws" not in rows
    hinged = rows["hinge"].write(four_bar, "b", True)
    assert edits.get(hinged, "b").hinge == Hinge()
    now = of(hinged)
    assert "material" not in now
    more = now["hinge_screws"].write(hinged, "b", 3)
    more = now["hinge_edge"].write(more, "b", True)
    assert edits.get(more, "b").hinge == Hinge(screws=3, edge=True)
    assert edits.get(now["hinge"].write(more, "b", False), "b").hinge is None


def test_of_several_pins_only_what_all_have_is_shown(of, four_bar) -> None:
    mixed = edits.change(four_bar, "pins", "b", hinge=Hinge())
    rows = of(mixed, "a", "b")
    assert "material" in rows
    assert "hinge_screws" not in rows
