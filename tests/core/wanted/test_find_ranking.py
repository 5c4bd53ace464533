"""Order, kin and Pareto marks of proposals."""

from __future__ import annotations

import dataclasses

import numpy as np

from core.model import Sketch
from core.wanted.find import Proposal
from core.wanted.find.ranking import kinship, marked, ranked


def one(error: float = 0.5, transmission: float = 50.0, size: float = 200.0,
        torque: float = 10.0, name: str = "") -> Proposal:
    return Proposal(family="four-bar", name=name, sketch=Sketch(), error=error,
                    worst=2 * error, worst_mm=error, transmission_deg=transmission,
                    size_mm=size, peak_torque_nmm=torque)


def loop(radius: float, steps: int = 480, start: int = 0) -> np.ndarray:
    t = 2 * np.pi * (np.arange(steps) + start) / steps
    return radius * (np.exp(1j * t) + 0.3 * np.exp(-2j * t))


def names(proposals: tuple[Proposal, ...]) -> list[str]:
    return [each.name for each in proposals]


def test_pareto_marks_are_for_what_nothing_beats_in_everything() -> None:
    some = [one(0.5), one(0.6), one(0.6, transmission=60), one(0.5, size=300),
            one(0.5, torque=float("nan"))]
    assert [each.pareto for each in marked(some)] == [True, False, True, False, False]
    assert [each.pareto for each in marked([one(), one()])] == [True, True]
    assert marked([]) == []


def test_order_is_by_error_then_transmission_then_size_then_torque() -> None:
    some = [one(0.5, name="d", torque=20), one(0.5, name="c"), one(0.5, size=100, name="b"),
            one(0.4, name="a"), one(0.50001, transmission=60, name="a2")]
    paths = [loop(radius) for radius in (1, 2, 3, 4, 5)]
    assert names(ranked(some, paths, 9, 40, 100)) == ["a", "a2", "b", "c", "d"]


def test_of_the_even_those_whose_parts_go_free_come_first() -> None:
    meet = dataclasses.replace(one(0.5, transmission=80, name="meet"), meets=(("a", "b"),))
    some = [meet, one(0.5, name="free"), one(0.6, name="worse")]
    assert names(ranked(some, [loop(1), loop(2), loop(3)], 9, 40, 100)) == \
        ["free", "meet", "worse"]


def test_poor_transmission_and_giants_come_last() -> None:
    some = [one(0.1, transmission=10, name="weak"), one(0.2, size=5000, name="giant"),
            one(0.9, name="sound")]
    paths = [loop(1), loop(2), loop(3)]
    assert names(ranked(some, paths, 9, 40, 100)) == ["sound", "weak", "giant"]
    # Without a wished place nothing is a giant, and what angle is too small is the maker's.
    assert names(ranked(some, paths, 9, 10, 0)) == ["weak", "giant", "sound"]


def test_kin_stand_together_and_count_once() -> None:
    some = [one(0.3, name="a"), one(0.5, name="b"), one(0.9, name="a again")]
    paths = [loop(10), loop(7), loop(10, start=77)[::-1]]
    found = ranked(some, paths, 2, 40, 100)
    assert names(found) == ["a", "a again", "b"]
    assert [each.kin for each in found] == [0, 0, 1]
    assert names(ranked(some, paths, 1, 40, 100)) == ["a", "a again"]


def test_kinship_needs_the_same_place_and_size() -> None:
    paths = [loop(10), loop(10, steps=600), loop(10) + 1, loop(10.5), loop(10).conj()]
    assert kinship(paths) == [0, 0, 2, 3, 0]  # this loop is its own mirror image
    assert kinship([]) == []


def test_two_good_answers_to_one_wish_are_not_kin_for_being_good() -> None:
    t = 2 * np.pi * np.arange(480) / 480
    near = loop(10) + 0.012 * np.exp(5j * t)  # a thousandth of its size off
    assert kinship([loop(10), near]) == [0, 1]
