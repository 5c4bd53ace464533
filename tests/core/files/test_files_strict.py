"""A sound sketch file opens as it was; an unsound one is refused in one sentence that names
the file, the place and the mend."""

from __future__ import annotations

import json
import os
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import msgspec
import pytest
from files_samples import EVERYTHING, FORMATS, FOUR_BAR, sample

from core.errors import CrankwrightError, FileError, SketchError
from core.files import dumps, load, loads
from core.files.migrations import migrate
from core.files.raw import LARGEST_BYTES
from core.model import Bar, Part, Point, Sketch
from core.model.snap import snap
from core.model.validate import problems

Raw = dict[str, Any]


def refusal(data: bytes, where: str = "a.json") -> str:
    """The sentence with which a file is refused."""
    with pytest.raises(CrankwrightError) as caught:
        loads(data, where)
    said = str(caught.value)
    assert said.startswith(f"{where}: ")
    assert said.endswith(".")
    assert "\n" not in said
    assert len(said) < 400
    return said


def test_a_file_typed_by_hand_opens() -> None:
    sketch = loads(sample())
    assert [part.id for part in sketch.parts] == ["frame", "crank", "coupler", "rocker"]
    assert sketch.point("coupler.P").trace
    assert sketch.part("crank").thickness_mm == 6.0


def test_a_byte_order_mark_and_windows_line_ends_do_no_harm() -> None:
    assert loads(b"\xef\xbb\xbf" + sample()) == loads(sample())
    windows = json.dumps(FOUR_BAR, indent=2).replace("\n", "\r\n")
    assert loads(windows.encode()) == loads(sample())


@pytest.mark.parametrize("path", sorted(FORMATS.rglob("*.json")), ids=lambda p: p.stem)
def test_every_kept_file_of_every_version_opens_and_saves_to_equal_bytes(path: Path) -> None:
    sketch = load(path, strict=False)
    once = dumps(sketch)
    assert loads(once, strict=False) == sketch
    assert dumps(loads(once, strict=False)) == once
    if path.parent.name == "v1":
        assert once == path.read_bytes()


def set_at(*steps: str | int, value: Any) -> Callable[[Raw], None]:
    """A change that puts a value at a place."""
    def change(raw: Raw) -> None:
        inner: Any = raw
        for step in steps[:-1]:
            inner = inner[step]
        inner[steps[-1]] = value
    return change


def cut_at(*steps: str | int) -> Callable[[Raw], None]:
    """A change that takes away what is at a place."""
    def change(raw: Raw) -> None:
        inner: Any = raw
        for step in steps[:-1]:
            inner = inner[step]
        del inner[steps[-1]]
    return change


#: Change to the file, place in the message, words in the message.
REFUSED: list[tuple[str, Callable[[Raw], None], str, str]] = [
    ("no format", cut_at("format"), "", '"format" is missing'),
    ("another format", set_at("format", value="svg"), "", 'its format is "svg"'),
    ("no version", cut_at("version"), "", '"version" is missing'),
    ("newer version", set_at("version", value=7), "", "open it with a newer Crankwright"),
    ("version zero", set_at("version", value=0), "", "not a whole number from 1"),
    ("version as text", set_at("version", value="1"), "", "not a whole number from 1"),
    ("version true", set_at("version", value=True), "", "not a whole number from 1"),
    ("unknown key", set_at("part", value=[]), "part", 'write "parts"'),
    ("unknown key inside", set_at("pins", 0, "diameter", value=6), "pins[0].diameter",
     'write "diameter_mm"'),
    ("unknown key in an outline", set_at("parts", 1, "outline", value={
        "kind": "bar", "width": 9}), "parts[1].outline.width", 'write "width_mm"'),
    ("unknown key like nothing", set_at("parts", 1, "zzz", value=1), "parts[1].zzz",
     "known are"),
    ("missing id", cut_at("parts", 1, "id"), "parts[1]", '"id" is missing'),
    ("missing x", cut_at("parts", 2, "points", 1, "x"), "parts[2].points[1]", '"x" is missing'),
    ("missing part of the drive", cut_at("drive", "part"), "drive", '"part" is missing'),
    ("text for a number", set_at("parts", 0, "points", 0, "x", value="3"),
     "parts[0].points[0].x", "must be a number"),
    ("true for a number", set_at("gap_mm", value=True), "gap_mm", "must be a number"),
    ("number for a text", set_at("parts", 0, "id", value=3), "parts[0].id", "a text in quotes"),
    ("object for a list", set_at("parts", value={}), "parts", "a list in [ ]"),
    ("null part", set_at("parts", 0, value=None), "parts[0]", "an object in { }"),
    ("list for the drive", set_at("drive", value=[]), "drive", "an object in { } or null"),
    ("fraction for a layer", set_at("parts", 0, "layer", value=1.5), "parts[0].layer",
     "a whole number"),
    ("unknown units", set_at("units", value="ft"), "units", 'use one of "mm", "in"'),
    ("unknown outline", set_at("parts", 1, "outline", value={"kind": "blob"}),
     "parts[1].outline.kind", 'use one of "bar", "plate", "disc", "polygon"'),
    ("outline without kind", set_at("parts", 1, "outline", value={"radius_mm": 3}),
     "parts[1].outline", '"kind" is missing'),
    ("short range", set_at("friction", value=[0.1]), "friction", "must have 2 entries"),
    ("unknown material", set_at("parts", 3, "material", value="birch-ply"),
     "parts[3].material", 'perhaps "birch-plywood" is meant'),
    ("unknown part", set_at("pins", 1, "at", 0, value="crnk.B"), "pins[1].at[0]",
     'no part called "crnk"; perhaps "crank"'),
    ("unknown point", set_at("pins", 1, "at", 0, value="crank.Z"), "pins[1].at[0]",
     'no point of "crank" called "Z"'),
    ("reference without a point", set_at("pins", 1, "at", 0, value="crank"), "pins[1].at[0]",
     'write it as "part.point"'),
    ("drive on no pin", set_at("drive", "pin", value="O9"), "drive.pin", 'no pin called "O9"'),
    ("drive without a pin", set_at("drive", "pin", value=""), "drive.pin", "no pin called"),
    ("drive of no part", set_at("drive", "part", value="x"), "drive.part", "no part called"),
    ("unknown point in an outline", set_at("parts", 1, "outline", value={
        "kind": "bar", "through": ["A", "Q"]}), "parts[1].outline.through[1]",
     'no point of the part called "Q"'),
    ("unknown centre", set_at("parts", 1, "outline", value={
        "kind": "disc", "radius_mm": 4, "centre": "Q"}), "parts[1].outline.centre", '"Q"'),
    ("two parts of one name", set_at("parts", 2, "id", value="crank"), "parts[2].id",
     "is taken by parts[1]"),
    ("part and pin of one name", set_at("pins", 2, "id", value="crank"), "pins[2].id",
     "is taken by parts[1]"),
    ("two points of one name", set_at("parts", 2, "points", 1, "id", value="B"),
     "parts[2].points[1].id", "is taken by parts[2].points[0]"),
    ("full stop in a name", set_at("parts", 1, "id", value="a.b"), "parts[1].id", "full stop"),
    ("empty name", set_at("parts", 1, "id", value=""), "parts[1].id", "empty"),
    ("blank name", set_at("parts", 1, "id", value="  "), "parts[1].id", "empty"),
    ("bell in a name", set_at("parts", 1, "id", value="a\x07b"), "parts[1].id", "control"),
    ("line end in a name", set_at("parts", 1, "id", value="a\nb"), "parts[1].id", "control"),
    ("long name", set_at("parts", 1, "id", value="n" * 65), "parts[1].id", "longer than 64"),
    ("space around a name", set_at("parts", 1, "id", value=" crank"), "parts[1].id", "space"),
    ("half a character", set_at("title", value="\ud800"), "title", "half a character"),
    ("absurd place", set_at("parts", 0, "points", 0, "x", value=1e8),
     "parts[0].points[0].x", "too large"),
    ("absurd whole number", set_at("parts", 0, "points", 0, "x", value=10**400),
     "parts[0].points[0].x", "not finite"),
    ("absurd layer", set_at("parts", 0, "layer", value=10**30), "parts[0].layer",
     "a whole number"),
    ("no thickness", set_at("parts", 1, "thickness_mm", value=0), "parts[1].thickness_mm",
     "above 0"),
    ("negative thickness", set_at("parts", 1, "thickness_mm", value=-6),
     "parts[1].thickness_mm", "above 0"),
    ("negative mass", set_at("parts", 1, "mass", value={"mass_kg": -1, "x": 0, "y": 0}),
     "parts[1].mass.mass_kg", "not be below 0"),
    ("negative inertia", set_at("parts", 1, "mass", value={
        "mass_kg": 1, "x": 0, "y": 0, "inertia_kgmm2": -2}), "parts[1].mass.inertia_kgmm2",
     "not be below 0"),
    ("negative diameter", set_at("pins", 0, "diameter_mm", value=-1), "pins[0].diameter_mm",
     "above 0"),
    ("no width", set_at("parts", 1, "outline", value={"kind": "bar", "width_mm": 0}),
     "parts[1].outline.width_mm", "above 0"),
    ("friction backwards", set_at("friction", value=[0.6, 0.2]), "friction", "backwards"),
    ("negative friction", set_at("friction", value=[-0.1, 0.2]), "friction[0]", "below 0"),
    ("no turns", set_at("turns", value=0), "turns", "below 1"),
    ("points of a pin apart", set_at("parts", 1, "points", 1, "x", value=5), "pins[1].at",
     "5 mm apart; give them one place"),
    ("pin of one part", set_at("pins", 3, "at", value=["frame.D"]), "pins[3].at",
     "fewer than two parts"),
    ("part twice on a pin", set_at("pins", 0, "at", value=["frame.A", "frame.D"]), "pins[0].at",
     "twice"),
    ("link without length", lambda raw: raw["parts"].append(
        {"id": "stub", "points": [{"id": "A", "x": 1, "y": 1}, {"id": "B", "x": 1, "y": 1}]}),
     "parts[4].points", "a link of no length"),
    ("part without shape", lambda raw: raw["parts"].append({"id": "stub"}), "parts[4]",
     "neither points nor an outline"),
    ("crank that is fixed", set_at("drive", "part", value="frame"), "drive.part", "is fixed"),
    ("crank off its pin", set_at("drive", "part", value="rocker"), "drive.part",
     'not on the pin "O1"'),
    ("crank on no frame", set_at("drive", "pin", value="P1"), "drive.pin", "no fixed part"),
    ("rocking backwards", set_at("drive", value={
        "pin": "O1", "part": "crank", "kind": "rock", "from_deg": 40, "to_deg": 10}),
     "drive.to_deg", "rocks from 40° to 10°"),
    ("crossing outline", set_at("parts", 1, "outline", value={
        "kind": "polygon", "outer": [[0, 0], [9, 9], [9, 0], [0, 9]]}), "parts[1].outline",
     "crosses or touches itself"),
    ("outline of two corners", set_at("parts", 1, "outline", value={
        "kind": "polygon", "outer": [[0, 0], [9, 9]]}), "parts[1].outline.outer",
     "at least three corners"),
]


@pytest.mark.parametrize(("change", "place", "words"), [row[1:] for row in REFUSED],
                         ids=[row[0] for row in REFUSED])
def test_an_unsound_file_is_refused_with_place_and_mend(
        change: Callable[[Raw], None], place: str, words: str) -> None:
    said = refusal(sample(change))
    assert words in said
    assert said.startswith(f"a.json: {place}: " if place else "a.json: ")
    assert re.search(r"; .+\.$", said), "there is no mend"


REFUSED_RICH: list[tuple[str, Callable[[Raw], None], str, str]] = [
    ("sliding point off its line", set_at("parts", 7, "points", 0, "y", value=121),
     "slides[0].point", "1 mm off the line"),
    ("slide on two parts", set_at("slides", 0, "along", 1, value="crank.B"),
     "slides[0].along", "on two parts"),
    ("slide on itself", set_at("slides", 0, "point", value="frame.E"), "slides[0].point",
     "to itself"),
    ("slide of no length", set_at("slides", 0, "along", 1, value="frame.L"),
     "slides[0].along", "no length"),
    ("slot point off its line", set_at("parts", 8, "points", 1, "x", value=180),
     "slots[0].point", "off the line"),
    ("lock of one part that is on no shaft of its own",
     set_at("locks", 0, "parts", value=["rocker"]), "locks[0].parts", "fewer than two"),
    ("lock on no pin", set_at("locks", 0, "pin", value="zz"), "locks[0].pin", "no pin called"),
    ("gear without teeth", set_at("meshes", 0, "teeth_a", value=0), "meshes[0].teeth_a",
     "below 1"),
    ("gears of one part", set_at("meshes", 0, "b", value="crank.B"), "meshes[0]", "to itself"),
    ("gear that nothing carries", set_at("meshes", 0, "b", value="coupler.P"), "meshes[0]",
     "not pinned to one part"),
    ("ring as small as its gear", set_at("meshes", 1, "teeth_a", value=20), "meshes[1]",
     "same number of teeth"),
    ("pressure angle", set_at("meshes", 0, "pressure_angle_deg", value=60),
     "meshes[0].pressure_angle_deg", "too large"),
    ("pulley without size", set_at("belts", 0, "diameter_a_mm", value=0),
     "belts[0].diameter_a_mm", "above 0"),
    ("spring on one part", set_at("springs", 0, "b", value="frame.E"), "springs[0]",
     "to itself"),
    ("spring that is soft below nothing", set_at("springs", 0, "rate_n_per_mm", value=-1),
     "springs[0].rate_n_per_mm", "below 0"),
    ("torsion spring off its pin", set_at("torsion_springs", 0, "b", value="crank"),
     "torsion_springs[0]", 'not between two parts on the pin "O2"'),
    ("force on nothing", set_at("forces", 0, "at", value="coupler.Q"), "forces[0].at",
     'no point of "coupler"'),
    ("torque on nothing", set_at("torques", 0, "part", value="q"), "torques[0].part",
     "no part"),
    ("twin of nothing", set_at("twins", 0, "parts", 0, 1, value="q"), "twins[0].parts[0][1]",
     "no part"),
    ("twin joint of nothing", set_at("twins", 0, "others", 0, 0, value="q"),
     "twins[0].others[0][0]", "no joint or load"),
    ("blind underlay", set_at("underlay", "opacity", value=2), "underlay.opacity", "too large"),
    ("point on two pins", set_at("pins", 1, "at", 0, value="crank.A"), "pins[1].at", "apart"),
]


@pytest.mark.parametrize(("change", "place", "words"), [row[1:] for row in REFUSED_RICH],
                         ids=[row[0] for row in REFUSED_RICH])
def test_every_kind_of_thing_is_checked(
        change: Callable[[Raw], None], place: str, words: str) -> None:
    said = refusal(sample(change, of=EVERYTHING))
    assert words in said
    assert said.startswith(f"a.json: {place}: ")


@pytest.mark.parametrize(("data", "words"), [
    (b"", "the file is empty"),
    (b" \r\n\t ", "the file is empty"),
    (b"\0" * 500, "the file is empty"),
    (b"\xef\xbb\xbf", "the file is empty"),
    (b"not json", "line 1, column 1: this is not JSON"),
    (b'{"format": "crankwright",\n "version": 1,}', "line 2, column "),
    (b"[]", "a sketch is a JSON object"),
    (b"3", "a sketch is a JSON object"),
    (b"\xff\xfe{\0", "not UTF-8"),
    (b"\x89PNG\r\n\x1a\n", "not UTF-8"),
    (b"[" * 10_000 + b"]" * 10_000, "nested more than"),
    (b'{"a":' * 10_000 + b"1" + b"}" * 10_000, "nested more than"),
    (b"[" * 10_000, "nested more than"),
    (b'{"format": NaN}', "not finite"),
    (b'{"format": -Infinity}', "not finite"),
    (b'{"format": 1e999}', "not finite"),
    (b'{"format": ' + b"9" * 5000 + b"}", "not finite"),
    (b'{"format": "crankwright", "format": "crankwright", "version": 1}', "given twice"),
    (b'{"\\ud800": 1}', "half a character"),
])
def test_what_is_no_json_of_ours_is_refused(data: bytes, words: str) -> None:
    assert words in refusal(data)


def test_brackets_inside_texts_do_not_count_as_depth() -> None:
    assert loads(sample(set_at("note", value="[" * 500 + '"\\{'))).note.startswith("[[")


def test_a_file_of_100_mb_is_refused_without_being_read(tmp_path: Path) -> None:
    path = tmp_path / "large.json"
    with path.open("wb") as file:
        file.truncate(100_000_000)
    with pytest.raises(FileError, match="larger than 8 MB"):
        load(path)
    assert LARGEST_BYTES < 100_000_000


def test_what_cannot_be_read_is_said(tmp_path: Path) -> None:
    with pytest.raises(FileError, match="there is no such file"):
        load(tmp_path / "none.json")
    with pytest.raises(FileError, match="this is a folder"):
        load(tmp_path)
    with pytest.raises(FileError, match="the name is not usable"):
        load("a\0b")
    with pytest.raises(FileError, match="cannot be read"):
        load(tmp_path / ("n" * 5000))
    secret = tmp_path / "secret.json"
    secret.write_bytes(sample())
    secret.chmod(0)
    if not os.access(secret, os.R_OK):
        with pytest.raises(FileError, match="not allowed to read"):
            load(secret)


def test_what_the_window_can_mend_opens_when_not_strict() -> None:
    data = sample(set_at("parts", 1, "points", 1, "x", value=5))
    with pytest.raises(SketchError):
        loads(data)
    sketch = loads(data, strict=False)
    (problem,) = problems(sketch)
    assert (problem.place, problem.fatal, problem.snap) == ("pins[1].at", False, True)
    mended = snap(sketch)
    assert problems(mended) == []
    assert mended.point("coupler.B").x == mended.point("crank.B").x == 5


def test_snapping_keeps_the_frame_and_what_is_locked() -> None:
    sketch = loads(sample(set_at("parts", 1, "points", 0, "x", value=3)), strict=False)
    assert snap(sketch).point("crank.A").x == 0
    off = loads(sample(set_at("parts", 2, "points", 0, "locked", value=True)))
    moved = msgspec.structs.replace(off, parts=tuple(
        msgspec.structs.replace(part, points=(part.points[0], msgspec.structs.replace(
            part.points[1], y=33.0))) if part.id == "crank" else part for part in off.parts))
    assert snap(moved).point("crank.B").y == 30


def test_snapping_puts_sliding_points_on_their_line() -> None:
    data = sample(set_at("parts", 7, "points", 0, "y", value=121), of=EVERYTHING)
    sketch = loads(data, strict=False)
    assert [p.snap for p in problems(sketch)] == [True]
    assert snap(sketch).point("sled.S").y == pytest.approx(120, abs=1e-12)
    assert problems(snap(sketch)) == []


def test_snapping_a_sound_sketch_changes_nothing() -> None:
    sketch = loads(sample(of=EVERYTHING))
    assert snap(sketch) == sketch
    assert all(a is b for a, b in zip(snap(sketch).parts, sketch.parts, strict=True))


def test_an_older_version_is_brought_up_step_by_step() -> None:
    def to_2(raw: Raw) -> Raw:
        return {**raw, "title": raw.pop("name")}

    def to_3(raw: Raw) -> Raw:
        return {**raw, "title": raw["title"].upper()}

    old = {"format": "crankwright", "version": 1, "name": "otter"}
    new = migrate(old, newest=3, steps={1: to_2, 2: to_3})
    assert new["version"] == 3
    assert new["title"] == "OTTER"
    assert old == {"format": "crankwright", "version": 1, "name": "otter"}
    with pytest.raises(FileError, match=r"of version 4 and this Crankwright reads up to 3"):
        migrate({**old, "version": 4}, newest=3, steps={})


def test_what_a_message_quotes_from_a_file_is_short_and_printable() -> None:
    said = refusal(sample(set_at("parts", 1, "material", value="\x1b[31m" + "x" * 5000)))
    assert "\x1b" not in said
    assert len(said) < 300


def test_a_sketch_with_no_number_for_a_place_is_not_written() -> None:
    part = Part(id="a", points=(Point(id="A", x=float("nan"), y=0.0),))
    with pytest.raises(SketchError, match=r"parts\[0\]\.points\[0\]\.x"):
        dumps(Sketch(parts=(part,)))


def test_defaults_are_left_out_whatever_they_were_computed_from() -> None:
    part = Part(id="a", points=(Point(id="A", x=0.0, y=-0.0),), thickness_mm=float("6.0"),
                material="birch-" + "plywood", outline=Bar(width_mm=float("16")))
    data = dumps(Sketch(parts=(part,), gap_mm=float("1")))
    assert b"thickness" not in data
    assert b"material" not in data
    assert b"width" not in data
    assert b"gap" not in data
    assert dumps(loads(data)) == data
