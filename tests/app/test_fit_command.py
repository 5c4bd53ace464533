"""The command ``fit``: what it prints and writes, its exit codes, one sentence for bad
input, equal bytes for equal seeds."""

from __future__ import annotations

import json
import signal
import threading
from pathlib import Path

import pytest
from linkages import four_bar
from msgspec.structs import replace

from app.cli import main
from app.searching import searching
from core.files import load, save
from core.model import FitRules, Sketch, WantedPath
from core.motion import solve_turn
from core.motion.redimension import drag_points

Capture = pytest.CaptureFixture[str]
EASY = FitRules(transmission_deg=0.0)


def wished(tolerance: float = 1.0) -> Sketch:
    """A four-bar asked to draw what another, its rocker's pin drawn elsewhere, draws."""
    sketch = four_bar(100, 40, 120, 80, 40, point=60 + 50j)
    path = solve_turn(sketch, 32).path("coupler.P")
    wish = WantedPath(id="loop", point="coupler.P", tolerance_mm=tolerance,
                      through=tuple((float(x), float(y)) for x, y in path))
    at = sketch.place("coupler.B")
    moved = drag_points(sketch, {"coupler.B": (at.real + 6, at.imag - 4)})
    return replace(moved, wanted=(wish,), fit=EASY)


@pytest.fixture
def file(tmp_path: Path) -> Path:
    save(wished(), tmp_path / "loop.json")
    return tmp_path / "loop.json"


def failing(capsys: Capture, *argv: object) -> str:
    assert main(["fit", *map(str, argv)]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.count("\n") == 1
    assert "Traceback" not in err
    return err


def test_it_prints_the_miss_before_and_after_and_ends_well(capsys: Capture, file: Path
                                                           ) -> None:
    assert main(["fit", str(file), "--starts", "0"]) == 0
    out, err = capsys.readouterr()
    assert err == ""
    head, row, blank, words = out.splitlines()[:4]
    assert head.split() == ["wish", "before", "after", "allowed"]
    name, before, unit, after, *_, met = row.split()
    assert (name, unit, met) == ("loop", "mm", "met")
    assert float(before) > 5.0 * float(after)
    assert blank == ""
    assert words == "The wish is met."
    assert json.loads(file.read_text())  # the file itself is left alone
    assert load(file) == wished()


def test_it_writes_a_sketch_that_goes_round_and_keeps_its_rules(capsys: Capture, file: Path
                                                                ) -> None:
    out = file.with_name("better.json")
    assert main(["fit", str(file), "-o", str(out), "--starts", "0", "--free",
                 "coupler.B", "coupler.P"]) == 0
    capsys.readouterr()
    better, old = load(out), load(file)
    assert better.fit == old.fit
    assert not solve_turn(better).limits
    moved = {ref for ref, place in better.places().items() if place != old.place(ref)}
    assert moved == {"coupler.B", "rocker.B", "coupler.P"}


def test_equal_seeds_write_equal_bytes(capsys: Capture, file: Path) -> None:
    made = []
    for name in ("one.json", "two.json"):
        main(["fit", str(file), "-o", str(file.with_name(name)), "--seed", "7", "--starts",
              "2", "--json"])
        made.append((file.with_name(name).read_bytes(), capsys.readouterr().out))
    assert made[0] == made[1]


def test_json_says_how_each_wish_is_met(capsys: Capture, file: Path) -> None:
    assert main(["fit", str(file), "--json", "--starts", "0"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["good"] is True
    assert told["error"] < told["error_before"]
    (wish,) = told["wishes"]
    assert wish["id"] == "loop"
    assert wish["worst"] < wish["tolerance"] < wish["worst_before"]
    assert told["words"]
    assert set(told["moved"]) >= {"coupler.B", "rocker.B"}


def test_a_wish_out_of_reach_ends_with_one(capsys: Capture, tmp_path: Path) -> None:
    corner = WantedPath(id="corner", point="coupler.P", curve="straight", tolerance_mm=0.01,
                        through=((0.0, 100.0), (60.0, 100.0), (60.0, 160.0)))
    save(replace(wished(), wanted=(corner,)), tmp_path / "corner.json")
    assert main(["fit", str(tmp_path / "corner.json"), "--starts", "1", "--free",
                 "coupler.P"]) == 1
    out = capsys.readouterr().out
    assert "missed" in out
    assert "leaves its path" in out


def test_bad_input_gets_one_sentence(capsys: Capture, file: Path, tmp_path: Path) -> None:
    assert "none.json" in failing(capsys, tmp_path / "none.json")
    assert "no point 'coupler.Z'" in failing(capsys, file, "--free", "coupler.Z")
    assert "whole number" in failing(capsys, file, "--starts", "-1")
    assert "whole number" in failing(capsys, file, "--seed", "x")
    save(replace(wished(), wanted=()), tmp_path / "bare.json")
    assert failing(capsys, tmp_path / "bare.json").startswith("bare.json: nothing is wanted")
    save(replace(wished(), drive=None), tmp_path / "still.json")
    assert "crank" in failing(capsys, tmp_path / "still.json")
    locked = wished()
    locked = replace(locked, parts=tuple(replace(part, points=tuple(
        replace(point, locked=True) for point in part.points)) for part in locked.parts))
    save(locked, tmp_path / "locked.json")
    assert "no point may move" in failing(capsys, tmp_path / "locked.json")


def test_ctrl_c_keeps_the_best_so_far(capsys: Capture, file: Path,
                                      monkeypatch: pytest.MonkeyPatch) -> None:
    class PressedAfterThree(threading.Event):
        """Set as if Ctrl+C came while the fit runs."""
        asked = 0

        def is_set(self) -> bool:
            self.asked += 1
            return self.asked > 3

    monkeypatch.setattr("core.wanted.fit.tuning.PAUSE_S", 0.0)
    monkeypatch.setattr("app.searching.threading.Event", PressedAfterThree)
    out = file.with_name("stopped.json")
    main(["fit", str(file), "-o", str(out), "--json"])
    told = json.loads(capsys.readouterr().out)
    assert told["stopped"] is True
    assert told["error"] < told["error_before"]
    assert not solve_turn(load(out)).limits


def test_ctrl_c_asks_once_and_then_insists() -> None:
    before = signal.getsignal(signal.SIGINT)
    with searching("a.json") as going:
        assert going()
        signal.raise_signal(signal.SIGINT)
        assert not going()
        with pytest.raises(KeyboardInterrupt):
            signal.raise_signal(signal.SIGINT)
    assert signal.getsignal(signal.SIGINT) is before
