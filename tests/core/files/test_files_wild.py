"""Whatever can be drawn is studied: no sketch raises, and what is said of it holds together."""

from __future__ import annotations

import json
import random

import msgspec
import numpy as np
import pytest
from files_wild import wild

from core.files import dumps, loads
from core.model.fitness import size_of
from core.model.snap import snap
from core.model.validate import problems
from core.study import report, study


@pytest.mark.parametrize("seed", range(0, 100, 5))
@pytest.mark.filterwarnings("error::RuntimeWarning")
def test_a_wild_sketch_is_studied(seed: int) -> None:
    for number in range(seed, seed + 5):
        sketch = wild(random.Random(number))
        wrong = problems(sketch)
        assert not any(problem.fatal for problem in wrong)
        assert loads(dumps(sketch), strict=False) == sketch
        whole = study(sketch, steps=60)
        json.dumps(report(whole), allow_nan=False)
        if whole.turn is None:
            assert whole.findings, f"seed {number} does not turn and nothing says why"
            continue
        turn = whole.turn
        assert np.isfinite(turn.rotation[:, turn.reached]).all(), number
        assert whole.structure is not None
        fixed = {part.id for part in sketch.parts if part.fixed}
        still = {*whole.structure.loose, *(part for body in whole.structure.bodies
                                           if fixed & {*body} for part in body)}
        rows = [row for row, part in enumerate(sketch.parts) if part.id not in still]
        assert np.isnan(turn.rotation[rows][:, ~turn.reached]).all(), number
        if not wrong:
            assert turn.residual_mm <= 1e-9 * size_of(sketch), number
        if whole.effort is not None:
            known = np.isfinite(whole.effort.torque_nmm)
            assert (known <= turn.reached).all()


def test_what_has_come_apart_is_snapped_together() -> None:
    apart = 0
    for number in range(100):
        draw = random.Random(number)
        sketch = wild(draw)
        moved = msgspec.structs.replace(sketch, parts=tuple(
            msgspec.structs.replace(part, points=tuple(
                msgspec.structs.replace(p, x=p.x + draw.choice((0.0, draw.gauss(0, 3))))
                for p in part.points)) for part in sketch.parts))
        apart += any(problem.snap for problem in problems(moved))
        snapped = snap(moved)
        assert not any(problem.snap for problem in problems(snapped)), number
        assert snap(snapped) == snapped
    assert apart > 80
