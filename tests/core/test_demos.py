"""The demos are mechanisms that really turn, and say what they are."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from msgspec.structs import replace

from core.effort.masses import mass_of
from core.files import dumps, load, loads
from core.study import Study, study

FOLDER = Path(__file__).parents[2] / "assets" / "demos"
SOUND = ("lighthouse", "night-moth", "pier-walker", "rowing-otter")
FAULTY = "stiff-otter"


@cache
def studied(name: str) -> Study:
    return study(load(FOLDER / f"{name}.json"))


def test_the_folder_holds_these_demos_and_no_others() -> None:
    assert {path.stem for path in FOLDER.glob("*.json")} == {*SOUND, FAULTY}


@pytest.mark.parametrize("name", [*SOUND, FAULTY])
def test_a_demo_is_saved_as_the_program_saves(name: str) -> None:
    data = (FOLDER / f"{name}.json").read_bytes()
    assert dumps(loads(data)) == data


@pytest.mark.parametrize("name", [*SOUND, FAULTY])
def test_a_demo_has_a_title_a_note_a_traced_point_and_weight(name: str) -> None:
    sketch = studied(name).sketch
    assert sketch.title
    assert len(sketch.note) > 40
    assert any(point.trace for part in sketch.parts for point in part.points)
    assert all(mass_of(part).kg > 0 for part in sketch.parts)


@pytest.mark.parametrize("name", SOUND)
def test_a_sound_demo_goes_all_round_without_a_finding(name: str) -> None:
    shown = studied(name)
    assert shown.turn is not None
    assert shown.turn.reached.all()
    assert shown.turn.limits == ()
    assert shown.turn.repeats
    assert shown.turn.residual_mm < 1e-7
    assert [finding.text for finding in shown.findings] == []


@pytest.mark.parametrize("name", SOUND)
def test_every_moving_part_of_a_sound_demo_moves(name: str) -> None:
    turn = studied(name).turn
    assert turn is not None
    for part in turn.sketch.parts:
        row = turn.row(part.id)
        travel = np.ptp(turn.angle_rad[:, row]) + np.ptp(np.abs(turn.shift[row]))
        assert (travel > 0.05) != part.fixed, part.id


@pytest.mark.parametrize("name", [*SOUND, FAULTY])
def test_both_ways_to_the_torque_of_a_demo_agree(name: str) -> None:
    """Newton–Euler over all parts, and virtual power."""
    effort = studied(name).effort
    assert effort is not None
    scale = np.nanmax(np.abs(effort.torque_nmm))
    assert scale > 1.0
    apart = np.abs(effort.torque_nmm - effort.virtual_power_nmm)
    assert np.nanmax(apart) <= 1e-9 * scale


@pytest.mark.parametrize("name", SOUND)
def test_a_sound_demo_is_turned_by_hand_without_strain(name: str) -> None:
    """A hand on a crank handle of 60 mm gives 10 N for long: common practice, no source."""
    effort = studied(name).effort
    assert effort is not None
    assert 0 < effort.peak_nmm < 600
    assert effort.runaway == ()


@pytest.mark.parametrize(("name", "wishes"), [("night-moth", ["forewing beat", "wingtip beat"]),
                                              ("pier-walker", ["level step"])])
def test_what_is_wanted_of_a_demo_is_met_as_it_stands(name: str, wishes: list[str]) -> None:
    shown = studied(name)
    assert [met.wish for met in shown.wanted] == wishes
    assert all(met.met for met in shown.wanted)


def test_the_moth_s_wings_mirror_each_other() -> None:
    turn = studied("night-moth").turn
    assert turn is not None
    left, right = (turn.path(f"{side} wingtip.tip") for side in ("left", "right"))
    np.testing.assert_allclose(left * [-1, 1], right, atol=1e-6)


def test_the_lamp_turns_once_for_two_turns_of_the_crank() -> None:
    turn = studied("lighthouse").turn
    assert turn is not None
    assert turn.crank_turns == 2
    beam = turn.angle_rad[:, turn.row("beam")]
    assert abs(np.ptp(beam) - 2 * np.pi * (1 - 1 / len(beam))) < 1e-9


def test_opposite_feet_of_the_walker_take_turns_on_the_ground() -> None:
    turn = studied("pier-walker").turn
    assert turn is not None
    feet = np.array([turn.path(f"{leg} leg.foot")[:, 1]
                     for leg in ("front left", "front right", "back left", "back right")])
    lowest = feet.min()
    # At every crank angle one foot at each end stands within 2 mm of the ground.
    assert (feet[[0, 2]].min(axis=0) < lowest + 2).all()
    assert (feet[[1, 3]].min(axis=0) < lowest + 2).all()


def test_the_faulty_demo_shows_each_kind_of_fault_its_note_names() -> None:
    shown = studied(FAULTY)
    codes = {finding.code for finding in shown.findings}
    assert {"overlap", "crank-locks", "poor-transmission"} <= codes


def test_the_mends_of_the_faulty_demo_leave_only_hard_cranking_and_running_away() -> None:
    shown = studied(FAULTY)
    for code in ("crank-locks", "overlap"):
        mend = next(finding for finding in shown.findings if finding.code == code).edits[0]
        shown = study(mend.apply(shown.sketch))
    assert {finding.code for finding in shown.findings} <= {"poor-transmission", "runs-away"}
    assert shown.effort is not None
    assert shown.effort.runaway


def test_a_run_away_in_the_second_turn_is_told_in_that_turn() -> None:
    sketch = studied("lighthouse").sketch
    heavy = tuple(replace(part, material="steel") if part.id == "keeper" else part
                  for part in sketch.parts)
    found = study(replace(sketch, parts=heavy, torques=())).findings
    text = next(finding.text for finding in found if finding.code == "runs-away")
    spans = [(float(a), float(b)) for a, b in re.findall(r"between (\d+)° and (\d+)°", text)]
    assert len(spans) == 2
    assert all(a < b for a, b in spans)
    assert spans[1][0] - spans[0][0] == pytest.approx(360.0, abs=1.0)
