"""Friction lock: how much friction it takes until no push at the crank moves the mechanism.

With the coefficients raised in step by a share s, every reaction x follows continuously
from its value without friction: A(x) + s·C(x) + load = 0, where A(x) are the forces on all
bodies of reactions without friction and C(x) what friction adds at the full coefficients.
C(k·x) = k·C(x) for k > 0, so about a known x it is the linear map C'(x). At the critical
share the determinant of A + s·C'(x) vanishes: a small load more asks for a torque without
end, and beyond it no push at the crank moves the mechanism. Mostly the reactions themselves
grow without end there (a link within the friction circles of its pins, a block that wedges
in its guide); where a joint changes the side it bears on, they may stop short of it.

Method: the coefficients are raised in steps with Newton's method, as for the band, and the
step in which it fails is halved. Where reactions grow without end the load counts for
nothing at last, and s and x together are found by Newton's method on A(x) + s·C(x) = 0, x
scaled to a torque of one at the crank: with (A + s·C'(x))·y = −C(x) the next share is
s + 1/y_T, y_T being the torque of y. Elsewhere halving goes on, to about 1e-7. It is exact
for the loads as they are; which way loads push decides on which side the joints bear.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import partial
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from core.effort.contacts import Column, Contacts
from core.effort.frames import Complexes, Floats, Frames, sense_of, weights_of
from core.effort.friction import Rubbing, newton, rubbing
from core.effort.layout import Unknown
from core.effort.reactions import Machine, Reactions
from core.effort.stages import machine_of
from core.effort.torque import Balance, balance
from core.model import Pin, PinInSlot, Slide
from core.motion import Rates, Turn

T = TypeVar("T", np.float64, np.complex128)

#: So far the coefficients are raised, in shares of the largest of each joint's range.
MOST = 2.0
#: Shares tried for all steps, Newton steps at each, and how often the step that fails is
#: halved: before share and reactions are sought together, and where that finds nothing.
_RAISED, _EACH, _CUT, _CUT_MORE = (0.25, 0.5, 0.75, 1.0, 1.25, 1.5, 1.75, MOST), 6, 8, 14
#: Newton steps on share and reactions, and the change of the share that counts as none.
_SEEK, _ENOUGH = 25, 1e-9


@dataclass(frozen=True)
class FrictionLock:
    """The friction lock that is nearest, over the turn.

    `share` times the largest coefficients, reached at `crank_rad` (index `step`), locks
    the mechanism. `joint` is the pin, slide or slot that takes the most of the crank's
    work there, `carried` its part of it (0 to 1), and `coefficient` its own at that share.
    """

    share: float
    crank_rad: float
    step: int
    joint: str
    carried: float
    coefficient: float


@dataclass(frozen=True)
class Locking:
    """Critical shares over the turn: `share` (N,) times the largest coefficients locks the
    mechanism at that step; infinite where not even ``MOST`` times does, NaN where not
    reached or where reactions have no sound value. `nearest` is the least, if any."""

    share: Floats
    nearest: FrictionLock | None


def locking(turn: Turn, rates: Rates | None = None, backwards: bool = False) -> Locking:
    """How much friction locks the crank, at every step, cranking forwards or backwards.

    Some dozens of solutions of the balance: for when the hand rests.
    """
    return _followed(turn, rates, backwards, every=True)


def nearest_lock(turn: Turn, rates: Rates | None = None,
                 backwards: bool = False) -> FrictionLock | None:
    """Where the least friction locks the crank, if any up to ``MOST`` times its range
    does: as ``locking(…).nearest``, without following the steps that need more."""
    return _followed(turn, rates, backwards, every=False).nearest


def _followed(turn: Turn, rates: Rates | None, backwards: bool, every: bool) -> Locking:
    """Friction raised bit by bit; of not `every` step, only until the first have locked."""
    ready = balance(turn, rates, backwards=backwards)
    sense = -sense_of(turn) if backwards else sense_of(turn)
    machine, rub = _of(ready, np.arange(ready.steps.size), sense)
    plain = ready.machine.solve(ready.force, ready.moment)
    found = np.full(turn.crank_rad.size, np.nan)
    sound = np.isfinite(plain.drive[0])
    share = np.where(sound, np.inf, np.nan)
    state, low = plain, 0.0
    stuck = ~sound
    states: dict[int, tuple[Reactions, int]] = {}
    for raised in _RAISED:
        new, restless = newton(machine, rub.scaled(raised), state, ready.force, ready.moment,
                               _small(rub, plain), _EACH)
        failed = np.flatnonzero(~stuck & (restless | ~np.isfinite(new.drive))[0])
        if failed.size:
            share[failed], some = _critical(ready, failed, sense, state, (low, raised))
            states |= {int(step): (some, k) for k, step in enumerate(failed)}
            stuck[failed] = True
        keep = stuck[None, :]
        state = _mixed(new, state, keep)
        low = raised
        if stuck.all() or (failed.size and not every):
            break
    found[ready.steps] = share
    fine = np.isfinite(share)
    if not fine.any():
        return Locking(found, None)
    step = int(np.argmin(np.where(fine, share, np.inf)))
    some, k = states[step]
    return Locking(found, _lock(ready, rub, some.each(lambda array: array[..., k]), step,
                                float(share[step])))


def _of(ready: Balance, steps: NDArray[np.intp], sense: float) -> tuple[Machine, Rubbing]:
    """Machine and friction (one set: the largest coefficients) at some of the steps."""
    machine, contacts, frames = ready.machine, ready.contacts, ready.frames
    if steps.size != ready.steps.size:
        frames, contacts = _taken(ready, steps)
        machine = machine_of(ready.plan, contacts)
    rub = rubbing(ready.turn.sketch, ready.plan, frames, contacts, sense)
    return machine, replace(rub, turning=rub.turning[:, 1:], sliding=rub.sliding[:, 1:],
                            slots=rub.slots[:, 1:])


def _taken(ready: Balance, steps: NDArray[np.intp]) -> tuple[Frames, Contacts]:
    frames, sketch = ready.frames.take(steps), ready.turn.sketch
    return frames, Contacts(sketch, ready.plan, frames, weights_of(sketch, ready.plan))


def _small(rub: Rubbing, plain: Reactions) -> tuple[float, Floats]:
    """What change of the torque is small, as `newton` wants it."""
    force = np.max([np.abs(pin) for pin in plain.pins.values()], axis=0)
    return 1e-4, 1e-9 * rub.size * np.nan_to_num(force)


def _mixed(new: Reactions, old: Reactions, keep: NDArray[np.bool_]) -> Reactions:
    """New reactions, but the old ones where `keep`."""
    def pick(one: NDArray[T], two: NDArray[T]) -> NDArray[T]:
        return np.where(keep, two, one)

    return Reactions(
        {end: pick(force, old.pins[end]) for end, force in new.pins.items()},
        [pick(a, b) for a, b in zip(new.slides, old.slides, strict=True)],
        [pick(a, b) for a, b in zip(new.slots, old.slots, strict=True)],
        [pick(a, b) for a, b in zip(new.wheels, old.wheels, strict=True)],
        pick(new.drive, old.drive))


def _critical(ready: Balance, steps: NDArray[np.intp], sense: float, start: Reactions,
              between: tuple[float, float]) -> tuple[Floats, Reactions]:
    """Critical shares (n,) and the reactions there, of steps that are settled at the first
    share of `between` but not at the second."""
    state = start.each(lambda array: array[..., steps])
    low, high = np.full(steps.size, between[0]), np.full(steps.size, between[1])
    low, high, state = _halved(ready, steps, sense, state, (low, high), _CUT)
    share, sought = _sought(ready, state, low, sense, steps)
    lost = ~(np.isfinite(share) & (share > low - _ENOUGH)
             & (share < high + (between[1] - between[0])))
    state = _mixed(sought, state, lost[None, :])
    rest = np.flatnonzero(lost)
    if rest.size:
        _, share[rest], some = _halved(
            ready, steps[rest], sense, state.each(lambda array: array[..., rest]),
            (low[rest], high[rest]), _CUT_MORE)
        state.write(rest, some)
    return share, state


def _halved(ready: Balance, steps: NDArray[np.intp], sense: float, state: Reactions,
            between: tuple[Floats, Floats], times: int) -> tuple[Floats, Floats, Reactions]:
    """The last share that settles, the first that does not, and the reactions at the
    former, the interval between them halved so many times."""
    machine, rub = _of(ready, steps, sense)
    force, moment = ready.force[..., steps], ready.moment[..., steps]
    small = _small(rub, state)
    low, high = between
    for _ in range(times):
        middle = 0.5 * (low + high)
        new, restless = newton(machine, rub.scaled(middle), state, force, moment, small,
                               _EACH)
        failed = (restless | ~np.isfinite(new.drive))[0]
        state = _mixed(new, state, failed[None, :])
        low, high = np.where(failed, low, middle), np.where(failed, middle, high)
    return low, high, state


def _sought(ready: Balance, state: Reactions, share: Floats, sense: float,
            steps: NDArray[np.intp]) -> tuple[Floats, Reactions]:
    """Newton's method on share and reactions; the last before it went astray, NaN where it
    did not settle."""
    machine, rub = _of(ready, steps, sense)
    contacts = _taken(ready, steps)[1]
    done, settled = np.zeros((2, share.size), dtype=bool)
    with np.errstate(all="ignore"):
        for _ in range(_SEEK):
            force, moment = _rubbed(ready, contacts, rub, state)
            new = machine.solve(force, moment, rub.scaled(share).about(state))
            change = 1.0 / (sense * new.drive[0]) * (sense * state.drive[0])
            fine = np.isfinite(change) & ~done & (state.drive[0] * sense > 0.0)
            after = share + np.where(fine, change, 0.0)
            state = _mixed(new.each(partial(np.multiply, change)), state, ~fine[None, :])
            near = np.abs(change) <= _ENOUGH * after
            settled |= fine & near
            done |= ~fine | near
            share = after
            if done.all():
                break
    return np.where(settled, share, np.nan), state


def _rubbed(ready: Balance, contacts: Contacts, rub: Rubbing,
            found: Reactions) -> tuple[Complexes, Floats]:
    """What friction at the full coefficients does to the bodies (B, 1, n), moments about
    their anchors."""
    lean = rub.about(found)
    shape = (len(ready.plan.bodies), 1, found.drive.shape[-1])
    force, moment = np.zeros(shape, dtype=np.complex128), np.zeros(shape)
    for group in ready.plan.groups:
        for u in group.unknowns:
            if u.kind == "wheels":  # what gears push apart is no friction
                continue
            for column, value in zip(contacts.extra(u, lean), _values(u, found), strict=True):
                if column is not None:
                    _add(force, moment, u, column, value)
    return force, moment


def _values(u: Unknown, found: Reactions) -> list[Floats]:
    if u.kind == "pin":
        return [found.pins[u.item].real, found.pins[u.item].imag]
    if u.kind == "slide":
        return [found.slides[u.item][0], found.slides[u.item][1]]
    return [found.slots[u.item]] if u.kind == "slot" else [found.drive]


def _add(force: Complexes, moment: Floats, u: Unknown, column: Column, value: Floats) -> None:
    for body, push, twist in ((u.plus, column.plus_force, column.plus_moment),
                              (u.minus, column.minus_force, column.minus_moment)):
        if body:
            force[body] += value * push
            moment[body] += value * twist


def _lock(ready: Balance, rub: Rubbing, found: Reactions, step: int,
          share: float) -> FrictionLock:
    """The nearest lock in words of joints: who takes the work that the crank puts in."""
    plan, frames, contacts = ready.plan, ready.frames, ready.contacts
    work: dict[str, float] = {}
    for end, force in found.pins.items():
        pin = plan.ends[end].pin
        rod = plan.ends[plan.bases[pin]].body
        slip = frames.spin[plan.ends[end].body, step] - frames.spin[rod, step]
        name = plan.pins[pin].id
        rubs = abs(rub.turning[end, 0, step] * slip * complex(force[0]))
        work[name] = work.get(name, 0.0) + float(rubs)
    for k, slide in enumerate(plan.slides):
        normal, turning = found.slides[k][:, 0]
        bears = max(abs(normal), 2.0 / rub.guides[k] * abs(turning))
        work[slide.id] = float(abs(rub.sliding[k, 0, step]) * bears
                               * abs(contacts.slides[k].drift[step]))
    for k, slot in enumerate(plan.slots):
        normal = found.slots[k][0]
        slip = (rub.slot_drift[k, step]
                + rub.slot_spin[k, step] * rub.radii[k] * np.sign(normal))
        work[slot.id] = float(abs(rub.slots[k, 0, 0] * normal * slip))
    joint = max(work, key=lambda name: (work[name], name))
    whole = sum(work.values())
    rubbing_: tuple[Pin | Slide | PinInSlot, ...] = (*plan.pins, *plan.slides, *plan.slots)
    own = next(each.friction for each in rubbing_ if each.id == joint)
    high = (ready.turn.sketch.friction if own is None else own)[1]
    at = int(ready.steps[step])
    return FrictionLock(share, float(ready.turn.crank_rad[at]), at, joint,
                work[joint] / whole if whole else 0.0, share * high)
