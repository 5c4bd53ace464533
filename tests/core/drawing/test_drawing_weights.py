"""Weights and wound springs on the sheets: named, tabled, drawn to size."""

from __future__ import annotations

import pytest
from drawn import overlaps
from msgspec.structs import replace
from pleasing import nodding_heron

from core.drawing import Circle, layout_sheets
from core.drawing.kinds import kinds
from core.drawing.schedules import load_table, part_list, weight_table
from core.drawing.subject import subject
from core.drawing.templates import template
from core.model import Coil, Sketch, TorsionSpring, Weight
from core.model.edits import add, add_weight, copy_parts, paste
from core.study import study

DISC = Weight(mass_kg=0.019, x=120.0, y=2.0, diameter_mm=24.0, thickness_mm=6.0,
              made_of="disc of mild steel, let in")


def weighted() -> Sketch:
    return add_weight(nodding_heron(), "neck", DISC)


def test_a_weight_stands_in_a_table_with_place_size_and_mass() -> None:
    shown = subject(study(weighted()))
    (row,) = weight_table(shown).rows
    assert row == ("Wt1", "neck", "120.00", "2.00", "24", "6", "19 g",
                   "disc of mild steel, let in")
    inches = weight_table(subject(study(replace(weighted(), units="in")))).rows[0]
    assert inches[6] == "0.67 oz"


def test_the_mass_in_the_part_list_holds_its_weights() -> None:
    def mass(sketch: Sketch) -> str:
        shown = subject(study(sketch))
        return next(row[-1] for row in part_list(shown, kinds(shown)).rows if "neck" in row[2])

    heavier = add_weight(nodding_heron(), "neck", replace(DISC, mass_kg=1.0))
    assert mass(nodding_heron()).endswith(" g")
    assert mass(heavier).endswith(" kg")


def test_the_template_has_its_circle_and_caption() -> None:
    shown = subject(study(weighted()))
    neck = next(kind for kind in kinds(shown) if kind.parts == ("neck",))
    made = template(shown, neck)
    bare = template(subject(study(nodding_heron())), neck)

    def circles(items: tuple) -> int:
        return sum(isinstance(item, Circle) and item.radius == pytest.approx(12.0)
                   for item in items)

    assert circles(made.items) == circles(bare.items) + 1
    assert any("Wt1: Ø24 mm × 6 mm, adds 19 g" in line for line in made.caption)


def test_parts_with_other_weights_are_not_cut_to_one_template() -> None:
    clip = copy_parts(nodding_heron(), ["coupler"])
    sketch, (one,) = paste(nodding_heron(), clip, 0.0, 80.0)
    sketch, (other,) = paste(sketch, clip, 0.0, 120.0)

    def together(of: Sketch) -> bool:
        return any({one, other} <= set(kind.parts) for kind in kinds(subject(study(of))))

    def with_disc(of: Sketch, part: str, kg: float) -> Sketch:
        at = of.part(part).points[0].place
        return add_weight(of, part, replace(DISC, x=at.real + 30.0, y=at.imag, mass_kg=kg,
                                            diameter_mm=10.0))

    assert together(sketch)
    assert not together(with_disc(sketch, one, 0.01))
    assert together(with_disc(with_disc(sketch, one, 0.01), other, 0.01))
    assert not together(with_disc(with_disc(sketch, one, 0.01), other, 0.02))


def test_how_a_spring_is_wound_stands_beside_its_rate() -> None:
    spring = TorsionSpring(id="twist", pin="perch", a="neck", b="reeds", rate_nmm_per_deg=1.3,
                           coil=Coil(wire_mm=1.0, mean_mm=11.0, turns=6.5))
    rows = load_table(subject(study(add(nodding_heron(), "torsion_springs", spring)))).rows
    assert rows[0][3].endswith("music wire 1 mm, coils 12 mm outside, 6.5 active turns")


def test_no_text_lies_on_another_with_weights_drawn() -> None:
    for page in layout_sheets(study(weighted())):
        assert overlaps(page) == []
