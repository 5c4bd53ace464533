"""Findings about locks: what slips, or may, what only a jam turns, what has no room."""

from __future__ import annotations

import pytest
from linkages import four_bar
from msgspec.structs import replace

from core.drawing.holding import holding_table
from core.drawing.subject import subject
from core.findings import Finding
from core.model import Gravity, Lock, Sketch, Torque, edits
from core.study import report, study


def bare() -> Sketch:
    """A four-bar in four layers, without weight."""
    sketch = four_bar(100.0, 20.0, 100.0, 70.0, 20.0)
    parts = tuple(replace(part, layer=k) for k, part in enumerate(sketch.parts))
    return replace(sketch, parts=parts, gravity=Gravity(g_m_s2=0.0))


def held(load_nmm: float, **lock) -> Sketch:
    """The same with a drag on the crank, which a lock holds on its shaft."""
    sketch = bare()
    sketch = edits.add(sketch, "locks", Lock(id="own", parts=("crank",), pin=sketch.drive.pin,
                                             **lock))
    return edits.add(sketch, "torques", Torque(id="drag", part="crank", torque_nmm=-load_nmm))


def slips(sketch: Sketch, code: str = "lock-slips") -> list[Finding]:
    return [one for one in study(sketch, steps=90).findings if one.code == code]


@pytest.mark.parametrize(("load", "grade"), [(100.0, "warning"), (500.0, "warning"),
                                             (5000.0, "fault")])
def test_glue_is_a_fault_when_it_surely_slips_and_a_warning_when_it_may(load, grade) -> None:
    """Glue on 6 mm of a 6 mm rod bears 0.34 to 0.68 N·m; a jam puts 1.65 N·m on it."""
    (found,) = [one for one in slips(held(load, kind="glued")) if "own" in one.joints]
    assert found.grade == grade
    assert found.unit == "N·m"
    assert found.limit == pytest.approx(0.339, abs=1e-3)
    assert found.value == pytest.approx(1.65 if load < 300 else load / 1e3, rel=0.05)
    assert "shop figure" in found.source


def test_the_handle_is_told_of_only_where_it_may_slip_while_cranking() -> None:
    def handles(load: float) -> list[Finding]:
        return [one for one in slips(held(load, kind="pinned")) if not one.parts]

    assert handles(100.0) == []
    (found,) = handles(5000.0)
    assert found.grade == "note"
    assert "the handle" in found.text
    assert "cross pin" in found.mend


def test_a_pin_that_holds_is_not_told() -> None:
    assert slips(held(100.0, kind="pinned")) == []


def test_where_nothing_says_how_the_crank_is_held_it_is_a_note_with_a_mend() -> None:
    (found,) = slips(bare())
    assert found.grade == "note"
    assert found.text.startswith("Nothing says how crank is held")
    after = found.edits[0].apply(bare())
    assert after.locks[0].parts == ("crank",)
    assert slips(after) == []


def test_a_pin_too_thick_for_its_sheet_has_no_room() -> None:
    (found,) = slips(held(100.0, kind="pinned", size_mm=3.0), "lock-no-room")
    assert (found.value, found.limit, found.unit) == (6.0, 9.0, "mm")
    after = found.edits[0].apply(held(100.0, kind="pinned", size_mm=3.0))
    assert slips(after, "lock-no-room") == []


def test_words_nobody_knows_are_left_alone() -> None:
    assert slips(held(100.0, kind="welded")) == []


def test_inches_are_told_in_inches() -> None:
    (found,) = slips(replace(held(100.0, kind="glued"), units="in"))
    assert "lbf·in" in found.text
    assert "N·m" not in found.text


def test_the_report_lists_every_hold() -> None:
    about = report(study(held(100.0, kind="pinned"), steps=90))["locks"]
    own = next(one for one in about if one["lock"] == "own")
    assert (own["part"], own["kind"], own["in_use"], own["in_jam"]) == (
        "crank", "pinned", "holds", "holds")
    assert own["bears_nm"][0] <= own["bears_nm"][1]
    assert {one["role"] for one in about} == {"locked", "handle"}


def test_the_sheets_say_ring_and_hold_of_every_rod() -> None:
    shown = study(held(100.0, kind="pinned", size_mm=2.0), steps=90)
    rows = holding_table(subject(shown)).rows
    words = [" ".join(row) for row in rows]
    assert any("crank: 2 mm cross pin" in line for line in words)
    assert sum("E-clip" in line for line in words) == len(shown.sketch.pins)
