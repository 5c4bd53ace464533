"""Edits of what the hand holds: the handle, and the steps between it and the crank."""

from __future__ import annotations

import math
from typing import Any

import msgspec

from core.errors import EditError
from core.model.hand import HandStep
from core.model.sketch import Sketch

replace = msgspec.structs.replace
#: A step that is added: one to three, teeth as a hobby router can cut them.
FIRST_STEP = HandStep(driver=16, driven=48, module_mm=3.0)


def set_handle(sketch: Sketch, **fields: Any) -> Sketch:
    """The sketch with fields of its handle changed.

    Raises
    ------
    EditError
        For a radius or limit that is not above zero.
    """
    for name, what in (("radius_mm", "the radius of a handle"),
                       ("limit_n", "the hardest push")):
        value = fields.get(name)
        if value is not None and not 0.0 < value < math.inf:
            raise EditError(f"{what} must be above zero", mend="type a larger number")
    return replace(sketch, handle=replace(sketch.handle, **fields))


def add_step(sketch: Sketch, index: int, step: HandStep = FIRST_STEP) -> Sketch:
    """The sketch with a step more, before the `index`-th from the hand."""
    steps = list(sketch.handle.steps)
    steps.insert(min(max(index, 0), len(steps)), step)
    return _with(sketch, steps)


def change_step(sketch: Sketch, index: int, **fields: Any) -> Sketch:
    """The sketch with fields of one step changed.

    Raises
    ------
    EditError
        When there is no such step, for wheels without size, teeth that are no whole number,
        an efficiency outside 0 to 1 or running backwards, play below zero, or a shift beyond a
        module.
    """
    steps = list(sketch.handle.steps)
    steps[index] = changed = replace(_step(sketch, index), **fields)
    if not all(0.0 < wheel < math.inf for wheel in (changed.driver, changed.driven)):
        raise EditError("a wheel must have a size above zero", mend="type a larger number")
    if changed.kind == "gears" and any(
            wheel != round(wheel) for wheel in (changed.driver, changed.driven)):
        raise EditError("a gear has a whole number of teeth", mend="type a whole number")
    low, high = changed.efficiency
    if not 0.0 < low <= high <= 1.0:
        raise EditError("an efficiency is above 0 and at most 1, the smaller number first",
                        mend='type a range such as "0.85 to 0.95"')
    if not 0.0 <= changed.backlash_mm < math.inf:
        raise EditError("play cannot be below zero", mend="type 0 or more")
    if changed.module_mm is not None and not 0.0 < changed.module_mm < math.inf:
        raise EditError("a module is above zero", mend="type a larger number")
    if not all(-1.0 <= shift <= 1.0 for shift in changed.shift):
        raise EditError("a profile shift is between -1 and 1 modules",
                        mend="type two numbers such as 0.3 and 0, or leave it empty")
    return _with(sketch, steps)


def set_step_kind(sketch: Sketch, index: int, kind: str) -> Sketch:
    """The sketch with a step made gears, a belt or a crossed belt; what was teeth becomes
    the diameters of pulleys as large, and the other way about the nearest whole teeth.

    Raises
    ------
    EditError
        When there is no such step.
    """
    step = _step(sketch, index)
    if (step.kind == "gears") == (kind == "gears"):
        return change_step(sketch, index, kind=kind)
    module = step.module_mm or FIRST_STEP.module_mm or 1.0
    scale = 1.0 / module if kind == "gears" else module
    sizes = [wheel * scale for wheel in (step.driver, step.driven)]
    if kind == "gears":
        sizes = [float(max(round(size), 1)) for size in sizes]
    return change_step(sketch, index, kind=kind, driver=sizes[0], driven=sizes[1],
                       shift=(0.0, 0.0),
                       efficiency=(0.85, 0.95) if kind == "gears" else (0.9, 0.97))


def remove_step(sketch: Sketch, index: int) -> Sketch:
    """The sketch without one step. EditError when there is no such step."""
    _step(sketch, index)
    return _with(sketch, [step for k, step in enumerate(sketch.handle.steps) if k != index])


def _step(sketch: Sketch, index: int) -> HandStep:
    if not 0 <= index < len(sketch.handle.steps):
        raise EditError(f"the handle has no step {index + 1}", mend="choose another")
    return sketch.handle.steps[index]


def _with(sketch: Sketch, steps: list[HandStep]) -> Sketch:
    return replace(sketch, handle=replace(sketch.handle, steps=tuple(steps)))
