"""A gear step between hand and crank: the smallest pair that makes it light enough."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
from msgspec.structs import replace

from core.effort.hand import felt, ratio_of
from core.effort.push_limits import limit_of
from core.making.gear_search import FoundPair, smallest_pairs
from core.model import HandStep
from core.pleasant.ground import Ground
from core.pleasant.options import GearRules, Options
from core.pleasant.proposal import Declined, Proposal, push
from core.units import show_force, show_length

#: How much more than asked for a pair may give, as a factor of the ratio.
_SPARE = 1.5


def gear_proposals(ground: Ground, options: Options,
                   go_on: Callable[[float], bool]) -> list[Proposal | Declined]:
    """A step of gears, or two, that bring the push at the grip under the limit."""
    rules, handle, units = options.gears, ground.sketch.handle, ground.sketch.units
    limit = rules.limit_n if rules.limit_n is not None else limit_of(handle)[0]
    worst = float(np.nanmax(np.abs(push(handle, ground.before))))
    if worst <= limit:
        return [Declined("gears", (
            f"No gears needed: the hand pushes at most {show_force(worst, units)}, the limit"
            f" is {show_force(limit, units)}."))]
    for count in range(1, rules.most_steps + 1):
        ratio = _needed(ground, limit, count)
        pairs = _pairs(ratio, count, rules)
        if pairs is not None and go_on(0.5):
            return [_proposal(ground, rules, pairs, limit, worst)]
    return [Declined("gears", (
        f"The hand pushes at most {show_force(worst, units)}, the limit is"
        f" {show_force(limit, units)}: that takes {_needed(ground, limit, 1):.2f} turns of"
        " the handle for one of the crank, and no gears up to"
        f" {show_length(rules.largest_mm, units)} across, in {rules.most_steps} steps, of the"
        " modules allowed, give it. A longer handle, larger gears or balance first."))]


def _needed(ground: Ground, limit: float, count: int) -> float:
    """The ratio of so many more steps together with which the push stays under the limit:
    pushing loses in the steps what holding back gains."""
    found = felt(ground.sketch.handle, ground.before.low_nmm, ground.before.high_nmm)
    low, high = HandStep(driver=1.0, driven=1.0).efficiency
    hardest = float(np.nanmax(found.high_n)) / low**count
    holding = float(np.nanmax(-found.low_n)) * high**count
    return max(hardest, holding) / limit


def _pairs(ratio: float, count: int, rules: GearRules) -> list[FoundPair] | None:
    """The smallest pairs whose ratios make up one; None when there are none."""
    found: list[FoundPair] = []
    left = max(ratio, 1.0)
    for at in range(count):
        share = left ** (1.0 / (count - at))
        best = smallest_pairs(share, rules.largest_mm, most=share * _SPARE,
                              modules=rules.modules_mm, bit_mm=rules.bit_mm)
        if not best:
            return None
        found.append(best[0])
        left = max(left / best[0].pair.ratio, 1.0)
    return found


def _proposal(ground: Ground, rules: GearRules, pairs: list[FoundPair], limit: float,
              worst: float) -> Proposal:
    units, old = ground.sketch.units, ground.sketch.handle
    steps = tuple(HandStep(driver=float(each.pair.a.teeth), driven=float(each.pair.b.teeth),
                           module_mm=each.pair.a.module_mm, shift=_shifts(each),
                           face_mm=rules.face_mm,
                           material=rules.material) for each in pairs)
    sketch = replace(ground.sketch, handle=replace(old, steps=old.steps + steps))
    felt_now = push(sketch.handle, ground.before)
    after = float(np.nanmax(np.abs(felt_now)))
    words = [_pair_words(each, units) for each in pairs]
    turns = ratio_of(sketch.handle)
    words.append(f"The hand pushes at most {show_force(after, units)} instead of"
                 f" {show_force(worst, units)} (limit {show_force(limit, units)}), with the"
                 " least efficiency the steps are given.")
    drive = ground.sketch.drive
    pace = f", {abs(drive.rpm) * turns:.0f} a minute at this pace" if drive is not None else ""
    words.append(f"It costs {turns:.2f} turns of the handle for one of the crank instead of"
                 f" {ratio_of(old):.2f}{pace}.")
    words.append("The handle goes the other way round than now." if len(steps) % 2 else
                 "The handle goes the same way round as now.")
    words.append("The meshes pinch: guard them.")
    names = " and ".join(f"{step.driver:g} : {step.driven:g} teeth" for step in steps)
    crank = drive.part if drive is not None else ""
    return Proposal(
        "gears", f"{'A gear step' if len(steps) == 1 else 'Two gear steps'}: {names}",
        tuple(words), sketch, ground.before, ground.before, push(old, ground.before),
        felt_now, worst, after, math.nan, math.nan, 0.0, turns, (crank,))


def _shifts(each: FoundPair) -> tuple[float, float]:
    """The shifts of both wheels, modules; none that is not worth cutting."""
    a, b = (0.0 if abs(gear.shift) <= 5e-3 else round(gear.shift, 4)
            for gear in (each.pair.a, each.pair.b))
    return a, b


def _pair_words(each: FoundPair, units: str) -> str:
    pair, shifts = each.pair, _shifts(each)
    shifted = (f", shifted {shifts[0]:+.2f} and {shifts[1]:+.2f} modules"
               if any(shifts) else "")
    return (f"{pair.a.teeth} teeth on the hand's side into {pair.b.teeth} on the crank's,"
            f" module {pair.a.module_mm:g} mm{shifted}: {2 * pair.a.tip_mm:.1f} and"
            f" {2 * pair.b.tip_mm:.1f} mm across the tips, centres"
            f" {show_length(pair.centre_mm, units)} apart, contact ratio"
            f" {pair.contact_ratio:.2f}, no undercut.")


