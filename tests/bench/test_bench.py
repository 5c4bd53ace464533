"""The bench measures what it says. How long anything takes is not tested."""

from __future__ import annotations

import json
from collections.abc import Callable

import numpy as np
import pytest

from app import bench
from app.bench import solving
from app.bench.clock import Row, seconds
from app.bench.leg import by_fsolve, by_hand, many_parts, walking_legs
from core.model.validate import problems
from core.motion import solve_turn


def test_the_leg_by_hand_and_by_fsolve_and_by_us_are_one_leg() -> None:
    crank = np.linspace(0.0, 2 * np.pi, 36, endpoint=False)
    foot = by_hand(crank)[-1]
    np.testing.assert_allclose(by_fsolve(crank), foot, atol=1e-6)
    ours = solve_turn(walking_legs(), steps=36).path("shin 0.foot")
    np.testing.assert_allclose(ours @ [1, 1j], foot, atol=1e-9)


@pytest.mark.parametrize("count", [1, 12])
def test_legs_are_sound_sketches_that_go_all_round(count: int) -> None:
    sketch = walking_legs(count)
    assert problems(sketch) == []
    turn = solve_turn(sketch, steps=36)
    assert turn.reached.all()
    # All legs are the same leg, later.
    first, last = (turn.path(f"shin {leg}.foot") for leg in (0, count - 1))
    later = 36 - 36 * (count - 1) // count
    np.testing.assert_allclose(last, np.roll(first, later, axis=0), atol=1e-9)


def test_a_file_of_many_parts_has_about_that_many() -> None:
    assert abs(len(many_parts(200).parts) - 200) < 6


def test_a_row_says_whether_its_target_is_met() -> None:
    assert Row("a", 1.0, "ms").met is None
    assert Row("a", 1.0, "ms", 2.0).met is True
    assert Row("a", 3.0, "ms", 2.0).met is False
    assert Row("a", 3.0, "×", 2.0, least=True).met is True


def test_a_job_is_run_as_often_as_asked_and_once_to_warm_up() -> None:
    calls: list[int] = []
    assert seconds(lambda: calls.append(1), span_s=0.0, least=4) >= 0.0
    assert len(calls) == 5


def test_every_job_of_the_core_s_rows_runs(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def once(job: Callable[[], object], **options: object) -> float:
        job()
        return 0.001

    monkeypatch.setattr(solving, "seconds", once)
    assert bench.main(["--json", "--no-window", "--no-wanted"]) == 0
    rows = json.loads(capsys.readouterr().out)
    assert rows[0]["value"] < 1e-9
    assert [row["unit"] for row in rows].count("ms") >= 13
    assert all(np.isfinite(row["value"]) for row in rows)
