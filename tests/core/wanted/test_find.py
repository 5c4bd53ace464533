"""Find: hidden mechanisms come back, proposals keep what they promise, rules are minded."""

from __future__ import annotations

import dataclasses
from functools import lru_cache

import numpy as np
import pytest
from msgspec.structs import replace
from recognised import read

from core.errors import SketchError
from core.files import dumps
from core.model import Drive, FitRules, Sketch, WantedPath, WantedPose, Zone
from core.model.validate import problems
from core.model.wanted import (
    Knot,
    WantedAngle,
    WantedDwell,
    WantedMotion,
    WantedRatio,
    WantedStroke,
    WantedSwing,
)
from core.motion import solve_turn
from core.wanted.engine import Mechanisms, joined, moved, run
from core.wanted.families import FAMILIES
from core.wanted.find import Found, Proposal, find
from core.wanted.find.building import Candidate, proposal
from core.wanted.find.posed import posed_four_bars
from core.wanted.find.problem import problem_of
from core.wanted.find.pursuit import ALIKE, Crowd, joints_of
from core.wanted.find.search import _Search
from core.wanted.measure import measure, overall

TURN = 2 * np.pi


def hidden(name: str, seed: int, count: int = 20) -> WantedPath:
    """The path, 60 to 120 mm large, of a random mechanism that is in no atlas."""
    family = FAMILIES[name]
    own = family.sample(np.random.default_rng([seed, 77]), 1)
    crank = np.linspace(0, TURN * family.recipe.turns, 240, endpoint=False)
    path = run(family.recipe, own, crank, derive=False).point(family.tracer)[0]
    size = max(np.ptp(path.real), np.ptp(path.imag))
    own = moved(family.recipe, own, 90 / size * np.exp(1j), 20 + 10j)
    crank = np.linspace(0, TURN * family.recipe.turns, count, endpoint=False)
    path = run(family.recipe, own, crank, derive=False).point(family.tracer)[0]
    return WantedPath(id="hand", through=tuple((float(z.real), float(z.imag)) for z in path))


@lru_cache(maxsize=1)
def four_bars() -> Found:
    """What is found for a hidden four-bar among four-bars and geared five-bars."""
    return find(Sketch(wanted=(hidden("four-bar", 1),)), top=4,
                families=["four-bar", "geared-five-bar-1"])


def kept(one: Proposal) -> None:
    """A proposal is a sound sketch that turns all round and is as good as it says."""
    assert not [problem for problem in problems(one.sketch) if problem.fatal]
    turn = solve_turn(one.sketch)
    assert turn.reached.all()
    assert not turn.limits
    assert turn.repeats
    mets = measure(turn)
    assert len(mets) == len(one.sketch.wanted) > 0  # all are attached
    assert overall(mets, one.sketch) == pytest.approx(one.error, rel=1e-3, abs=1e-6)
    assert max(met.worst / met.tolerance for met in mets) == pytest.approx(
        one.worst, rel=1e-2, abs=1e-5)


def test_a_hidden_four_bar_comes_back() -> None:
    best = four_bars().proposals[0]
    assert best.error < 0.3
    assert best.good


def test_every_proposal_keeps_what_it_promises() -> None:
    for one in four_bars().proposals:
        kept(one)
        assert one.size_mm > 60
        assert one.peak_torque_nmm >= 0
        assert 0 < one.transmission_deg <= 90


def test_of_mechanisms_much_alike_one_is_offered_wherever_they_lie() -> None:
    """Three metres from the origin a hundredth of the size is still a hundredth."""
    family = FAMILIES["four-bar"]
    one = family.sample(np.random.default_rng(3), 1)
    joints, size = joints_of(family, joined([
        moved(family.recipe, one, turn, 3000.0) for turn in (30.0, 30.3, 36.0)]))
    crowd = Crowd(ALIKE)
    assert [crowd.takes(*each) for each in zip(joints, size, strict=True)] == [
        True, False, True]


def test_a_cognate_found_twice_is_offered_once() -> None:
    """By itself and as the kin of another: the loop is one a search comes to both ways."""
    loop = ((0, 0), (40, -12), (80, 0), (70, 24), (40, 32), (10, 24))
    wish = WantedPath(id="loop", through=loop, either_way=True, tolerance_mm=0.8)
    family, crowd = FAMILIES["four-bar"], Crowd(ALIKE)
    found = find(Sketch(wanted=(wish,)), families=["four-bar"], top=6)
    assert len(found.proposals) > 3
    assert len({one.kin for one in found.proposals}) < len(found.proposals)
    for one in found.proposals:
        seen = read(family, one.sketch, "coupler.tip")
        assert seen is not None
        joints, size = joints_of(family, seen.mechanism)
        assert crowd.takes(joints[0], float(size[0]))


def test_proposals_are_ranked_and_some_are_pareto_best() -> None:
    found = four_bars().proposals
    leaders = [one for k, one in enumerate(found) if one.kin not in [o.kin for o in found[:k]]]
    assert [one.kin for one in leaders] == sorted({one.kin for one in found})
    sound = [float(f"{one.error:.3g}") for one in leaders
             if one.transmission_deg >= 20 and one.size_mm < 900]
    assert sound == sorted(sound)
    assert any(one.pareto for one in found)


def test_cognates_are_offered_as_kin_with_the_same_path() -> None:
    found = four_bars().proposals
    kin = [one for one in found if one.kin == found[0].kin]
    assert {one.family for one in kin} == {"four-bar", "geared-five-bar-1"}
    paths = [np.asarray(solve_turn(one.sketch, steps=180).path(
        one.sketch.wanted[0].point)) @ [1, 1j] for one in kin]
    for other in paths[1:]:
        assert np.abs(paths[0][:, None] - other).min(axis=1).max() < 2.0  # between steps


def test_the_same_seed_finds_the_same_to_the_byte() -> None:
    sketch = Sketch(wanted=(WantedPose(id="a", crank_deg=0, x=0, y=0, angle_deg=10),
                            WantedPose(id="b", crank_deg=80, x=30, y=10, angle_deg=25)))
    one, two = (find(sketch, seed=3, top=3, families=["slider-crank"]) for _ in range(2))
    assert one.proposals
    assert [dumps(each.sketch) for each in one.proposals] == [
        dumps(each.sketch) for each in two.proposals]


def test_a_stop_gives_what_is_found_by_then() -> None:
    told: list[Found] = []

    def report(found: Found) -> bool:
        told.append(found)
        return not found.proposals

    found = find(Sketch(wanted=(hidden("four-bar", 1),)), families=["four-bar"], report=report)
    assert found.proposals == told[-1].proposals
    assert found.stage == "Stopped"
    assert found.done == 1.0
    kept(found.proposals[0])


def test_progress_only_goes_forward_and_ends() -> None:
    told: list[float] = []
    find(Sketch(wanted=(WantedStroke(id="s", start=(0, 0), end=(60, 0)),)), top=2,
         families=["slider-crank"], report=lambda found: told.append(found.done) is None)
    assert told == sorted(told)
    assert told[-1] == 1.0


def test_an_open_path_is_matched_by_a_piece_of_one() -> None:
    line = WantedPath(id="w", through=((0, 0), (20, 0), (40, 0), (60, 0)), closed=False)
    found = find(Sketch(wanted=(line,)), top=3, families=["four-bar"])
    kept(found.proposals[0])
    assert found.proposals[0].good


def test_three_poses_are_met_exactly() -> None:
    poses = tuple(WantedPose(id=f"p{k}", crank_deg=crank, x=x, y=y, angle_deg=angle)
                  for k, (crank, x, y, angle) in enumerate(
                      [(0, 0, 0, 10), (60, 40, 20, 30), (130, 70, 10, 60)]))
    seeds = posed_four_bars(problem_of(Sketch(wanted=poses)), np.random.default_rng(1), 40)
    assert len(seeds) > 3
    start, ahead = np.linspace(0, TURN, 7201), np.radians([0, 60, 130])
    tip = run(FAMILIES["four-bar"].recipe, seeds, (start[:, None] + ahead).ravel(),
              derive=False).point("tip").reshape(len(seeds), -1, 3)
    off = np.abs(tip - np.array([0, 40 + 20j, 70 + 10j])).max(axis=2).min(axis=1)
    assert off.max() < 0.2  # between two starts of a twentieth of a degree
    found = find(Sketch(wanted=poses), top=3, families=["four-bar"])
    kept(found.proposals[0])
    assert found.proposals[0].error < 1e-6


def test_two_wished_angles_give_hinged_panels() -> None:
    def knots(*angles: float) -> tuple[Knot, ...]:
        return tuple(Knot(crank_deg=90.0 * k, angle_deg=angle)
                     for k, angle in enumerate(angles))

    wishes = (WantedAngle(id="root", knots=knots(-20, 10, 25, 0)),
              WantedAngle(id="tip", knots=knots(-25, -5, 35, 15)))
    found = find(Sketch(wanted=wishes), top=3, families=["panel-chain-crank"])
    best = found.proposals[0]
    kept(best)
    assert best.error < 1.5
    assert {wish.part for wish in best.sketch.wanted} == {"root panel", "tip panel"}
    assert 100 < best.size_mm < 1000  # of angles alone any size would do


def test_wishes_named_like_parts_of_a_mechanism_keep_their_names() -> None:
    wish = replace(hidden("four-bar", 1), id="coupler")
    found = find(Sketch(wanted=(wish,)), families=["four-bar"], top=2)
    assert found.proposals
    for one in found.proposals:
        assert one.sketch.wanted[0].id == "coupler"
        assert not problems(one.sketch)


def test_lengths_and_regions_are_minded() -> None:
    wish = hidden("four-bar", 1)
    square = Zone(id="z", corners=((-60, -80), (100, -80), (100, 0), (-60, 0)))
    sketch = Sketch(wanted=(wish,), zones=(square,), fit=FitRules(longest_mm=110.0))
    found = find(sketch, top=3, families=["four-bar"])
    assert found.proposals
    for one in found.proposals:
        for part in one.sketch.parts:
            at = [point.place for point in part.points if point.id != "tip"]
            assert max(abs(a - b) for a in at for b in at) < 111.0
            if part.fixed:
                assert all(-61 < z.real < 101 and -81 < z.imag < 1 for z in at)


def test_a_crank_turned_clockwise_is_minded() -> None:
    drive = Drive(pin="O", part="crank", rpm=-15)
    wish = hidden("four-bar", 2)
    found = find(Sketch(wanted=(wish,), drive=drive), top=1, families=["four-bar"])
    best = found.proposals[0]
    kept(best)
    assert best.sketch.drive is not None
    assert best.sketch.drive.rpm == -15
    path = np.asarray(solve_turn(best.sketch).path(best.sketch.wanted[0].point)) @ [1, 1j]
    wished = np.array([complex(*place) for place in wish.through])

    def area(loop: np.ndarray) -> float:
        return float((loop.conj() * np.roll(loop, -1)).imag.sum())

    # It runs along the wish when the crank runs backwards.
    assert area(path[::-1]) * area(wished) > 0


def test_wishes_of_parts_that_are_there_count_when_there_are_no_others() -> None:
    wish = replace(hidden("four-bar", 1), point="arm.P")
    assert problem_of(Sketch(wanted=(wish,))).wishes == (wish,)
    loose = replace(wish, id="other", point="")
    assert problem_of(Sketch(wanted=(wish, loose))).wishes == (loose,)


SWING = WantedSwing(id="swing", from_deg=0, to_deg=40)
REST = WantedDwell(id="rest", from_deg=10, to_deg=60)
STROKE = WantedStroke(id="stroke", start=(0, 0), end=(80, 0))
RATIO = WantedRatio(id="ratio", ratio=1.4)


@pytest.mark.parametrize("wishes", [
    (SWING, REST), (STROKE, RATIO),
    (replace(SWING, part="lever"), replace(RATIO, part="lever"))], ids=lambda wishes: "+".join(
        wish.id for wish in wishes))
def test_what_says_how_something_moves_is_wished_of_the_same_thing(
        wishes: tuple[WantedMotion, ...]) -> None:
    assert len(problem_of(Sketch(wanted=wishes)).goals().channels) == 1


def test_it_then_is_of_one_part_of_what_is_found() -> None:
    found = find(Sketch(wanted=(SWING, RATIO)), top=2, families=["four-bar"])
    assert found.proposals
    for one in found.proposals:
        kept(one)
        assert len({wish.part for wish in one.sketch.wanted}) == 1


def test_what_no_family_shows_is_said() -> None:
    two = (hidden("four-bar", 1), replace(hidden("four-bar", 2), id="foot"))
    found = find(Sketch(wanted=two))
    assert found.proposals == ()
    assert found.words == ("No family can show all that is wished at once.",)


def test_families_left_out_are_told() -> None:
    """A slider-crank has one body that swings, a four-bar two."""
    panels = tuple(WantedAngle(id=name, knots=(Knot(crank_deg=0, angle_deg=0),
                                               Knot(crank_deg=180, angle_deg=high)))
                   for name, high in (("root", 30), ("tip", 20)))
    found = find(Sketch(wanted=panels), families=["four-bar", "slider-crank"],
                 report=lambda _: False)
    assert found.words == ("1 of 2 families cannot show all that is wished at once and is "
                           "left out.",)


@pytest.mark.parametrize(("sketch", "words"), [
    (Sketch(), "nothing is wished"),
    (Sketch(wanted=(WantedPath(id="w", through=((1, 2),)),)), "says too little"),
    (Sketch(wanted=(WantedDwell(id="w", from_deg=0, to_deg=90),)), "says too little"),
    (Sketch(wanted=(replace(hidden("four-bar", 1), weight=0.0),)), "says too little"),
    (Sketch(wanted=(WantedPose(id="up", crank_deg=370, x=0, y=0, angle_deg=0),
                    WantedPose(id="down", crank_deg=10, x=50, y=0, angle_deg=0))),
     "'up' and 'down' are different poses wanted at the same crank angle, 10°"),
])
def test_too_little_to_go_by_is_said_in_a_sentence(sketch: Sketch, words: str) -> None:
    with pytest.raises(SketchError, match=words):
        find(sketch)


def test_an_unknown_family_is_named_with_those_there_are() -> None:
    with pytest.raises(SketchError, match=r"no family 'none'.*four-bar"):
        find(Sketch(wanted=(SWING,)), families=["none"])


def test_a_mechanism_with_a_link_without_length_is_not_offered() -> None:
    family = FAMILIES["four-bar"]
    own = family.sample(np.random.default_rng(3), 1)
    wish = hidden("four-bar", 1)
    problem = problem_of(Sketch(wanted=(wish,)))
    candidate = Candidate(family, (("point", family.tracer),), own, 1.0, 30.0, 0.0)
    assert proposal(problem, candidate) is not None
    names = [parameter.name for parameter in family.parameters]
    short = own.params.copy()
    short[0, names.index("crank")] = 1e-12
    still = dataclasses.replace(candidate, mechanism=Mechanisms(short, own.signs))
    assert proposal(problem, still) is None


def test_two_angles_are_tried_on_hinged_panels_to_the_end_whatever_else_is_nearer() -> None:
    knots = (Knot(crank_deg=0, angle_deg=0), Knot(crank_deg=180, angle_deg=9))
    wishes = (WantedAngle(id="root", knots=knots), WantedAngle(id="tip", knots=knots))
    families = [FAMILIES[name] for name in ("six-bar-rocker-crank-arm", "panel-chain-crank")]

    def tried(count: int) -> set[str]:
        problem = problem_of(Sketch(wanted=wishes[:count]))
        search = _Search(problem, families, 0, 24, None)
        return {one.family.id for one in search._promising(1, 1)}

    assert tried(1) == {"six-bar-rocker-crank-arm"}
    assert tried(2) == {"six-bar-rocker-crank-arm", "panel-chain-crank"}
