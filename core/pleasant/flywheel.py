"""A flywheel: how large it would have to be, and whether that is worth while.

A hand that pushes steadily with the mean torque leaves energy over where the mechanism
asks for less and owes it where it asks for more. The swing E of that energy over the turn
and the moment of inertia I at the mean speed ω make the fluctuation of speed
C = (ω_max − ω_min) / ω = E / (I ω²) (textbook of machine dynamics; e.g. J. E. Shigley and
others, *Mechanical Engineering Design*, ch. 16, from memory).
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from msgspec.structs import replace

from core.effort.frames import weights_of
from core.effort.hand import ratio_of
from core.errors import CrankwrightError
from core.model import Disc, Lock, Part, Point, Sketch, part_of
from core.model.edits import add, fresh_id, get, put
from core.model.stuff import material_of
from core.motion import solve_turn
from core.pleasant.ground import Ground, filled
from core.pleasant.ground import ground as ground_of
from core.pleasant.options import FlywheelRules, Options
from core.pleasant.proposal import Declined, Proposal, push
from core.space import gaps
from core.units import KG_PER_POUND, MM_PER_INCH, show_length, show_mass, show_torque

#: kg·mm² of 1 N·mm·s²: 1 N·mm = 1e3 kg·mm²/s².
_KGMM2 = 1e3
#: A wheel whose weight multiplies the peak torque by more than this, by friction alone, is
#: not worth its evenness (common practice, no source).
_DEAR = 2.0
#: A mean torque below this share of the peak is none.
_NOTHING = 1e-3


@dataclass(frozen=True)
class Swing:
    """`energy_nmm` N·mm (mJ): the swing of energy over the cycle when the hand pushes with
    the mean torque `mean_nmm`; `inertia_kgmm2` the mechanism's own mean reduced inertia;
    `speed` rad/s of the crank."""

    energy_nmm: float
    mean_nmm: float
    inertia_kgmm2: float
    speed: float

    def fluctuation(self, more_kgmm2: float = 0.0) -> float:
        """(most − least speed) / mean with so much more inertia; infinite without any."""
        whole = (self.inertia_kgmm2 + more_kgmm2) * self.speed**2 / _KGMM2
        return self.energy_nmm / whole if whole > 0.0 else math.inf

    def needed(self, fluctuation: float) -> float:
        """Inertia to be added for a fluctuation of speed, kg·mm²."""
        whole = self.energy_nmm * _KGMM2 / (fluctuation * self.speed**2)
        return max(whole - self.inertia_kgmm2, 0.0)


def swing_of(ground: Ground) -> Swing:
    """The swing of energy over the turn, friction at the middle of its range."""
    lanes, frames = ground.before, ground.frames
    torque = filled((lanes.low_nmm + lanes.high_nmm) / 2.0)
    mean = float(torque.mean())
    step = 2.0 * math.pi * ground.turn.crank_turns / torque.size
    over = np.concatenate([[0.0], np.cumsum((torque + np.roll(torque, -1)) / 2.0 - mean)])
    masses = weights_of(ground.sketch, ground.plan)
    arm = frames.rotation * masses.centre[:, None]
    rate = 1j * frames.spin * arm + frames.shift1
    reduced = (masses.kg[:, None] * np.abs(rate) ** 2
               + masses.inertia_kgmm2[:, None] * frames.spin**2).sum(axis=0)
    drive = ground.sketch.drive
    speed = abs(drive.rpm) * 2.0 * math.pi / 60.0 if drive is not None else 0.0
    return Swing(float(np.ptp(over)) * step, mean, float(np.nanmean(reduced)), speed)


def flywheel_proposals(ground: Ground, options: Options,
                       go_on: Callable[[float], bool]) -> list[Proposal | Declined]:
    """A flywheel on the crank's shaft, or why none would help."""
    rules, drive, units = options.flywheel, ground.sketch.drive, ground.sketch.units
    if drive is None or drive.kind != "turn":
        return [Declined("flywheel", "A crank that rocks stops at each end: a flywheel would"
                                     " have to be stopped with it, and helps nothing.")]
    found = swing_of(ground)
    if found.mean_nmm <= _NOTHING * ground.before.peak_high_nmm or found.speed == 0.0:
        return [Declined("flywheel", (
            "Over the turn the mechanism asks for no more than"
            f" {show_torque(max(found.mean_nmm, 0.0), units)} on the mean: the hand would not"
            " push steadily, and a flywheel has nothing to store."))]
    own = found.fluctuation()
    if own <= rules.fluctuation:
        return [Declined("flywheel", (
            f"The mechanism's own inertia already holds the speed within {own:.0%}."))]
    inertia = found.needed(rules.fluctuation)
    material = material_of(ground.sketch.materials, rules.material)
    density = material.density_kg_m3 * 1e-9
    wide = 2.0 * (2.0 * inertia / (math.pi * density * rules.thickness_mm)) ** 0.25
    wide = float(math.ceil(wide))
    kg = density * math.pi / 4.0 * wide**2 * rules.thickness_mm
    energy = (f"The torque's swing leaves {found.energy_nmm:.3g} mJ over and short in a turn"
              f" at {abs(drive.rpm):g} a minute; to hold the speed within"
              f" {rules.fluctuation:.0%} takes {_inertia(inertia, units)}, a disc of"
              f" {material.name} {show_length(wide, units)} across and"
              f" {show_length(rules.thickness_mm, units)} thick, {show_mass(kg, units)}")
    if wide > rules.largest_mm or kg > rules.most_kg:
        return [Declined("flywheel", energy + (
            f": more than is allowed ({show_length(rules.largest_mm, units)},"
            f" {show_mass(rules.most_kg, units)}). At this pace balance helps, not inertia."))]
    go_on(0.5)
    made = _built(ground, rules, wide)
    if made is None:
        return [Declined("flywheel", energy + ". There is no layer for it in which its shaft"
                                              " stays clear of what moves.")]
    sketch, layer = made
    after = ground_of(solve_turn(sketch, steps=ground.turn.crank_rad.size
                                 // ground.turn.crank_turns)).before
    if after.peak_high_nmm > _DEAR * ground.before.peak_high_nmm:
        return [Declined("flywheel", energy + (
            ". The friction its weight adds costs more than an even pace is worth: at most"
            f" {show_torque(after.peak_high_nmm, units)} instead of"
            f" {show_torque(ground.before.peak_high_nmm, units)}."))]
    then = found.fluctuation(kg * wide**2 / 8.0)
    heavier = "" if after.peak_high_nmm <= 1.01 * ground.before.peak_high_nmm else (
        ", but for the friction its weight adds: at most"
        f" {show_torque(after.peak_high_nmm, units)} instead of"
        f" {show_torque(ground.before.peak_high_nmm, units)}")
    words = (energy + ".",
             f"The speed then swings by {then:.0%} instead of"
             f" {'more than the whole' if own > 2.0 else f'{own:.0%}'} of its mean, when the"
             " hand pushes steadily; the torque a hand feels that keeps the pace exactly"
             f" is as before{heavier}.",
             f"It lies in layer {layer}, locked to {drive.part}. It costs"
             f" {show_mass(kg, units)} and a slower start and stop; a heavy wheel does not stop"
             " for fingers: guard it.")
    return [Proposal("flywheel", f"A flywheel of {show_length(wide, units)}", words, sketch,
                     ground.before, after, push(sketch.handle, ground.before),
                     push(sketch.handle, after), own, then, math.nan, math.nan, kg,
                     ratio_of(sketch.handle), (drive.part,))]


def _inertia(kgmm2: float, units: str) -> str:
    """A moment of inertia to three figures: kg·cm², or lb·in² when lengths are in inches."""
    value = kgmm2 / (KG_PER_POUND * MM_PER_INCH**2) if units == "in" else kgmm2 / 100.0
    return f"{float(f'{value:.3g}'):g} {'lb·in²' if units == 'in' else 'kg·cm²'}"


def _built(ground: Ground, rules: FlywheelRules, wide: float) -> tuple[Sketch, int] | None:
    """The sketch with a disc on the crank's shaft in a layer where nothing meets it."""
    sketch = ground.sketch
    drive = sketch.drive
    assert drive is not None
    pin = get(sketch, drive.pin)
    centre = sketch.place(next(ref for ref in pin.at if part_of(ref) == drive.part))
    layers = [sketch.layer_of(part.id) for part in sketch.parts]
    name = fresh_id(sketch, "flywheel")
    for layer in (min(layers) - 1, max(layers) + 1):
        disc = Part(id=name, points=(Point(id="shaft", x=centre.real, y=centre.imag),),
                    outline=Disc(radius_mm=wide / 2.0, centre="shaft"), layer=layer,
                    thickness_mm=rules.thickness_mm, material=rules.material)
        changed = add(sketch, "parts", disc)
        changed = put(changed, replace(pin, at=(*pin.at, f"{name}.shaft")))
        changed = add(changed, "locks", Lock(id=fresh_id(changed, "flywheel lock"), pin=pin.id,
                                             parts=(drive.part, name), kind="pinned"))
        if _clear(changed, ground, pin.id, name):
            return changed, layer
    return None


def _clear(sketch: Sketch, ground: Ground, pin_id: str, name: str) -> bool:
    """Whether disc and shaft keep clear, of what they were clear of before."""
    steps = max(90, ground.coarse.turn.crank_rad.size // ground.turn.crank_turns)
    try:
        near = gaps(solve_turn(sketch, steps=steps), refine=False, about=frozenset({name}))
    except CrankwrightError:
        return False
    mine = {name, f"pin {pin_id}"}
    was = {frozenset((pair.a, pair.b)) for pair in gaps(
        ground.coarse.turn, refine=False).pairs if pair.smallest_mm < sketch.gap_mm}
    return not any(mine & {pair.a, pair.b} and pair.smallest_mm < sketch.gap_mm
                   and frozenset((pair.a, pair.b)) not in was for pair in near.pairs)
