"""The commands: what they print and write, their exit codes, one sentence for bad input."""

from __future__ import annotations

import csv
import io
import json
import math
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from app import demos
from app.cli import COMMANDS, main
from core.files import load

ROOT = Path(__file__).parents[2]
FOUR_BAR = ROOT / "tests" / "formats" / "v1" / "four-bar.json"

Capture = pytest.CaptureFixture[str]


def said(capsys: Capture, *argv: object) -> str:
    """Runs a command that must fail with one sentence on standard error."""
    assert main([str(word) for word in argv]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.count("\n") == 1
    assert err.endswith(".\n")
    assert "Traceback" not in err
    return err


def printed(capsys: Capture, *argv: object, code: int = 0) -> str:
    """Runs a command that must succeed silently but for its output."""
    assert main([str(word) for word in argv]) == code
    out, err = capsys.readouterr()
    assert err == ""
    return out


def changed(tmp_path: Path, **fields: Any) -> Path:
    raw = {**json.loads(FOUR_BAR.read_text()), **fields}
    (tmp_path / "a.json").write_text(json.dumps(raw))
    return tmp_path / "a.json"


def test_turn_prints_a_table_a_person_can_read(capsys: Capture) -> None:
    lines = printed(capsys, "turn", FOUR_BAR).splitlines()
    assert lines[0] == "Four-bar with a coupler point"
    assert lines[1] == "Goes all round and repeats after one crank turn."
    assert "N·m" in lines[2]
    assert lines[4].split("  ")[-1].strip() == "coupler.P y mm"
    assert lines[5].split() == ["0.0", lines[5].split()[1], "40.00", "90.00"]
    assert len(lines) == 5 + 24
    assert len({len(line) for line in lines[4:]}) == 1


def test_turn_writes_the_columns_promised(capsys: Capture, tmp_path: Path) -> None:
    out = tmp_path / "turn.csv"
    assert printed(capsys, "turn", FOUR_BAR, "--steps", 360, "--csv", out) == ""
    rows = list(csv.reader(io.StringIO(out.read_text())))
    sketch = load(FOUR_BAR)
    places = [f"{part.id}.{point.id}.{axis}_mm" for part in sketch.parts
              for point in part.points for axis in "xy"]
    assert rows[0] == ["crank_deg", *places, "crank.angle_deg", "coupler.angle_deg",
                       "rocker.angle_deg", "torque_nm"]
    assert len(rows) == 361
    table = {name: [float(row[i]) for row in rows[1:]] for i, name in enumerate(rows[0])}
    assert table["crank_deg"] == pytest.approx([float(i) for i in range(360)], abs=1e-9)
    # The crank is drawn upright and is 30 long: its tip goes round a circle about A.
    for deg, x, y in zip(table["crank_deg"], table["crank.B.x_mm"], table["crank.B.y_mm"],
                         strict=True):
        angle = math.radians(90 + deg)
        assert (x, y) == pytest.approx((30 * math.cos(angle), 30 * math.sin(angle)), abs=1e-9)
    gap = [math.hypot(table["coupler.C.x_mm"][i] - table["rocker.C.x_mm"][i],
                      table["coupler.C.y_mm"][i] - table["rocker.C.y_mm"][i])
           for i in range(360)]
    assert max(gap) < 1e-6


def test_csv_can_go_to_standard_output(capsys: Capture) -> None:
    assert printed(capsys, "turn", FOUR_BAR, "--steps", 8, "--csv", "-").count("\n") == 9


def test_turn_json_is_the_same_table(capsys: Capture) -> None:
    found = json.loads(printed(capsys, "turn", FOUR_BAR, "--steps", 12, "--json"))
    assert list(found) == ["title", "crank_turns", "goes_round", "limits", "mobility",
                           "columns", "rows"]
    assert found["goes_round"] is True
    assert found["mobility"] == 1
    assert len(found["rows"]) == 12
    table = printed(capsys, "turn", FOUR_BAR, "--steps", 12, "--csv", "-").splitlines()
    assert found["columns"] == table[0].split(",")
    assert [str(cell) for cell in found["rows"][3]] == table[4].split(",")


def test_where_the_crank_cannot_go_cells_are_empty(capsys: Capture, tmp_path: Path) -> None:
    raw = json.loads(FOUR_BAR.read_text())
    for part, point in ((1, 1), (2, 0)):  # a crank of 80 cannot go round here
        raw["parts"][part]["points"][point].update(x=0, y=80)
    path = tmp_path / "a.json"
    path.write_text(json.dumps(raw))
    rows = list(csv.reader(io.StringIO(printed(capsys, "turn", path, "--csv", "-"))))
    assert any(row[-1] == "" for row in rows)
    found = json.loads(printed(capsys, "turn", path, "--json"))
    assert found["goes_round"] is False
    assert len(found["limits"]) == 2
    assert any(None in row for row in found["rows"])
    assert "the crank stops at" in printed(capsys, "turn", path)


def test_check_tells_findings_and_says_so_by_its_exit_code(
        capsys: Capture, tmp_path: Path) -> None:
    raw = json.loads(FOUR_BAR.read_text())
    for part in raw["parts"]:
        part["layer"] = 0
    path = tmp_path / "a.json"
    path.write_text(json.dumps(raw))
    text = printed(capsys, "check", path, code=1)
    assert text.startswith("fault")
    about = json.loads(printed(capsys, "check", path, "--json", code=1))
    assert list(about) == ["title", "mobility", "crank_turns", "goes_round", "limits",
                           "findings", "torque", "hand", "standing", "strength", "locks",
                           "gaps", "pinches", "wanted", "error"]
    assert list(about["findings"][0]) == ["code", "grade", "text", "parts", "joints",
                                          "crank_deg", "value", "limit", "unit", "source",
                                          "mend"]
    assert {"peak_nm", "peak_at_deg", "least_nm", "runaway"} <= set(about["torque"])
    assert list(about["gaps"][0]) == ["a", "b", "layer", "smallest_mm", "crank_deg"]
    assert len(text.splitlines()) == len(about["findings"])


def test_a_sketch_without_a_crank_is_explained(capsys: Capture, tmp_path: Path) -> None:
    path = changed(tmp_path, drive=None)
    assert "crank" in printed(capsys, "check", path, code=1)
    assert "no part is the crank" in said(capsys, "turn", path, "--csv", tmp_path / "out.csv")
    assert not (tmp_path / "out.csv").exists()


def test_an_empty_sketch_is_explained(capsys: Capture, tmp_path: Path) -> None:
    path = tmp_path / "empty.json"
    path.write_text('{"format": "crankwright", "version": 1}')
    assert printed(capsys, "check", path)
    assert "empty.json" in said(capsys, "turn", path)


def test_demos_are_listed_and_written(capsys: Capture, tmp_path: Path) -> None:
    names = printed(capsys, "demo").split()
    assert names == list(demos.names())
    assert "rowing-otter" in names
    out = tmp_path / "otter.json"
    assert printed(capsys, "demo", "rowing-otter", "-o", out) == ""
    assert out.read_bytes() == demos.data("rowing-otter")
    assert printed(capsys, "demo", "rowing-otter").encode() == out.read_bytes()
    assert 'perhaps "rowing-otter" is meant' in said(capsys, "demo", "rowing-oter")


def test_schema_prints_the_schema(capsys: Capture) -> None:
    schema = json.loads(printed(capsys, "schema"))
    jsonschema.validate(json.loads(FOUR_BAR.read_text()), schema)


def test_sheets_writes_a_pdf(capsys: Capture, tmp_path: Path, qapp: object) -> None:
    out = tmp_path / "a.pdf"
    printed(capsys, "sheets", FOUR_BAR, "-o", out, "--paper", "a3", "--at", "30",
            "--scale", "1:2", "--no-templates")
    assert out.read_bytes().startswith(b"%PDF-")


@pytest.mark.parametrize(("argv", "words"), [
    (["turn"], "FILE"),
    (["turn", "none.json"], "there is no such file"),
    (["turn", FOUR_BAR, "--steps", "7"], "from 8 to 100000"),
    (["turn", FOUR_BAR, "--steps", "9" * 30], "from 8 to 100000"),
    (["turn", FOUR_BAR, "--steps", "many"], "from 8 to 100000"),
    (["turn", FOUR_BAR, "--stepps", "8"], "unrecognized arguments"),
    (["turn", FOUR_BAR, "--csv", "no/such/folder/a.csv"], "folder does not exist"),
    (["check", ROOT], "this is a folder"),
    (["sheets", FOUR_BAR], "-o"),
    (["sheets", FOUR_BAR, "-o", "a.pdf", "--scale", "0"], "write it like 1:2"),
    (["sheets", FOUR_BAR, "-o", "a.pdf", "--scale", "1:0"], "write it like 1:2"),
    (["sheets", FOUR_BAR, "-o", "a.pdf", "--at", "here"], "is not an angle"),
    (["sheets", FOUR_BAR, "-o", "a.pdf", "--paper", "A99"], "A99"),
    (["sheets", FOUR_BAR, "-o", "no/such/folder/a.pdf"], "folder does not exist"),
    (["a.json", "b.json"], "unrecognized arguments"),
    (["none.json"], "there is no such file"),
])
def test_bad_input_is_one_sentence(capsys: Capture, argv: list[object], words: str,
                                   qapp: object) -> None:
    assert words in said(capsys, *argv)


def test_help_names_every_command(capsys: Capture) -> None:
    with pytest.raises(SystemExit) as left:
        main(["--help"])
    assert left.value.code == 0
    out = capsys.readouterr().out
    assert all(f"crankwright {name}" in out for name in COMMANDS)


def test_what_nobody_foresaw_is_one_sentence_too(
        capsys: Capture, monkeypatch: pytest.MonkeyPatch) -> None:
    def fall(_: object) -> int:
        raise RuntimeError("two\nlines")

    monkeypatch.setitem(COMMANDS, "schema", (*COMMANDS["schema"][:2], fall))
    assert "RuntimeError: two lines" in said(capsys, "schema")
    monkeypatch.setenv("CRANKWRIGHT_TRACEBACK", "1")
    with pytest.raises(RuntimeError):
        main(["schema"])


def run(*argv: str, **options: Any) -> subprocess.CompletedProcess[bytes]:
    return subprocess.run([sys.executable, "-m", "app", *argv], cwd=ROOT, capture_output=True,
                          **options)


def test_commands_without_a_window_do_not_load_qt() -> None:
    code = ("import sys\nfrom app.cli import main\n"
            f"assert main(['check', {str(FOUR_BAR)!r}]) in (0, 1)\n"
            "assert not any(name.startswith('PySide6') for name in sys.modules)")
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True)
    assert done.returncode == 0, done.stderr


def test_a_reader_that_has_enough_is_no_trouble() -> None:
    with subprocess.Popen([sys.executable, "-m", "app", "turn", str(FOUR_BAR), "--csv", "-"],
                          cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as process:
        assert process.stdout is not None
        assert process.stderr is not None
        process.stdout.readline()
        process.stdout.close()
        assert process.stderr.read() == b""


def test_output_is_utf_8_whatever_the_locale(tmp_path: Path) -> None:
    path = changed(tmp_path, title="Крыло ½")
    plain = {**os.environ, "LC_ALL": "C", "PYTHONIOENCODING": "ascii"}
    done = run("turn", str(path), env=plain)
    assert done.returncode == 0
    assert done.stdout.decode().startswith("Крыло ½\n")
    bad = tmp_path / "\udcff.json"
    done = run("check", os.fsdecode(bad))
    assert done.returncode == 2
    assert done.stderr.count(b"\n") == 1
