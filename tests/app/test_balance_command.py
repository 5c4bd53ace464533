"""The command ``balance``: what it prints, writes and refuses."""

from __future__ import annotations

import json
import math
from pathlib import Path

import pytest
from msgspec.structs import replace
from pleasing import nodding_heron

from app import demos
from app.balancing import bearing
from app.cli import main
from core.errors import SketchError
from core.files import load, save
from core.model import Handle, Torque
from core.study import study

Capture = pytest.CaptureFixture[str]
ONLY_WEIGHTS = ("--springs", "no", "--no-gear", "--no-flywheel")


@pytest.fixture
def file(tmp_path: Path) -> Path:
    save(nodding_heron(), tmp_path / "heron.json")
    return tmp_path / "heron.json"


def failing(capsys: Capture, *argv: object) -> str:
    """Runs a command that is to fail with 2; what it said."""
    assert main(["balance", *map(str, argv)]) == 2
    told = capsys.readouterr()
    assert told.out == ""
    assert told.err.count("\n") == 1
    assert "Traceback" not in told.err
    return told.err


def test_it_prints_before_after_and_bound_and_writes_the_best(capsys: Capture,
                                                              file: Path) -> None:
    out = file.with_name("better.json")
    assert main(["balance", str(file), "-o", str(out), *ONLY_WEIGHTS]) == 0
    told = capsys.readouterr().out
    assert "before" in told
    assert "after" in told
    assert "proved bound" in told
    assert "*1" in told
    before, after = study(load(file)), study(load(out))
    assert after.effort.peak_high_nmm < 0.6 * before.effort.peak_high_nmm
    assert not any(one.grade != "note" for one in after.findings)
    assert any(one.code == "runs-away" and one.grade == "warning" for one in before.findings)


def test_json_has_the_same_numbers_and_the_bound_is_below_what_is_made(capsys: Capture,
                                                                      file: Path) -> None:
    assert main(["balance", str(file), "--json", *ONLY_WEIGHTS]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["aim"] == "peak"
    assert told["stopped"] is False
    assert told["chosen"] >= 1
    for one in told["proposals"]:
        assert one["kind"] == "weights"
        assert one["bound_nm"] <= one["optimum_nm"] * (1 + 1e-9)
        assert one["bound_nm"] <= one["peak_nm"] * (1 + 1e-9)
        assert one["value_after_nm"] < one["value_before_nm"] == told["before"]["value_nm"]
        assert one["gain"] == pytest.approx(1 - one["value_after_nm"] / one["value_before_nm"])
        assert one["push_n"] < told["before"]["push_n"]
        assert math.isfinite(one["added_kg"])


def test_a_gear_step_and_a_flywheel_are_not_told_as_torques_at_the_crank(
        capsys: Capture, tmp_path: Path) -> None:
    heavy = replace(nodding_heron(), handle=Handle(radius_mm=60.0, limit_n=0.3), torques=(
        Torque(id="felt", part="crank", torque_nmm=200.0, brakes=True),))
    save(replace(heavy, drive=replace(heavy.drive, rpm=120.0)), tmp_path / "brisk.json")
    argv = ["balance", str(tmp_path / "brisk.json"), "--no-weights", "--springs", "no"]
    assert main([*argv, "--json"]) == 0
    told = {one["kind"]: one for one in json.loads(capsys.readouterr().out)["proposals"]}
    assert set(told) == {"gears", "flywheel"}
    for one in told.values():
        assert one["value_before_nm"] is one["value_after_nm"] is None
    assert told["gears"]["speed_swing_after"] is None
    assert told["flywheel"]["speed_swing_after"] < told["flywheel"]["speed_swing_before"]
    assert told["gears"]["push_n"] <= 0.3 < told["flywheel"]["push_n"]
    assert main(argv) == 0
    rows = capsys.readouterr().out.splitlines()[1:3]
    assert all(row.count("–") == 3 and "N·m" not in row for row in rows)


def test_the_rate_of_a_spring_is_in_the_units_of_the_sketch(capsys: Capture,
                                                            tmp_path: Path) -> None:
    save(replace(nodding_heron(), units="in"), tmp_path / "heron.json")
    assert main(["balance", str(tmp_path / "heron.json"), "--no-weights", "--springs",
                 "straight", "--no-gear"]) == 0
    told = capsys.readouterr().out
    assert " lbf/in, free length" in told
    assert "lb·in², a disc" in told
    assert "N/mm" not in told


def test_equal_input_writes_equal_bytes(capsys: Capture, file: Path) -> None:
    outs = [file.with_name(name) for name in ("a.json", "b.json")]
    for out in outs:
        main(["balance", str(file), "-o", str(out), *ONLY_WEIGHTS])
    assert outs[0].read_bytes() == outs[1].read_bytes()


def test_only_the_parts_named_bear_weights_as_far_out_and_heavy_as_said(capsys: Capture,
                                                                       file: Path) -> None:
    out = file.with_name("better.json")
    assert main(["balance", str(file), "-o", str(out), "--weights", "neck:70mm:30g",
                 *ONLY_WEIGHTS]) == 0
    sketch = load(out)
    assert {part.id for part in sketch.parts if part.weights} == {"neck"}
    pivot = sketch.place("neck.Q")
    for weight in sketch.part("neck").weights:
        assert weight.mass_kg <= 0.030001
        old = nodding_heron().part("neck")
        wide = max(abs(point.place - pivot) for point in old.points) + 22.0
        assert abs(weight.place - pivot) <= max(70.0, wide)


def test_another_proposal_than_the_best_can_be_taken(capsys: Capture, file: Path) -> None:
    out = file.with_name("second.json")
    assert main(["balance", str(file), "-o", str(out), "--take", "2", "--json",
                 *ONLY_WEIGHTS]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["chosen"] == 2
    found = study(load(out)).effort
    assert found.peak_high_nmm <= told["proposals"][1]["value_after_nm"] * 1e3 * (1 + 1e-9)


def test_nothing_that_is_allowed_helps_ends_with_one_and_writes_nothing(
        capsys: Capture, tmp_path: Path) -> None:
    calm = replace(nodding_heron(), gravity=replace(nodding_heron().gravity, g_m_s2=0.0))
    save(calm, tmp_path / "flat.json")
    out = tmp_path / "out.json"
    assert main(["balance", str(tmp_path / "flat.json"), "-o", str(out), "--weights", "crank",
                 "--reach", "0", *ONLY_WEIGHTS]) == 1
    assert "Nothing that is allowed" in capsys.readouterr().out
    assert not out.exists()


def test_bad_input_gets_one_sentence(capsys: Capture, file: Path, tmp_path: Path) -> None:
    assert "no part 'beak'" in failing(capsys, file, "--weights", "beak")
    assert "frame" in failing(capsys, file, "--weights", "reeds")
    assert "--weights neck:far" in failing(capsys, file, "--weights", "neck:far")
    assert "not a mass" in failing(capsys, file, "--heaviest", "much")
    assert "forbidden" in failing(capsys, file, "--no-weights", *ONLY_WEIGHTS)
    assert "--aim" in failing(capsys, file, "--aim", "nice")
    assert "from 1 to 6" in failing(capsys, file, "--pieces", "0")
    assert "no such file" in failing(capsys, tmp_path / "none.json")
    (tmp_path / "stiff.json").write_bytes(demos.data("stiff-otter"))
    assert "locks at" in failing(capsys, tmp_path / "stiff.json")
    assert "no proposal 40" in failing(capsys, file, "--take", "40", *ONLY_WEIGHTS)


def test_ctrl_c_keeps_what_was_found(capsys: Capture, file: Path,
                                     monkeypatch: pytest.MonkeyPatch) -> None:
    class PressedLater:
        """As if Ctrl+C came after the weights, when springs are begun."""

        def __init__(self) -> None:
            self.kinds = 0

        def is_set(self) -> bool:
            return self.kinds > 0

        def set(self) -> None:
            self.kinds += 1

    event = PressedLater()
    monkeypatch.setattr("app.searching.threading.Event", lambda: event)
    from core.pleasant import advise

    def watched(sketch, options, report):
        def tell(progress):
            if progress.proposals:
                event.set()
            return report(progress)
        return advise(sketch, options, tell)

    monkeypatch.setattr("core.pleasant.advise", watched)
    out = file.with_name("stopped.json")
    assert main(["balance", str(file), "-o", str(out), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["stopped"] is True
    assert {one["kind"] for one in told["proposals"]} == {"weights"}
    assert load(out) != load(file)


def test_a_name_with_a_colon_is_taken_whole() -> None:
    sketch = nodding_heron()
    odd = replace(sketch, parts=(*sketch.parts, replace(sketch.part("neck"), id="neck:2")))
    assert bearing(odd, "neck:2") == ("neck:2", None, None)
    assert bearing(odd, "neck:2:30:40g") == ("neck:2", 30.0, pytest.approx(0.04))
    assert bearing(odd, "neck::40g") == ("neck", None, pytest.approx(0.04))
    with pytest.raises(SketchError, match="no part"):
        bearing(odd, "neck:1:2:3")
