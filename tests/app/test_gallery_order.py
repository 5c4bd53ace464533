"""Which cards the gallery shows, in which order."""

from __future__ import annotations

from dataclasses import replace

import pytest
import searches

from app.panels.gallery.model import facts
from app.panels.gallery.order import ORDERS, Choice, Entry, arrange, held
from core.model import Sketch, WantedPath

WISHED = Sketch(wanted=(WantedPath(id="loop", through=((40, 80), (60, 100), (30, 120))),))

@pytest.fixture
def proposals() -> tuple[searches.Proposal, ...]:
    return searches.offered(WISHED)


def test_kin_stand_behind_the_best_of_them(proposals) -> None:
    entries = arrange(proposals, Choice())
    assert len(entries) == 9
    assert entries[0].others == 3
    choice = Choice().with_spread(proposals, entries[0].proposal)
    spread = arrange(proposals, choice)
    assert [entry.follows for entry in spread[:5]] == [False, True, True, True, False]
    assert spread[0].spread
    later = [replace(one, kin=one.kin + 1) for one in proposals]  # numbered anew
    assert [entry.follows for entry in arrange(later, choice)] == \
        [entry.follows for entry in spread]
    assert arrange(later, choice.with_spread(later, later[0])) == arrange(later, Choice())


def test_misses_that_read_the_same_are_even(proposals) -> None:
    one, other = (replace(proposals[k], error=error, kin=k)
                  for k, error in ((5, 2e-9), (6, 1e-9)))
    assert [e.proposal for e in arrange((one, other), Choice())] == [one, other]
    assert [facts(Entry(each), "mm")[0] for each in (one, other)] == \
        2 * [("mean miss", "0 tol")]


@pytest.mark.parametrize("order", ORDERS)
def test_every_order_puts_the_best_first(proposals, order: str) -> None:
    entries = arrange(proposals, Choice(order=order))
    worth = [ORDERS[order](entry.proposal) for entry in entries]
    assert worth == sorted(worth)


def test_what_has_no_torque_comes_last(proposals) -> None:
    unknown = replace(proposals[5], peak_torque_nmm=float("nan"))
    entries = arrange((unknown, *proposals[6:]), Choice(order="Peak torque"))
    assert entries[-1].proposal is unknown


def test_kinds_and_the_beaten_can_be_left_out(proposals) -> None:
    left = arrange(proposals, Choice(hidden=frozenset({"other"})))
    assert {entry.proposal.family for entry in left} == {"four-bar"}
    assert [e.proposal.pareto for e in arrange(proposals, Choice(best_only=True))] == [True]


def test_under_the_mouse_nothing_changes_its_place(proposals) -> None:
    old = arrange(proposals[4:9], Choice())
    new = arrange((proposals[0], *proposals[5:]), Choice())
    kept = held(old, new)
    assert [e.proposal for e in kept[1:5]] == [e.proposal for e in old[1:5]]
    assert kept[0].proposal.family == old[0].proposal.family
    assert sorted(e.proposal.error for e in kept) == sorted(e.proposal.error for e in new)


def test_a_card_without_successor_stays_while_the_mouse_is_there(proposals) -> None:
    old = arrange(proposals[:5], Choice())
    new = arrange(proposals[4:6], Choice())
    kept = held(old, new)
    assert kept[0].proposal == old[0].proposal
    assert kept[0].others == 0
    assert len(kept) == 3
