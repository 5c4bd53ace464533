"""Extension and torsion springs as proposals, in words."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from core.pleasant.ground import Ground
from core.pleasant.options import Options
from core.pleasant.proposal import Declined, Proposal
from core.pleasant.say_weights import WORTH
from core.pleasant.springs import STARTS, Sprung, spring
from core.pleasant.torsion import Twisted, twist, twisted
from core.pleasant.winding import Made, sprung, wind
from core.pleasant.words import compared, listed, proposed
from core.units import show_angle, show_force, show_length, show_rate, show_torque

#: What is tried one after the other: factors of the shortest length and the hardest pull.
_EASIER = ((1.0, 1.0), (3.0, 0.6))


def spring_proposals(ground: Ground, options: Options,
                     go_on: Callable[[float], bool]) -> list[Proposal | Declined]:
    """Extension springs from the frame to moving parts: the best that can be wound, of a
    few places to hook them in and, where coils would be too long or too weak, of longer
    and weaker springs."""
    aim, units = options.wanted, ground.sketch.units
    why = ("No spring between the frame and a moving part makes it easier: there is no room"
           " for hooks, or the torque is not such as a spring could even out.")
    for longer, weaker in _EASIER:
        rules = replace(options.springs, most_pull_n=options.springs.most_pull_n * weaker,
                        shortest_mm=options.springs.shortest_mm * longer)
        for skip in range(STARTS):
            found = spring(ground, aim, rules, go_on, skip)
            if found is None or not go_on(0.7):
                break
            made = wind(ground, found.hooks, aim, rules, go_on)
            if not made:
                hook = found.hooks[0]
                why = (f"The best spring would need a rate of {show_rate(hook.rate, units)} and"
                       f" {show_force(hook.most_n(ground), units)}; no coil of the wires"
                       " allowed does that, nor another as good.")
                continue
            proposal = _proposal(ground, options, found, made)
            if proposal.value_after <= proposal.value_before * (1.0 - WORTH):
                return [proposal]
            why = ("As it can be wound, no spring takes a hundredth off the value of"
                   f" {show_torque(proposal.value_before, units)}.")
    return [Declined("springs", why)]


def _proposal(ground: Ground, options: Options, found: Sprung,
              made: tuple[Made, ...]) -> Proposal:
    aim = options.wanted
    sketch = sprung(ground.sketch, made)
    after = ground.lanes(sketch).value(aim)
    words = [hooked_words(ground, each) for each in made]
    words.append(compared(ground, aim, found.optimum.value, found.optimum.bound, after))
    units = ground.sketch.units
    words.append(
        "The proof holds for these hooks; between any hooks of the grid that was searched"
        f" so many springs cannot get below {show_torque(found.grid_bound, units)}.")
    words.append("Leave a layer for each spring, and wear eye protection when hooking it in.")
    names = tuple(each.hook.part for each in made)
    many = len(made) > 1 or len(ground.images(names[0])) > 1
    return proposed(ground, aim, "springs", f"{'Springs' if many else 'A spring'} on"
                    f" {listed(names)}", words, sketch, names, plain=found.optimum.value,
                    bound=min(found.optimum.bound, found.grid_bound))


def hooked_words(ground: Ground, each: Made) -> str:
    """Where a spring is hooked in and how it is wound."""
    hook, units = each.hook, ground.sketch.units

    def spot(place: complex) -> str:
        return f"x {show_length(place.real, units)}, y {show_length(place.imag, units)}"

    stretch = hook.stretched(ground)
    text = (f"From {hook.part} at {spot(hook.a)} to {hook.frame} at {spot(hook.b)} (drawn"
            f" pose): rate {show_rate(hook.rate, units)}, free length"
            f" {show_length(hook.free_mm, units)}, stretched to between"
            f" {show_length(float(stretch.least[0]), units)} and"
            f" {show_length(float(stretch.most[0]), units)}, at most"
            f" {show_force(hook.most_n(ground), units)}")
    if each.wound is None:
        text += ", no initial tension"
    else:
        coil = each.wound.coil
        text += (f"; music wire {coil.wire_mm:g} mm, {coil.mean_mm + coil.wire_mm:g} mm"
                 f" outside, {coil.turns:g} turns, initial tension"
                 f" {show_force(each.wound.tension_n, units)}"
                 + (f", and a link of wire of {show_length(each.link_mm, units)}"
                    if each.link_mm > 0.5 else ""))
    twins = [name for name, carry in ground.images(hook.part) if carry is not None]
    return text + (f"; the same mirrored on {listed(twins)}." if twins else ".")


def torsion_proposals(ground: Ground, options: Options,
                      go_on: Callable[[float], bool]) -> list[Proposal | Declined]:
    """Torsion springs about pins that swing."""
    found = twist(ground, options.wanted, options.springs, go_on)
    if found is None:
        return [Declined("torsion", "No torsion spring about a pin that swings makes it"
                                    " easier, or none that can be wound.")]
    proposal = _turned(ground, options, found)
    if proposal.value_after > proposal.value_before * (1.0 - WORTH):
        return [Declined("torsion", (
            "As it can be wound, no torsion spring takes a hundredth off the value of"
            f" {show_torque(proposal.value_before, ground.sketch.units)}."))]
    return [proposal]


def _turned(ground: Ground, options: Options, found: Twisted) -> Proposal:
    aim, units = options.wanted, ground.sketch.units
    sketch = twisted(ground.sketch, found.made)
    after = ground.lanes(sketch).value(aim)
    words = []
    for each in found.made:
        coil = each.coil
        words.append(
            f"About pin {each.pin}, from {each.a} to {each.b}: rate"
            f" {show_torque(each.rate, units)} for a degree, without torque when {each.b} is"
            f" turned {show_angle(round(each.free_deg))} from the drawn pose against {each.a},"
            f" at most {show_torque(each.most_nmm, units)}; music wire {coil.wire_mm:g} mm,"
            f" {coil.mean_mm + coil.wire_mm:g} mm outside, {coil.turns:g} turns.")
    words.append(compared(ground, aim, found.optimum.value, found.optimum.bound, after))
    names = tuple(each.b for each in found.made)
    return proposed(ground, aim, "torsion", "Torsion springs at" f" {_pins(found)}" if len(
        found.made) > 1 else f"A torsion spring at {_pins(found)}", words, sketch, names,
        plain=found.optimum.value, bound=found.optimum.bound)


def _pins(found: Twisted) -> str:
    return listed(each.pin for each in found.made)
