"""The cautions of the sheets: where a finger could be caught, and what was decided."""

from __future__ import annotations

from functools import cache

import pytest
from faulty import four_bar
from msgspec.structs import replace

from core.drawing import layout_sheets
from core.drawing.cautions import MOST_ROWS, cautions_of, finger_table
from core.model import Handle, HandStep, Mesh, Sketch
from core.model.edits.guarding import decide
from core.study import Study, study

SHUTS = four_bar((60, 30, 100, 80), 40.0, layers=(0, 1, 1, 2))


@cache
def studied(sketch: Sketch) -> Study:
    return study(sketch, steps=180)


def test_every_place_has_a_row_with_its_angle_and_decision() -> None:
    one, *others = studied(SHUTS).pinches
    done = studied(decide(SHUTS, [one.pair], "guarded", "a cheek before it"))
    table = finger_table(done)
    assert table is not None
    assert len(table.rows) == 1 + len(others)
    assert table.rows[-1][0] == f"{one.a} – {one.b}"
    assert table.rows[-1][4] == "guarded: a cheek before it"
    assert {row[4] for row in table.rows[:-1]} == {"open"}
    assert all(row[3].endswith("°") for row in table.rows)


def test_what_draws_in_is_listed_too() -> None:
    step = HandStep(driver=12, driven=36)
    sketch = replace(SHUTS, handle=Handle(steps=(step,)), meshes=(
        Mesh(id="teeth", a="crank.o", b="rocker.q", teeth_a=20, teeth_b=20),))
    table = finger_table(replace_study(sketch))
    assert table is not None
    assert [row[0] for row in table.rows] == ["crank – rocker", "wheels from handle to crank"]
    assert {row[3] for row in table.rows} == {"always"}


def replace_study(sketch: Sketch) -> Study:
    """Nothing worked out."""
    return Study(sketch, None, None, None, None, None, ())


def test_nothing_that_shuts_makes_no_table() -> None:
    assert finger_table(replace_study(SHUTS)) is None


def test_of_very_many_places_the_first_are_printed_and_the_rest_counted() -> None:
    done = studied(SHUTS)
    many = Study(SHUTS, None, None, None, None, None, (), pinches=done.pinches * 20)
    table = finger_table(many)
    assert table is not None
    assert len(table.rows) == MOST_ROWS
    assert f"{len(done.pinches) * 20 - MOST_ROWS} more" in table.note


@pytest.mark.parametrize("children", [False, True])
def test_sheets_carry_both_and_name_the_rules_for_toys(children: bool) -> None:
    words = " ".join(text.text for page in layout_sheets(studied(
        replace(SHUTS, for_children=children))) for text in page.texts())
    assert "Cautions: fingers" in words
    assert "EN 71-1" in words
    assert "16 CFR 1501" in words
    assert ("This is not a toy" in words) is not children
    assert ("Meant for children" in words) is children


def test_local_codes_have_the_last_word() -> None:
    for children in (False, True):
        assert cautions_of(replace(SHUTS, for_children=children))[-1].startswith("Local codes")
