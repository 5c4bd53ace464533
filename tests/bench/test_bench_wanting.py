"""What the bench measures of fitting is what it says it measures."""

from __future__ import annotations

import numpy as np
import pytest

from app.bench.eighteen import GOOD_SUM
from app.bench.wanting import STARTS, cold, drawn_loop, fit_seconds, squared_sum
from core.model.validate import problems
from core.motion import solve_turn


@pytest.mark.parametrize("start", range(STARTS))
def test_a_cold_start_goes_round_and_is_far_off(start: int) -> None:
    sketch = cold(start)
    assert problems(sketch) == []
    turn = solve_turn(sketch, steps=90)
    assert turn.reached.all()
    assert turn.limits == ()
    assert squared_sum(sketch) > 100 * GOOD_SUM


def test_a_fit_from_the_first_start_comes_to_a_good_sum_and_says_when() -> None:
    taken, total = fit_seconds(0)
    assert total <= GOOD_SUM
    assert np.isfinite(taken)


def test_the_drawn_loop_is_a_closed_path_of_its_size() -> None:
    wish = drawn_loop()
    assert wish.closed
    assert np.ptp(np.array(wish.through)[:, 0]) == pytest.approx(90, abs=3)
