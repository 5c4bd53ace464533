"""Screws of bought hinges, pulled out of the panel."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from core.making.strength.case import Case
from core.making.strength.check import Check, worst
from core.materials import Figure, safety_number, specific_gravity
from core.model import part_of

#: Most a wood screw bears before it pulls out of side grain, N: 108.25 · gravity² · diameter
#: · length of thread (mm); less is told for edges and chipboard, where half is usual.
_PULL = 108.25
_BOOK = ("USDA Wood Handbook, wood screws: 108.25 · gravity² · diameter · length of thread,"
         " from memory")
_EDGE = "half of it in an edge (common practice, no source)"
#: Tests of single screws lie this far about the mean (common practice, no source).
_SPREAD = (0.75, 1.25)


def hinge_checks(case: Case) -> Iterator[Check]:
    """Each leaf of each hinge, the whole force of the hinge taken as pulling its screws
    straight out: which way they point is not known."""
    for pin in case.sketch.pins:
        hinge = pin.hinge
        if hinge is None:
            continue
        force = np.abs(case.joint(pin.id)[0])
        for k, ref in enumerate(pin.at):
            part = case.part(part_of(ref))
            material = case.material(part.material)
            if material.stuff not in ("wood", "plywood", "board"):
                continue
            gravity = specific_gravity(material)
            share = 0.5 if hinge.edge else 1.0
            bears = share * hinge.screws * _PULL * hinge.screw_mm * hinge.length_mm
            gives = Figure(bears * gravity.low**2 * _SPREAD[0],
                           bears * gravity.high**2 * _SPREAD[1], gravity.source, "from memory")
            safe = safety_number(material.stuff)
            step, value, low, high = worst(force[:, k], gives)
            if step >= 0:
                yield Check(
                    "hinge-screws", f"Screws of {pin.id} in {part.id}", (part.id,),
                    (pin.id,), value, (low, high), (safe.low, safe.high), "N",
                    case.crank_rad(step), "the whole force of the hinge, straight out,"
                    " against all screws of one leaf",
                    f"{_BOOK}{'; ' + _EDGE if hinge.edge else ''}; {gives.source};"
                    f" {safe.source}", "from memory", size_mm=hinge.length_mm)
