"""What find says of parts in each other's way, against the findings, and of what it leaves
unminded."""

from __future__ import annotations

import numpy as np
import pytest
from msgspec.structs import replace

from core.model import Sketch, WantedPath, Zone
from core.model.edits import change
from core.motion import solve_turn
from core.study import study
from core.wanted.engine import moved, run
from core.wanted.families import FAMILIES
from core.wanted.find import find
from core.wanted.find.clearance import meeting

CLASHES = {"overlap", "pin-in-the-way", "no-hole"}


def built(name: str, seed: int) -> Sketch:
    """A random mechanism of a family as a sketch, its tracer's path 90 mm large."""
    family = FAMILIES[name]
    own = family.sample(np.random.default_rng(seed), 1)
    crank = np.linspace(0, 2 * np.pi * family.recipe.turns, 60, endpoint=False)
    path = run(family.recipe, own, crank, derive=False).point(family.tracer)[0]
    size = max(np.ptp(path.real), np.ptp(path.imag))
    return family.sketch(moved(family.recipe, own, complex(90 / size), 0j))


def clashes(sketch: Sketch) -> set[frozenset[str]]:
    """The parts of every finding that tells of two bodies in one place."""
    return {frozenset(one.parts) for one in study(sketch).findings if one.code in CLASHES}


@pytest.mark.parametrize("name", ["four-bar", "six-bar-rocker-crank-arm",
                                  "geared-five-bar-1to3", "panel-chain-frame"])
def test_parts_meet_where_the_findings_of_the_sketch_say_so(name: str) -> None:
    for seed in range(4):
        sketch = built(name, seed)
        assert bool(meeting(solve_turn(sketch, steps=360))) == bool(clashes(sketch))


def test_a_crank_in_the_layer_of_its_coupler_meets_it() -> None:
    sketch = built("four-bar", 0)
    assert meeting(solve_turn(sketch, steps=360)) == ()
    flat = change(sketch, "parts", "coupler", layer=sketch.layer_of("crank"))
    assert ("coupler", "crank") in meeting(solve_turn(flat, steps=360))


def test_proposals_carry_what_meets_in_them() -> None:
    wish = WantedPath(id="loop", closed=True, tolerance_mm=2.0,
                      through=((40, 80), (60, 100), (30, 120), (10, 100)))
    found = find(Sketch(wanted=(wish,)), top=6, families=["six-bar-rocker-crank-arm"])
    assert found.proposals
    for one in found.proposals:
        assert bool(one.meets) == bool(clashes(one.sketch))


# -- regions of points ---------------------------------------------------------------------


def test_regions_of_points_that_are_there_already_are_told_to_be_unminded() -> None:
    wish = WantedPath(id="loop", through=((40, 80), (60, 100), (30, 120), (10, 100)))
    corners = ((0.0, 0.0), (100.0, 0.0), (100.0, 100.0))
    sketch = built("four-bar", 0)
    point = next(f"{part.id}.{part.points[0].id}" for part in sketch.parts if not part.fixed)
    zones = [Zone(id="yard", corners=corners), Zone(id="pen", corners=corners, points=(point,)),
             Zone(id="sty", corners=corners, points=(point,))]

    def words(*zones: Zone) -> tuple[str, ...]:
        asked = replace(sketch, wanted=(wish,), zones=zones)
        return find(asked, top=1, families=["slider-crank"], report=lambda _: False).words

    assert words(zones[0]) == ()
    assert words(*zones[:2])[0].startswith("The region “pen” is for points of parts")
    assert words(*zones)[0].startswith("The regions “pen”, “sty” are for points of parts")
