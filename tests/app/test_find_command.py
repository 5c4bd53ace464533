"""The command find: a path in, ranked sketches out, one sentence for bad input."""

from __future__ import annotations

import json
import math
from pathlib import Path

import numpy as np
import pytest

from app.cli import main
from app.finding import path_wish, report, text
from core.files import dumps, load, save
from core.model import Sketch, WantedPath, WantedStroke
from core.motion import solve_turn
from core.wanted.curves import sample_path
from core.wanted.find import Found, Proposal

Capture = pytest.CaptureFixture[str]


def ellipse(path: Path, rows: int = 24, crank: bool = False, head: bool = True) -> Path:
    lines = ["x_mm,y_mm" + ",crank_deg" * crank] * head
    for k in range(rows):
        t = 2 * math.pi * k / rows
        lines.append(f"{40 * math.cos(t):.3f},{25 * math.sin(t):.3f}"
                     + f",{360 * k / rows}" * crank)
    path.write_text("\n".join(lines) + "\n")
    return path


def printed(capsys: Capture, *argv: object, code: int) -> str:
    assert main(["find", *map(str, argv)]) == code
    out, err = capsys.readouterr()
    assert err == ""
    return out


def test_a_path_gives_a_table_and_sketches_that_turn(capsys: Capture, tmp_path: Path) -> None:
    out = printed(capsys, "--path", ellipse(tmp_path / "e.csv"), "--family", "four-bar",
                  "--family", "slider-crank", "--top", 3, "--tolerance", "2 mm",
                  "-o", tmp_path / "found", code=0)
    assert "mechanism" in out.splitlines()[0]
    assert "meet every wish" in out
    files = sorted((tmp_path / "found").iterdir())
    assert files[0].name.startswith("01-")
    for file in files:
        sketch = load(file)
        assert sketch.wanted[0].tolerance_mm == 2.0
        assert solve_turn(sketch, steps=90).reached.all()


def test_json_has_the_same_and_equal_seeds_give_equal_files(capsys: Capture, tmp_path: Path
                                                            ) -> None:
    sketch = Sketch(wanted=(WantedStroke(id="s", start=(0, 0), end=(60, 0)),))
    save(sketch, tmp_path / "wish.json")
    told = [json.loads(printed(
        capsys, tmp_path / "wish.json", "--family", "slider-crank", "--top", 2, "--seed", 5,
        "--json", "-o", tmp_path / folder, code=0)) for folder in ("a", "b")]
    assert told[0] == told[1]
    first = told[0]["proposals"][0]
    assert first["good"]
    assert set(first) == {"family", "name", "good", "error", "worst", "worst_mm",
                          "transmission_deg", "size_mm", "peak_torque_nm", "pareto", "kin",
                          "meets"}
    names = [[file.name for file in sorted((tmp_path / folder).iterdir())]
             for folder in ("a", "b")]
    assert names[0] == names[1]
    assert len(names[0]) == len(told[0]["proposals"])
    for name in names[0]:
        assert (tmp_path / "a" / name).read_bytes() == (tmp_path / "b" / name).read_bytes()


def test_parts_that_meet_are_told_in_the_table_and_in_json() -> None:
    found = Found(tuple(
        Proposal(family="four-bar", name=name, sketch=Sketch(), error=0.1, worst=0.2,
                 worst_mm=0.2, transmission_deg=50.0, size_mm=100.0, peak_torque_nmm=3.0,
                 meets=meets)
        for name, meets in (("Free", ()), ("Not so", (("coupler", "pin a"),)))))
    rows = text(found).splitlines()
    assert rows[1].endswith(" a")
    assert rows[2].endswith(" a×")
    assert [one["meets"] for one in report(found)["proposals"]] == [[], [["coupler", "pin a"]]]


def test_nothing_good_is_exit_code_1(capsys: Capture, tmp_path: Path) -> None:
    """Eight wild places to a thousandth of a millimetre are beyond a slider-crank."""
    wild = WantedPath(id="w", curve="places", closed=False, tolerance_mm=0.001, through=(
        (0, 0), (70, 3), (-8, 40), (64, 64), (5, 5), (50, -30), (-20, 12), (33, 33)))
    save(Sketch(wanted=(wild,)), tmp_path / "wild.json")
    out = printed(capsys, tmp_path / "wild.json", "--family", "slider-crank", "--top", 1,
                  code=1)
    assert "0 of" in out or "No mechanism" in out


def test_a_path_with_crank_angles_is_timed(tmp_path: Path) -> None:
    wish = path_wish(str(ellipse(tmp_path / "e.csv", 12, crank=True)))
    assert [tick.crank_deg for tick in wish.ticks] == [30.0 * k for k in range(12)]
    assert wish.curve == "places"


def test_a_plain_path_is_a_smooth_closed_curve_with_few_handles(tmp_path: Path) -> None:
    few = path_wish(str(ellipse(tmp_path / "e.csv", 24)))
    assert (few.curve, few.closed, len(few.through)) == ("smooth", True, 24)
    wish = path_wish(str(ellipse(tmp_path / "e.csv", 500)))
    assert (wish.curve, wish.closed, wish.ticks) == ("smooth", True, ())
    assert 4 <= len(wish.through) < 30
    x, y = sample_path(wish)[0].view(float).reshape(-1, 2).T
    assert abs(np.hypot(x / 40, y / 25) - 1).max() < 0.005
    assert wish.tolerance_mm == pytest.approx(0.8, rel=0.01)
    placed = path_wish(str(tmp_path / "e.csv"), "places", 0.25)
    assert (placed.curve, placed.tolerance_mm) == ("places", 0.25)


@pytest.mark.parametrize("case", [
    ((), "give a sketch, or a path with --path"),
    (("FILE", "--path", "PATH"), "give a sketch, or a path with --path"),
    (("missing.json",), "there is no such file"),
    (("--path", "missing.csv"), "there is no such file"),
    (("--path", "PATH", "--family", "magic"), "there is no family 'magic'"),
    (("FILE", "--tolerance", "-3"), "no tolerance"),
    (("FILE", "--top", "many"), "whole number"),
    (("FILE", "--top", "0"), "whole number from 1"),
    (("FILE",), "nothing is wished"),
])
def test_bad_input_is_one_sentence(capsys: Capture, tmp_path: Path,
                                   case: tuple[tuple[str, ...], str]) -> None:
    words, sentence = case
    save(Sketch(), tmp_path / "empty.json")
    ellipse(tmp_path / "e.csv")
    names = {"FILE": str(tmp_path / "empty.json"), "PATH": str(tmp_path / "e.csv")}
    assert main(["find", *(names.get(word, word) for word in words)]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert sentence in err
    assert err.count("\n") == 1


def test_the_maker_s_own_sketch_is_not_touched(capsys: Capture, tmp_path: Path) -> None:
    sketch = Sketch(wanted=(WantedStroke(id="s", start=(0, 0), end=(60, 0)),))
    save(sketch, tmp_path / "wish.json")
    before = (tmp_path / "wish.json").read_bytes()
    printed(capsys, tmp_path / "wish.json", "--family", "slider-crank", "--top", 1, code=0)
    assert (tmp_path / "wish.json").read_bytes() == before == dumps(sketch)


def test_a_folder_that_cannot_be_made_is_said(capsys: Capture, tmp_path: Path) -> None:
    (tmp_path / "taken").write_text("a file")
    assert main(["find", "--path", str(ellipse(tmp_path / "e.csv", 12, crank=True)), "--family",
                 "slider-crank", "--top", "1", "-o", str(tmp_path / "taken" / "in")]) == 2
    assert "cannot be made" in capsys.readouterr().err
