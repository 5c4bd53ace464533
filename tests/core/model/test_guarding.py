"""Deciding about places that could catch a finger: pure edits, one of each pair."""

from __future__ import annotations

import pytest
from faulty import four_bar
from msgspec.structs import replace

from core.errors import EditError
from core.files import dumps, loads
from core.model import Guard, edits
from core.model.edits.guarding import decide, guard_of, undecide
from core.model.validate import problems


def test_a_decision_is_kept_once_for_a_pair_whichever_is_named_first() -> None:
    once = decide(four_bar(), [("crank", "rocker")], "accepted", "looked at")
    twice = decide(once, [("rocker", "crank")], "guarded")
    (guard,) = twice.guards
    assert (guard.why, guard.note) == ("guarded", "looked at")
    assert guard_of(twice, "rocker", "crank") == guard
    assert guard_of(four_bar(), "rocker", "crank") is None


def test_several_decisions_have_names_of_their_own_and_stand_in_the_file() -> None:
    sketch = decide(four_bar(), [("crank", "rocker"), ("base", "crank"), ("crank", "crank")],
                    "accepted")
    assert len({guard.id for guard in sketch.guards}) == 3
    assert problems(sketch) == problems(four_bar())
    assert loads(dumps(sketch)) == sketch


def test_undeciding_takes_only_that_pair_away() -> None:
    sketch = decide(four_bar(), [("crank", "rocker"), ("base", "crank")], "guarded")
    assert undecide(sketch, "rocker", "crank").guards == (sketch.guards[1],)
    assert undecide(undecide(sketch, "rocker", "crank"), "crank", "base").guards == ()


def test_a_part_that_is_not_there_cannot_be_guarded() -> None:
    with pytest.raises(EditError, match="'ghost'"):
        decide(four_bar(), [("crank", "ghost")], "guarded")


def test_a_decision_follows_a_renamed_part_and_goes_with_a_removed_one() -> None:
    sketch = decide(four_bar(), [("crank", "rocker")], "guarded")
    assert {edits.rename(sketch, "rocker", "wing").guards[0].a,
            edits.rename(sketch, "rocker", "wing").guards[0].b} == {"crank", "wing"}
    assert edits.remove(sketch, ["rocker"]).guards == ()


def test_a_name_already_taken_is_passed_over() -> None:
    sketch = replace(four_bar(), guards=(Guard(id="guard", a="base", b="crank"),))
    named = decide(sketch, [("crank", "rocker")], "accepted").guards[1].id
    assert named == "guard 2"
