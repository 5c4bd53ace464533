"""A damaged file gives back what is sound in it, and says what it does not."""

from __future__ import annotations

import copy
import json
import random
from typing import Any

import pytest
from files_samples import EVERYTHING, FOUR_BAR, sample

from core.errors import CrankwrightError, FileError
from core.files import dumps, loads, salvage
from core.model.validate import problems


def is_usable(data: bytes) -> bool:
    """Salvages; checks that the sketch opens in the window, and saves and opens again."""
    sketch, lost = salvage(data)
    assert not [p for p in problems(sketch) if p.fatal]
    assert loads(dumps(sketch), strict=False) == sketch
    assert all(line.endswith(".") and "\n" not in line for line in lost)
    return bool(lost)


@pytest.mark.parametrize("raw", [FOUR_BAR, EVERYTHING], ids=["four-bar", "everything"])
def test_from_a_sound_file_nothing_is_lost(raw: dict[str, Any]) -> None:
    sketch, lost = salvage(sample(of=raw))
    assert lost == []
    assert sketch == loads(sample(of=raw))


def test_only_what_is_unsound_is_dropped() -> None:
    def spoil(raw: dict[str, Any]) -> None:
        raw["parts"][1]["material"] = "birch"
        raw["parts"][2]["points"][2]["x"] = "q"
        raw["parts"][3]["thickness_mm"] = -2
        raw["pins"][1]["dia"] = 3
        raw["springs"] = [{"id": "s"}]
        raw["friction"] = [1]
        raw["forces"] = [{"id": "f", "at": "coupler.X", "fx_n": 1, "fy_n": 1}]
        raw["grid_mm"] = float("nan")
        raw["colour"] = "red"

    sketch, lost = salvage(sample(spoil))
    assert [p.id for p in sketch.parts] == ["frame", "crank", "coupler", "rocker"]
    assert [p.id for p in sketch.part("coupler").points] == ["B", "C"]
    assert sketch.part("crank").material == "birch-plywood"
    assert sketch.part("rocker").thickness_mm == 6
    assert len(sketch.pins) == 4
    assert sketch.springs == sketch.forces == ()
    assert sketch.friction == (0.2, 0.6)
    assert sketch.grid_mm == 5
    said = " ".join(lost)
    for place in ("parts[1].material", "parts[2].points[2].x", "parts[3].thickness_mm",
                  "pins[1]", "springs[0]", "friction", "forces[0].at", "grid_mm", '"colour"'):
        assert place in said


def test_a_taken_name_is_changed_and_references_keep_the_first_bearer() -> None:
    sketch, lost = salvage(sample(lambda raw: raw["parts"][2].update(id="crank")))
    assert sketch.parts[2].id == "crank 2"
    assert sketch.parts[2].point("P").trace
    assert any('it was called "crank 2"' in line for line in lost)


def test_a_pin_loses_only_the_part_that_is_gone() -> None:
    sketch, _ = salvage(sample(lambda raw: raw["pins"][0]["at"].append("ghost.A")))
    assert sketch.pins[0].at == ("frame.A", "crank.A")


def test_the_drive_goes_when_its_pin_is_gone() -> None:
    sketch, lost = salvage(sample(lambda raw: raw["drive"].update(pin="ghost")))
    assert sketch.drive is None
    assert any(line.startswith("drive.pin") for line in lost)


def test_what_the_window_can_mend_is_kept() -> None:
    data = sample(lambda raw: raw["parts"][1]["points"][1].update(x=5))
    sketch, lost = salvage(data)
    assert lost == []
    assert sketch == loads(data, strict=False)


def test_a_newer_file_is_read_as_far_as_it_is_understood() -> None:
    sketch, lost = salvage(sample(lambda raw: raw.update(version=9, cams=[])))
    assert len(sketch.parts) == 4
    assert len(lost) == 2


@pytest.mark.parametrize("raw", [FOUR_BAR, EVERYTHING], ids=["four-bar", "everything"])
def test_a_file_cut_short_anywhere_keeps_all_whole_parts_before_the_cut(
        raw: dict[str, Any]) -> None:
    whole = loads(sample(of=raw))
    data = dumps(whole)
    kept = 0
    for cut in range(80, len(data.rstrip()), 7):
        try:
            sketch, lost = salvage(data[:cut])
        except FileError:
            assert b'"parts"' not in data[:cut]
            continue
        assert lost
        assert len(sketch.parts) >= kept - 1  # the last may be half there
        kept = max(kept, len(sketch.parts))
        assert [p.id for p in sketch.parts] == [p.id for p in whole.parts[:len(sketch.parts)]]
    assert kept == len(whole.parts)


@pytest.mark.parametrize("damage", [b"\x00", b"\xff", b'"', b"}", b"{", b",", b"\\"])
def test_one_wrong_byte_costs_little(damage: bytes) -> None:
    data = sample(of=EVERYTHING)
    draw = random.Random(damage[0])
    counts = []
    for _ in range(40):
        at = draw.randrange(100, len(data))
        sketch, _ = salvage(data[:at] + damage + data[at + 1:])
        counts.append(len(sketch.parts) + len(sketch.pins))
    assert sorted(counts)[20] >= 15  # of 16 parts and pins, for half of the places


@pytest.mark.parametrize("data", [
    b"", b"hello", b"[]", b"[1, 2", b"3", b"\x89PNG\r\n", b"[" * 9999, b'{"a": 1}',
    b'{"format": "other", "version": 1}', b'{"parts": 3}',
])
def test_where_there_is_nothing_to_save_that_is_said(data: bytes) -> None:
    with pytest.raises(FileError) as caught:
        salvage(data, "a.json")
    assert "\n" not in str(caught.value)


def mutated(raw: Any, draw: random.Random) -> Any:
    """A copy with one thing, somewhere, replaced, removed or doubled."""
    raw = copy.deepcopy(raw)
    holders = []

    def collect(value: Any) -> None:
        if isinstance(value, (dict, list)) and value:
            holders.append(value)
            for inner in value.values() if isinstance(value, dict) else value:
                collect(inner)

    collect(raw)
    holder = draw.choice(holders)
    key = draw.choice(list(holder) if isinstance(holder, dict) else range(len(holder)))
    what = draw.randrange(4)
    if what == 0:
        del holder[key]
    elif what == 1 and isinstance(holder, list):
        holder.append(copy.deepcopy(holder[key]))
    else:
        holder[key] = draw.choice([None, True, -1, 0, 1e9, "x", "", [], {}, [[]], 1.5, "A.B",
                                   float("nan"), 10**30, {"id": "x"}, copy.deepcopy(raw)])
    return raw


def test_hundreds_of_broken_files_are_salvaged_or_said_to_be_hopeless() -> None:
    draw = random.Random(4)
    hopeless = 0
    for _ in range(600):
        raw: Any = EVERYTHING
        for _ in range(draw.randrange(1, 6)):
            raw = mutated(raw, draw)
        try:
            is_usable(json.dumps(raw).encode())
        except CrankwrightError:
            hopeless += 1
    assert hopeless < 120
