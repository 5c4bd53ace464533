"""Mends of findings about mechanisms grown at random really cure them."""

from __future__ import annotations

import numpy as np
from grown import KINDS, grown
from msgspec.structs import replace

from core.errors import EditError
from core.model import Mass, Sketch
from core.study import study


def scattered(seed: int) -> Sketch:
    """A grown mechanism with its parts thrown into four layers."""
    rng = np.random.default_rng(seed)
    kinds = [str(kind) for kind in rng.choice(list(KINDS), rng.integers(1, 3))]
    sketch = grown(kinds, seed)
    return replace(sketch, parts=tuple(replace(part, layer=int(rng.integers(0, 4)))
                                       for part in sketch.parts))


def test_the_mends_of_grown_mechanisms_cure_what_they_mend() -> None:
    tried = 0
    for seed in range(1, 13):
        sketch = scattered(seed)
        for one in study(sketch, steps=90).findings:
            for edit in one.edits:
                try:
                    cured = study(edit.apply(sketch), steps=90, refine=False)
                except EditError:
                    assert edit.label == "Shorten the crank until it goes"
                    continue
                tried += 1
                assert (one.code, one.parts, one.joints) not in [
                    (left.code, left.parts, left.joints) for left in cured.findings]
    assert tried > 20


def test_whatever_is_held_against_a_limit_says_where_the_limit_is_from() -> None:
    codes = set()
    for seed in range(1, 13):
        sketch = scattered(seed)
        heavy = replace(sketch, for_children=True, parts=tuple(
            replace(part, mass=Mass(mass_kg=8.0, x=part.points[0].x + 40.0,
                                    y=part.points[0].y)) for part in sketch.parts))
        for one in study(heavy, steps=90).findings:
            assert one.mend, one.text
            if one.limit is not None:
                codes.add(one.code)
                assert one.source, one.text
    assert {"pin-in-the-way", "poor-transmission", "overrun", "pinch", "bore-gives",
            "runs-away"} <= codes
