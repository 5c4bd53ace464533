"""How heavy and how tall weights may be for a machine, where the user left that open."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from core.effort.masses import mass_of
from core.pleasant.ground import Ground
from core.pleasant.model import moments_of
from core.pleasant.options import USUAL_KG, USUAL_TALL_MM, WeightRules

#: So many times what one weight far out would need may a single one weigh, and so many times
#: as tall as wide may a rod be that weighs it.
_SPARE, _TALL = 1.5, 1.5
_STEEL = 7.85e-6


def fitted(ground: Ground, rules: WeightRules) -> WeightRules:
    """The rules with a heaviest and a tallest piece that suit the machine.

    A single weight may be half as heavy again as one that takes the whole peak away from
    the best place there is, but no heavier than the heaviest part that moves; and so tall as
    a steel rod of that mass which is half as tall again as it is wide. Light machines keep
    what is usual. Raises SketchError for a mass that cannot be.
    """
    heavy = rules.most_kg
    if heavy is None:
        sketch = ground.sketch
        parts = [sketch.part(name) for name in ground.originals()]
        most = max((mass_of(part, sketch.materials).kg for part in parts), default=0.0)
        heavy = max(USUAL_KG, round(min(_SPARE * _needed_kg(ground, rules), most), 2))
    tall = rules.tallest_mm
    if tall is None:
        tall = USUAL_TALL_MM if heavy <= USUAL_KG else max(USUAL_TALL_MM, float(round(
            _TALL * (4.0 * heavy / (math.pi * _TALL * _STEEL)) ** (1.0 / 3.0))))
    return replace(rules, most_kg=heavy, tallest_mm=tall)


def _needed_kg(ground: Ground, rules: WeightRules) -> float:
    """The mass whose torque, where it has most, is as great as the peak of what there is."""
    coarse = ground.coarse
    most = 1e-12
    for name in rules.parts or ground.originals():
        if not ground.moves(name):
            continue
        rows = moments_of(coarse, name)
        places = np.array([point.place for point in ground.sketch.part(name).points])
        lanes = rows[0] + places.real[:, None] * rows[1] + places.imag[:, None] * rows[2]
        most = max(most, float(np.abs(lanes).max()) if places.size else 0.0)
    return coarse.before.peak_nmm / most
