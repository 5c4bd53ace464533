"""Counterweights as proposals, in words."""

from __future__ import annotations

from collections.abc import Callable

from core.pleasant.fitting import fitted
from core.pleasant.ground import Ground
from core.pleasant.model import Placed, weighted
from core.pleasant.options import Options
from core.pleasant.proposal import Declined, Proposal
from core.pleasant.weights import Weighed, weigh
from core.pleasant.words import compared, listed, mass, proposed
from core.units import show_length, show_torque

#: A proposal must take away at least this share of the value before.
WORTH = 0.01
#: A gap to the bound of this share of the value before is worth a sentence.
_ROOM = 0.1


def weight_proposals(ground: Ground, options: Options,
                     go_on: Callable[[float], bool]) -> list[Proposal | Declined]:
    """Weights within the outlines, and weights on tails where that is better."""
    found: list[Proposal | Declined] = []
    aim, rules = options.wanted, fitted(ground, options.weights)
    best = ground.before.value(aim) * (1.0 - WORTH)
    for tails in (False, True) if rules.reach_mm is None or rules.reach_mm > 0.0 else (False,):
        weighed = weigh(ground, aim, rules, tails=tails, go_on=go_on)
        if weighed is None or (tails and not any(p.on_tail for p in weighed.placed)):
            continue
        made = _proposal(ground, options, weighed)
        if made.value_after <= best:
            found.append(made)
            best = made.value_after * (1.0 - WORTH)
    if not found:
        peak = show_torque(ground.before.peak_nmm, ground.sketch.units)
        found.append(Declined("weights", (
            f"No counterweight that fits takes a hundredth off the torque (peak {peak}):"
            " little of it comes from weights, or no part has room for another.")))
    return found


def _proposal(ground: Ground, options: Options, weighed: Weighed) -> Proposal:
    aim, optimum = options.wanted, weighed.optimum
    sketch = weighted(ground.sketch, weighed.placed)
    after = ground.lanes(sketch).value(aim)
    names = tuple(each.site.part.id for each in weighed.placed)
    tails = any(each.on_tail for each in weighed.placed)
    kg = sum(each.piece.kg * len(ground.images(each.site.part.id))
             for each in weighed.placed)
    many = len(names) > 1 or len(ground.images(names[0])) > 1
    title = ("Counterweights" if many else "A counterweight") + (
        " on tails" if tails and many else " on a tail" if tails else "")
    words = [placed_words(ground, each) for each in weighed.placed]
    words.append(compared(ground, aim, optimum.value, optimum.bound, after))
    if optimum.value - optimum.bound > _ROOM * ground.before.value(aim, friction=False):
        words.append(_kept_by(ground, options, weighed))
    words.append(f"It costs {mass(kg, ground)} more to carry round.")
    return proposed(ground, aim, "weights", f"{title}: {listed(names)}", words, sketch, names,
                    plain=optimum.value, bound=optimum.bound)


def _kept_by(ground: Ground, options: Options, weighed: Weighed) -> str:
    """What keeps the weights from the bound: that they may not be heavier, or room."""
    rules = fitted(ground, options.weights)
    full = [each.site.part.id for each in weighed.placed
            if each.piece.kg >= 0.93 * rules.of(each.site.part.id).heaviest_kg]
    if full:
        return (f"What keeps it above that bound is how heavy a single weight may be on"
                f" {listed(full)}, or room: allow heavier pieces, wider wood, longer tails or"
                " free layers beside it.")
    return ("What keeps it above that bound is room, not mass: pieces taller than"
            f" {show_length(rules.height_mm, ground.sketch.units)}, wider wood, longer tails"
            " or free layers beside it would win some of it.")


def placed_words(ground: Ground, each: Placed) -> str:
    """Where a weight is and what it is made of."""
    part, units = each.site.part, ground.sketch.units
    twins = [name for name, carry in ground.images(part.id) if carry is not None]
    spot = (f"x {show_length(each.place.real, units)},"
            f" y {show_length(each.place.imag, units)} of the drawn pose")
    near = min(part.points, key=lambda p: abs(p.place - each.place), default=None)
    if near is not None:
        spot += f", {show_length(abs(each.place - near.place), units)} from {near.id}"
    tail = ", on a tail cut with the part" if each.on_tail else ""
    again = f"; the same mirrored on {listed(twins)}" if twins else ""
    out = "" if not each.piece.sticks_out_mm else (
        f" It stands {show_length(each.piece.sticks_out_mm, units)} out of the sheet, on the"
        f" side of the {'higher' if each.side > 0 else 'lower'} layers, where it is clear.")
    return (f"On {part.id} at {spot}{tail}: {each.piece.made_of},"
            f" {mass(each.piece.kg, ground)} more than the wood there{again}.{out}")
