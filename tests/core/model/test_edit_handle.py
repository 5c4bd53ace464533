"""Edits of the handle and of the steps between it and the crank."""

from __future__ import annotations

import pytest

from core.errors import EditError
from core.files import dumps, loads
from core.model import Handle, HandStep, Sketch, edits
from core.model.validate import problems

PAIR = HandStep(driver=12, driven=36, module_mm=2.0)
BELT = HandStep(driver=30, driven=45, kind="belt")


def geared(*steps: HandStep) -> Sketch:
    return Sketch(handle=Handle(steps=steps))


def test_fields_of_the_handle_are_changed_and_the_rest_is_kept() -> None:
    changed = edits.set_handle(geared(PAIR), radius_mm=90.0, who="child", limit_n=6.0)
    assert changed.handle == Handle(radius_mm=90.0, who="child", limit_n=6.0, steps=(PAIR,))
    assert edits.set_handle(changed, limit_n=None).handle.limit_n is None


@pytest.mark.parametrize("wrong", [{"radius_mm": 0.0}, {"radius_mm": float("inf")},
                                   {"limit_n": -1.0}, {"radius_mm": float("nan")}])
def test_a_handle_that_cannot_be_is_refused(wrong: dict[str, float]) -> None:
    with pytest.raises(EditError, match="above zero"):
        edits.set_handle(geared(), **wrong)


def test_steps_are_put_in_their_place_and_taken_out_again() -> None:
    one = edits.add_step(geared(PAIR), 1, BELT)
    assert one.handle.steps == (PAIR, BELT)
    assert edits.add_step(one, 0, BELT).handle.steps == (BELT, PAIR, BELT)
    assert edits.add_step(one, 99).handle.steps[2].ratio == 3.0
    assert edits.remove_step(one, 0).handle.steps == (BELT,)
    twice = geared(PAIR, PAIR)
    assert edits.remove_step(twice, 1).handle.steps == (PAIR,)


@pytest.mark.parametrize("change", [
    {"driver": 0.0}, {"driven": -3.0}, {"driver": 12.5}, {"efficiency": (0.0, 0.5)},
    {"efficiency": (0.9, 0.8)}, {"efficiency": (0.9, 1.1)}, {"backlash_mm": -0.1},
    {"module_mm": 0.0}, {"driver": float("inf")}, {"shift": (0.0, 1.5)},
    {"shift": (float("nan"), 0.0)}])
def test_a_step_that_cannot_be_is_refused_with_a_mend(change: dict[str, object]) -> None:
    with pytest.raises(EditError) as refused:
        edits.change_step(geared(PAIR), 0, **change)
    assert refused.value.mend


def test_a_step_that_is_not_there_is_named() -> None:
    for act in (edits.remove_step, edits.change_step):
        with pytest.raises(EditError, match="no step 2"):
            act(geared(PAIR), 1)
    with pytest.raises(EditError, match="no step 2"):
        edits.set_step_kind(geared(PAIR), 1, "belt")


def test_gears_become_pulleys_as_large_and_pulleys_whole_teeth() -> None:
    stout = edits.change_step(geared(PAIR), 0, shift=(0.3, 0.0))
    assert stout.handle.steps[0].shift == (0.3, 0.0)
    belt = edits.set_step_kind(stout, 0, "belt").handle.steps[0]
    assert belt.shift == (0.0, 0.0)
    assert (belt.kind, belt.driver, belt.driven) == ("belt", 24.0, 72.0)
    assert belt.ratio == PAIR.ratio
    back = edits.set_step_kind(geared(belt), 0, "gears").handle.steps[0]
    assert (back.driver, back.driven) == (12.0, 36.0)
    crossed = edits.set_step_kind(geared(BELT), 0, "crossed belt").handle.steps[0]
    assert (crossed.driver, crossed.driven) == (30.0, 45.0)
    assert crossed.reverses
    assert not BELT.reverses


def test_what_the_edits_make_is_sound_and_comes_back_from_a_file() -> None:
    made = edits.set_step_kind(edits.add_step(edits.add_step(geared(), 0), 0), 1, "belt")
    assert not [each for each in problems(made) if each.fatal]
    assert loads(dumps(made)).handle == made.handle
