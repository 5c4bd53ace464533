"""Driving torque, reactions and friction band over the whole turn."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from core.effort.contacts import Contacts, Lean
from core.effort.frames import Complexes, Floats, Frames, cross, frames_of, weights_of
from core.effort.frames import sense_of as sense_of  # others know it by this room
from core.effort.friction import Rubbing, rubbing, settle
from core.effort.inside import JointLoad
from core.effort.joint_loads import joint_loads
from core.effort.layout import Layout, layout
from core.effort.loads import SHARES, Carried, carry
from core.effort.reactions import Machine, Reactions
from core.effort.runaway import below_zero
from core.effort.stages import machine_of
from core.model.fitness import size_of
from core.motion import Rates, Turn, crank_motion, structure
from core.motion import rates as rates_of

T = TypeVar("T", np.float64, np.complex128)

#: Torque below this share of what the loads ask for together counts as none.
_NOTHING = 1e-9
#: Rounding of a torque, as a share of the forces carried times the sketch's size: a wheel
#: in balance asks for this much, up and down by chance.
_ROUNDING = 1e-12


@dataclass(frozen=True)
class Effort:
    """What the hand and the joints bear over the turn. N steps; NaN where not reached.

    Torques are N·mm at the crank; positive: the hand must push in the driving direction
    (the sign of ``drive.rpm``; a rocking drive: from `from_deg` towards `to_deg`).

    Attributes
    ----------
    torque_nmm : (N,) without friction, by Newton–Euler; at a dead point of a group, where
        reactions have no sound value and are NaN, by virtual power.
    virtual_power_nmm : (N,) the same by virtual power, found independently.
    shares : "gravity", "inertia", "springs", "loads" -> (N,) N·mm, summing to the torque.
    torque_low_nmm, torque_high_nmm : (N,) with friction at the smallest and the largest
        coefficient, cranking in the driving direction; NaN where it jams.
    reactions : joint id -> (N, k) complex N, without friction: force on the k-th part of
        the joint, sketch frame. A pin's forces sum to zero: it is a rod that pushes on
        each of its parts, three or more included, and parts made fast to each other share
        equally. Slide, slot: on the part of the point, then on the guide. Mesh, belt: on
        a, then on b. Lock: its parts in order. NaN for joints of loose parts.
    moments : joint id -> (N, k) N·mm, what the joint does besides, about `places`.
    places : joint id -> (N, k) complex mm where the forces act: pins and slides at the
        point; wheels at their centres; locks at their pin, else at the centre of mass of
        their first part.
    tension : belt id -> (N,) N, tight side, the slack side being without tension.
    runaway : intervals (from_rad, to_rad) of the crank, in the order it passes them as
        the angle grows, in which torque_nmm is negative: without friction the mechanism
        drives the hand. An interval over the end of a turn that repeats has to_rad
        beyond it.
    surely_runaway : the same for torque_high_nmm: no friction in its range holds it.
    peak_nmm, peak_rad, least_nmm, least_rad : greatest and least torque_nmm, and where.
    peak_high_nmm, peak_high_rad : greatest torque_high_nmm, and where.
    jams : (N,) bool, reached, but no push at the crank overcomes the largest friction.
    notes : what was left out or assumed, in plain sentences.
    """

    torque_nmm: Floats
    virtual_power_nmm: Floats
    shares: dict[str, Floats]
    torque_low_nmm: Floats
    torque_high_nmm: Floats
    tension: dict[str, Floats]
    runaway: tuple[tuple[float, float], ...]
    surely_runaway: tuple[tuple[float, float], ...]
    peak_nmm: float
    peak_rad: float
    least_nmm: float
    least_rad: float
    peak_high_nmm: float
    peak_high_rad: float
    jams: NDArray[np.bool_]
    notes: tuple[str, ...]
    _joint_loads: Callable[[], dict[str, JointLoad]] = field(repr=False, compare=False)
    _band: Callable[[], Band] = field(repr=False, compare=False)

    @cached_property
    def _loads(self) -> dict[str, JointLoad]:
        """Sorted out to parts when first asked for: while dragging, few look."""
        return self._joint_loads()

    @cached_property
    def band(self) -> Band:
        """Torque and joint loads with friction, as :func:`friction_band` has them cranking in
        the driving direction; sorted out when first asked for."""
        return self._band()

    @property
    def friction_nmm(self) -> tuple[Floats, Floats]:
        """(N,) N·mm, what friction adds to ``torque_nmm`` with the smallest coefficient, and
        with the largest; NaN where it jams."""
        return (self.torque_low_nmm - self.torque_nmm,
                self.torque_high_nmm - self.torque_nmm)

    @cached_property
    def reactions(self) -> dict[str, Complexes]:
        """Joint id -> forces on its parts, see above."""
        return {name: load.force for name, load in self._loads.items()}

    @cached_property
    def moments(self) -> dict[str, Floats]:
        """Joint id -> moments on its parts, see above."""
        return {name: load.moment for name, load in self._loads.items()}

    @cached_property
    def places(self) -> dict[str, Complexes]:
        """Joint id -> where the forces act, see above."""
        return {name: load.place for name, load in self._loads.items()}


@dataclass(frozen=True)
class Balance:
    """A turn ready for statics: its reached steps, bodies, loads and joints."""

    turn: Turn
    steps: NDArray[np.intp]
    plan: Layout
    frames: Frames
    carried: Carried
    contacts: Contacts
    machine: Machine
    force: Complexes
    moment: Floats


def balance(turn: Turn, rates: Rates | None = None, still: bool = False,
            backwards: bool = False) -> Balance:
    """Set up the balance of all bodies at the reached steps of a turn, cranked in the
    driving direction or `backwards`; `still` for a crank that stands, so that nothing has
    inertia, and is about to go that way.

    Raises SketchError for a mass that cannot be.
    """
    sketch = turn.sketch
    rates = rates_of(turn) if rates is None else rates
    plan = layout(sketch, structure(sketch))
    steps = np.flatnonzero(turn.reached)
    motion = np.zeros((2, turn.crank_rad.size)) if still else crank_motion(turn)
    frames = frames_of(turn, rates, (motion[0], motion[1]), plan, steps)
    if backwards:
        frames = replace(frames, sense=-frames.sense)
    weights = weights_of(sketch, plan)
    carried = carry(sketch, plan, frames, weights)
    contacts = Contacts(sketch, plan, frames, weights)
    anchors = np.array(contacts.anchor)
    moment = carried.moment + cross(carried.centre - anchors, carried.force)
    return Balance(turn, steps, plan, frames, carried, contacts, machine_of(plan, contacts),
                   carried.force[:, None], moment[:, None])


def effort(turn: Turn, rates: Rates | None = None, tolerance: float = 1e-6) -> Effort:
    """Driving torque, joint reactions and friction band over a turn.

    Parameters
    ----------
    turn : a solved turn.
    rates : its rates, when already known.
    tolerance : relative, to which the friction band is settled; the rest is exact.

    Raises
    ------
    SketchError
        For a mass or material that cannot be.

    Notes
    -----
    Newton–Euler equations of every body, inertia at the drive's speed (textbook method),
    and virtual power as a second, independent way to the torque.
    """
    ready = balance(turn, rates)
    plain, sense, found, lean = _rubbed(ready, False, tolerance)

    def spread(values: NDArray[T]) -> NDArray[T]:
        return _spread(values, ready)

    newton = spread(sense * plain.drive[0])
    low, high = spread(sense * found.drive[0]), spread(sense * found.drive[1])
    split: dict[str, Floats] = {
        name: spread(sense * ready.carried.shares[name]) for name in SHARES}
    virtual = np.sum(list(split.values()), axis=0)
    torque = np.where(np.isfinite(newton), newton, virtual)
    belts = {belt.id for belt in turn.sketch.belts}
    asked = np.sum(np.abs(list(split.values())), axis=0)
    carried = float(np.abs(ready.carried.force).max(axis=1, initial=0.0).sum())
    nothing = max(_NOTHING * float(np.nanmax(asked, initial=0.0)),
                  _ROUNDING * carried * size_of(turn.sketch))
    crank = turn.crank_rad
    peak, peak_at = _extreme(crank, torque)
    least, least_at = _extreme(crank, -torque)
    peak_high, peak_high_at = _extreme(crank, high)
    return Effort(
        torque, virtual, split, low, high,
        {wheel.id: spread(np.abs(plain.wheels[k][0]))
         for k, wheel in enumerate(ready.plan.wheels) if wheel.id in belts},
        below_zero(turn, torque, nothing), below_zero(turn, high, nothing),
        peak, peak_at, -least, least_at, peak_high, peak_high_at,
        turn.reached & np.isfinite(newton) & ~np.isfinite(high),
        _notes(ready.plan), lambda: _by_joint(ready, plain),
        lambda: _sorted(ready, found, lean, low, high),
    )


def driving_torque(turn: Turn, rates: Rates | None = None) -> Floats:
    """Torque at the crank without friction, (N,) N·mm, by virtual power alone: as
    ``effort(turn).virtual_power_nmm``, without the reactions that take most of its time.

    Raises
    ------
    SketchError
        For a mass or material that cannot be.
    """
    sketch = turn.sketch
    plan = layout(sketch, structure(sketch))
    steps = np.flatnonzero(turn.reached)
    frames = frames_of(turn, rates_of(turn) if rates is None else rates, crank_motion(turn),
                       plan, steps)
    shares = carry(sketch, plan, frames, weights_of(sketch, plan)).shares
    torque = np.full(len(turn.crank_rad), np.nan)
    torque[steps] = sense_of(turn) * np.sum([shares[name] for name in SHARES], axis=0)
    return torque


@dataclass(frozen=True)
class Band:
    """Torque (N,) N·mm with friction, cranking one way; positive: the hand must push that
    way. `low_nmm` at the smallest coefficient, `high_nmm` at the largest; NaN where it
    jams. `low`, `high`: joint id -> what the joint does to its parts, friction and all."""

    low_nmm: Floats
    high_nmm: Floats
    low: dict[str, JointLoad]
    high: dict[str, JointLoad]


def friction_band(
    turn: Turn, rates: Rates | None = None, backwards: bool = False,
    tolerance: float = 1e-6,
) -> Band:
    """Torque and reactions with friction, cranking in the driving direction or, with
    `backwards`, against it; otherwise as :func:`effort`."""
    ready = balance(turn, rates, backwards=backwards)
    _, sense, found, lean = _rubbed(ready, backwards, tolerance)
    return _sorted(ready, found, lean, _spread(sense * found.drive[0], ready),
                   _spread(sense * found.drive[1], ready))


def _sorted(ready: Balance, found: Reactions, lean: Lean, low: Floats, high: Floats) -> Band:
    """A band of which the torques are known, with what the joints bear."""
    return Band(low, high, _by_joint(ready, found, 0, lean), _by_joint(ready, found, 1, lean))


def torque_band(turn: Turn, rates: Rates | None = None, backwards: bool = False,
                still: bool = False, tolerance: float = 1e-6) -> tuple[Floats, Floats]:
    """`low_nmm` and `high_nmm` of a :class:`Band`, without what the joints bear; `still`
    as for :func:`balance`, infinite where it jams then."""
    ready = balance(turn, rates, still, backwards)
    plain, sense, found, _ = _rubbed(ready, backwards, tolerance)
    drive = found.drive
    if still:
        jammed = np.isfinite(plain.drive) & ~np.isfinite(drive)
        drive = np.where(jammed, sense * np.inf, drive)
    return _spread(sense * drive[0], ready), _spread(sense * drive[1], ready)


def _rubbed(ready: Balance, backwards: bool, tolerance: float
            ) -> tuple[Reactions, float, Reactions, Lean]:
    """Reactions without friction, the sense of cranking, reactions with friction, and the
    friction."""
    plain = ready.machine.solve(ready.force, ready.moment)
    sense = -sense_of(ready.turn) if backwards else sense_of(ready.turn)
    return plain, sense, *_band(ready, plain, sense, tolerance)


def _band(
    ready: Balance, plain: Reactions, sense: float, tolerance: float
) -> tuple[Reactions, Lean]:
    """Reactions with friction, cranking in the sense given, and the friction."""
    sketch, plan, frames = ready.turn.sketch, ready.plan, ready.frames
    weights = weights_of(sketch, plan)

    def rest(steps: NDArray[np.intp]) -> tuple[Machine, Rubbing]:
        fewer = frames.take(steps)
        contacts = Contacts(sketch, plan, fewer, weights)
        return machine_of(plan, contacts), rubbing(sketch, plan, fewer, contacts, sense)

    rub = rubbing(sketch, plan, frames, ready.contacts, sense)
    found = settle(ready.machine, rub, plain, ready.force, ready.moment, tolerance, rest)
    return found, rub.about(found)


def _by_joint(
    ready: Balance, found: Reactions, row: int = 0, lean: Lean | None = None
) -> dict[str, JointLoad]:
    """What every joint does to its parts, at all steps of the turn."""
    loads = joint_loads(ready.turn.sketch, ready.plan, ready.frames, ready.contacts, found,
                        row, lean)
    return {name: JointLoad(_spread(load.force, ready), _spread(load.moment, ready),
                            _spread(load.place, ready)) for name, load in loads.items()}


def _spread(values: NDArray[T], ready: Balance) -> NDArray[T]:
    """Values at the reached steps (first axis) as values at all steps."""
    steps = ready.turn.crank_rad.size
    if ready.steps.size == steps:
        return values
    whole = np.full((steps, *values.shape[1:]), np.nan, dtype=values.dtype)
    whole[ready.steps] = values
    return whole


def _extreme(crank: Floats, values: Floats) -> tuple[float, float]:
    """Greatest value and its crank angle; NaN when there is none."""
    if not np.isfinite(values).any():
        return np.nan, np.nan
    at = int(np.nanargmax(np.where(np.isfinite(values), values, -np.inf)))
    return float(values[at]), float(crank[at])


def _notes(plan: Layout) -> tuple[str, ...]:
    notes = []
    if plan.loose:
        notes.append("Loose parts and what hangs on them are left out of the effort: "
                     + ", ".join(plan.loose) + ".")
    if plan.shared:
        notes.append("More joints than needed: how they share the load depends on play and"
                     " stiffness; the evenest sharing is shown.")
    return tuple(notes)

