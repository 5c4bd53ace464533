"""Torsion springs about pins: rate and preload by linear programme, then wound.

Torque on part b of a pin: −rate · (angle − free), so the crank bears
T = rate · (angle − free) · d(angle)/dφ: linear in rate and in rate · free. A coil is
wound up one way only: each pin offers one spring either way.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from core.model import Coil, Pin, Sketch, TorsionSpring, part_of
from core.model.edits import add, follow_twins, fresh_id
from core.motion.turn import Floats
from core.pleasant.coils import torsion_coils
from core.pleasant.ground import Ground
from core.pleasant.model import Model
from core.pleasant.options import Aim, SpringRules
from core.pleasant.programme import Offer, Optimum, solve, value_of

#: A coil may be wound up beforehand by so much, degrees, and swing by so much.
MOST_PRELOAD_DEG, MOST_SWING_DEG = 180.0, 270.0
#: The hardest torque of one, N·mm.
MOST_NMM = 2000.0
_STEPS = (16.0, 8.0, 4.0, 2.0, 1.0)
_ROUNDS = 2


@dataclass(frozen=True)
class Wrung:
    """A torsion spring: `rate` N·mm per degree, no torque at `free_deg` (turn of b against
    a from the drawn pose), `most_nmm` over the turn."""

    pin: str
    a: str
    b: str
    rate: float
    free_deg: float
    most_nmm: float
    coil: Coil


@dataclass(frozen=True)
class Twisted:
    """Torsion springs: by the programme, and as wound."""

    optimum: Optimum
    made: tuple[Wrung, ...]


@dataclass(frozen=True)
class _Hinge:
    """A pin that swings, wound up one way (`way` ±1): `turned` (K, N) degrees of b against
    a and `slope` (K, N) N·mm at the crank for one N·mm there, a row for the spring itself and
    for each mirror image (mirrored back)."""

    pin: Pin
    a: str
    b: str
    way: float
    turned: Floats
    slope: Floats

    @property
    def start(self) -> float:
        """The angle at which it is wound least."""
        return float(self.turned.min() if self.way > 0 else self.turned.max())

    def lane(self, free_deg: float) -> Floats:
        """(N,) torque at the crank of 1 N·mm per degree."""
        lane: Floats = ((self.turned - free_deg) * self.slope).sum(axis=0)
        return lane


def twist(ground: Ground, aim: Aim, rules: SpringRules,
          go_on: Callable[[float], bool]) -> Twisted | None:
    """The best torsion springs, at most `rules.most`; None when none helps or can be
    wound."""
    hinges = _hinges(ground, rules)
    if not hinges or not go_on(0.1):
        return None
    base = ground.before.plain_nmm
    optimum = solve(base, [_offer(one) for one in hinges], aim, most=rules.most)
    picked = []
    for one, amounts in zip(hinges, optimum.amounts, strict=True):
        rate = float(amounts.sum())
        if rate > 1e-6:
            preload = MOST_PRELOAD_DEG * float(amounts[1]) / rate
            picked.append((one, rate, one.start - one.way * preload))
    if not picked or not go_on(0.5):
        return None
    coarse = {(one.pin.id, one.way): one for one in _hinges(ground.coarse, rules)}
    made = [wound for one, rate, free in picked
            if (wound := _wound(ground.coarse, coarse[one.pin.id, one.way], rate, free, aim,
                                rules)) is not None]
    return Twisted(optimum, tuple(made)) if made else None


def _hinges(ground: Ground, rules: SpringRules) -> list[_Hinge]:
    found = []
    images = {image for twin in ground.sketch.twins for _, image in twin.parts}
    for pin in ground.sketch.pins:
        names = [part_of(ref) for ref in pin.at]
        if len(names) != 2 or not images.isdisjoint(names):
            continue
        a, b = names if ground.moves(names[1]) else names[::-1]
        if not ground.moves(b) or (rules.parts and not {a, b} & set(rules.parts)):
            continue
        turned, slope = _swings(ground, a, b)
        if 1.0 <= float(np.ptp(turned)) <= MOST_SWING_DEG:
            found += [_Hinge(pin, a, b, way, turned, slope) for way in (1.0, -1.0)]
    return found


def _swings(ground: Ground, a: str, b: str) -> tuple[Floats, Floats]:
    """`turned` and `slope` of a hinge, see there."""
    angle, turn, frames = ground.turn.angle_rad, ground.turn, ground.frames
    ones, others = ground.images(a), ground.images(b)
    turned, slope = [], []
    for k in range(max(len(ones), len(others))):
        (one, carry), (other, beside) = ones[min(k, len(ones) - 1)], others[
            min(k, len(others) - 1)]
        mirrored = any(each is not None and each.mirrored for each in (carry, beside))
        sign = -1.0 if mirrored else 1.0
        spins = [frames.spin[ground.plan.body_of.get(name, 0)] for name in (one, other)]
        turned.append(sign * np.degrees(angle[:, turn.row(other)] - angle[:, turn.row(one)]))
        slope.append(ground.sense * sign * (spins[1] - spins[0]))
    return np.array(turned), np.array(slope)


def _offer(one: _Hinge) -> Offer:
    least, most = one.lane(one.start), one.lane(one.start - one.way * MOST_PRELOAD_DEG)
    swing = float(np.ptp(one.turned))
    share = np.array([swing, swing + MOST_PRELOAD_DEG]) / MOST_NMM
    return Offer(one.pin.id, np.vstack([least, most]), share, share)


def _wound(ground: Ground, one: _Hinge, rate: float, free_deg: float, aim: Aim,
           rules: SpringRules) -> Wrung | None:
    """A coil near that rate, its free angle set anew for it, friction taken along."""
    most = rate * float(np.abs(one.turned - free_deg).max())
    coils: list[tuple[Coil, float]] = []
    for factor in (1.0, 0.9, 1.1, 0.75, 1.3):
        coils += torsion_coils(rate * factor, most * max(1.0, factor), one.pin.diameter_mm,
                               rules.wires_mm)[:6]
    if not coils:
        return None
    model = Model.of(ground)
    best = _set(model, one, *coils[0], free_deg, aim)
    for _ in range(_ROUNDS):
        for coil, real in coils[:12]:
            found = _set(model, one, coil, real, free_deg, aim)
            if found[0] < best[0] * (1.0 - 1e-9):
                best = found
        model = model.about(twisted(ground.sketch, [best[1]]))
        best = (_value(model, one, best[1], aim), best[1])
    return best[1]


def _value(model: Model, one: _Hinge, made: Wrung, aim: Aim) -> float:
    torque = model.base + made.rate * one.lane(made.free_deg)
    return value_of(aim, torque + model.rub_low, torque + model.rub_high)


def _set(model: Model, one: _Hinge, coil: Coil, rate: float, free_deg: float,
         aim: Aim) -> tuple[float, Wrung]:
    """The best whole-degree free angle of a coil that is wound one way only."""
    made = Wrung(one.pin.id, one.a, one.b, rate, float(round(free_deg)), 0.0, coil)
    best = np.inf
    for step in (0.0, *_STEPS):
        moved = True
        while moved:
            moved = False
            for sign in (-1.0, 1.0):
                free = made.free_deg + sign * step
                if not 0.0 <= one.way * (one.start - free) <= MOST_PRELOAD_DEG:
                    continue
                other = replace(made, free_deg=free)
                value = _value(model, one, other, aim)
                if value < best - 1e-12:
                    best, made, moved = value, other, step > 0.0
    most = rate * float(np.abs(one.turned - made.free_deg).max())
    return best, replace(made, most_nmm=most)


def twisted(sketch: Sketch, made: Sequence[Wrung]) -> Sketch:
    """The sketch with the torsion springs, twins following."""
    changed = sketch
    for each in made:
        changed = add(changed, "torsion_springs", TorsionSpring(
            id=fresh_id(changed, "coil"), pin=each.pin, a=each.a, b=each.b,
            rate_nmm_per_deg=each.rate, free_deg=each.free_deg, coil=each.coil))
    return follow_twins(sketch, changed)
