"""What the crank leaves open, found by rank where counting joints is not enough."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace as replaced

import numpy as np
import pytest
from linkages import eight_bar, linkage, triad

from core.model import Belt, Sketch, Slide
from core.motion import pose_at, rates, solve_turn, structure
from core.motion.generic import undecided
from core.motion.solve import plan_of


def wagon() -> Sketch:
    """A wagon that slides along the crank, two wheels pinned on it and to each other, and a
    belt between the wheels: the counts are right, but nothing says how far out it is."""
    left, right, middle = 25 + 30j, 55 + 35j, 38 + 60j
    places = {"frame": {"O": 3 + 4j}, "crank": {"O": 3 + 4j, "A": 20 + 4j, "B": 60 + 4j},
              "wagon": {"S": 40 + 4j, "L": left, "R": right},
              "left": {"L": left, "M": middle}, "right": {"R": right, "M": middle}}
    return linkage(
        places, ["frame.O crank.O", "wagon.L left.L", "wagon.R right.R", "left.M right.M"],
        slides=[Slide(id="rail", point="wagon.S", along=("crank.A", "crank.B"))],
        belts=(Belt(id="belt", a="left.L", b="right.R", diameter_a_mm=17.3217,
                    diameter_b_mm=5.7713),))


def test_a_wagon_whose_counts_are_right_is_loose_all_the_same() -> None:
    sketch = wagon()
    built, turn = structure(sketch), solve_turn(sketch, 90)
    assert built.mobility == 2
    assert built.loose == ("wagon", "left", "right")
    assert (turn.crank_turns, turn.limits) == (1, ())
    assert turn.reached.all()
    assert np.isfinite(turn.rotation).all()


@pytest.mark.parametrize("make", [triad, eight_bar])
def test_groups_that_only_newton_solves_settle_their_unknowns(make: Callable[[], Sketch]
                                                              ) -> None:
    plan = plan_of(make())
    group = plan.blocks[-1]
    assert group.kind == "newton"
    assert undecided(plan.network, plan.source, group) == 0
    assert undecided(plan.network, plan.source, replaced(group, loops=group.loops[1:])) == 2


def test_a_wagon_free_to_slide_on_the_crank_is_loose_and_stays_as_drawn() -> None:
    places = {"frame": {"O": 3 + 4j}, "crank": {"O": 3 + 4j, "A": 20 + 4j, "B": 60 + 4j},
              "wagon": {"S": 40 + 4j}}
    sketch = linkage(places, ["frame.O crank.O"], slides=[
        Slide(id="rail", point="wagon.S", along=("crank.A", "crank.B"))])
    turn = solve_turn(sketch, 12)
    assert structure(sketch).loose == ("wagon",)
    assert np.ptp(turn.path("wagon.S"), axis=0) == pytest.approx([0, 0], abs=1e-12)
    assert np.ptp(turn.path("crank.A"), axis=0).min() > 30
    assert not rates(turn).spin[turn.row("wagon")].any()
    assert np.abs(pose_at(turn, np.array([1.0])).rotation[turn.row("wagon")] - 1).max() == 0
