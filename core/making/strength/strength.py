"""All checks of a turn."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Protocol

from core.effort import Effort
from core.errors import Going, always, while_going
from core.making.rods import hand_reach_mm
from core.making.strength.beam import beam
from core.making.strength.bore_checks import bore_checks
from core.making.strength.case import Case
from core.making.strength.check import VERDICTS, Check, Strength
from core.making.strength.hinge_checks import hinge_checks
from core.making.strength.link_checks import link_checks
from core.making.strength.rod_checks import rod_checks, strained
from core.making.strength.tooth_checks import tooth_checks
from core.making.strength.wag_checks import wag_checks
from core.motion import Rates, Turn


class Jam(Protocol):
    """What the hand can do when a part is blocked: see `core.effort.hand`."""

    @property
    def jam_torque_nmm(self) -> float:
        """The most torque at the crank, N·mm."""


def strength(turn: Turn, effort: Effort, hand: Jam | None = None, rates: Rates | None = None,
             friction: bool = True, going: Going = always) -> Strength:
    """What every rod, bore, part, tooth and hinge bears over the turn, and whether it holds.

    Parameters
    ----------
    hand : what the hand can do; with it the crank's shaft is held against a jam too.
    rates : of the turn, when already known.
    friction : also reckon with the largest friction; the worse of both counts.
    going : asked before every rod: whether to go on.

    Raises
    ------
    Stopped
        Once `going` says no.

    Notes
    -----
    Methods and sources stand in each check. Where the crank locks, loads grow without end
    at the lock: there are no checks then, and a note.
    """
    if turn.limits or not turn.reached.any():
        return Strength((), ("The crank does not go round: near the place where it locks"
                             " every load grows without end. Nothing is checked until it"
                             " turns.",))
    case = Case(turn, effort, rates, friction)
    jam = None if hand is None else hand.jam_torque_nmm
    found = list(_all(case, jam, going))
    if turn.sketch.units != "mm":
        found = [replace(one, units=turn.sketch.units) for one in found]
    found.sort(key=_gravity)
    notes = _assumed(case)
    notes += ["Parts are reckoned in their plane; rods with the true offsets of the layers."]
    if jam is not None:
        notes.append("A jam: the hand pushes as hard as it is allowed while a part is held.")
    return Strength(tuple(found), tuple(notes))


def _assumed(case: Case) -> list[str]:
    """What was left out for want of a figure."""
    steps = case.sketch.handle.steps
    if steps and not hand_reach_mm(case.sketch):
        return ["The last gears between the handle and the crank have no module yet, so their"
                " push on the crank's shaft is left out."]
    return []


def _gravity(check: Check) -> tuple[int, bool, float]:
    """The order of checks: what is felt but does not break comes after what may."""
    holds = VERDICTS.index("holds")
    order = VERDICTS.index(check.verdict)
    felt = check.soft and order < holds
    return holds - 1 if felt else order, felt, -check.share


def _all(case: Case, jam_nmm: float | None, going: Going) -> Iterator[Check]:
    for load in while_going(going, case.rod_loads):
        rod = strained(load, beam(load.rod))
        yield from rod_checks(case, rod, jam_nmm)
        yield from bore_checks(case, rod)
    yield from wag_checks(case)
    for name, pushes in case.pushes().items():
        yield from link_checks(case, case.part(name), pushes)
    yield from tooth_checks(case)
    yield from hinge_checks(case)
