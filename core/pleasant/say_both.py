"""Weights and springs together as a proposal, in words."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from core.pleasant.combining import Combined, combine
from core.pleasant.ground import Ground
from core.pleasant.options import Kind, Options
from core.pleasant.proposal import Declined, Proposal
from core.pleasant.say_springs import hooked_words
from core.pleasant.say_weights import placed_words
from core.pleasant.words import compared, listed, mass, proposed
from core.units import show_torque

#: More things to make must take away at least this share of the value before more than the
#: best of one kind does.
WORTH_BOTH = 0.04


def both_proposals(ground: Ground, options: Options, go_on: Callable[[float], bool],
                   found: Sequence[Proposal]) -> list[Proposal | Declined]:
    """Weights and springs together, where that is better than each of `found` by a
    worthwhile share; else nothing: each alone was proposed or declined already."""
    aim = options.wanted
    before = ground.before.value(aim)
    alone: dict[Kind, float] = {
        each.kind: min(one.value_after for one in found if one.kind == each.kind)
        for each in found if each.kind in ("weights", "springs")}
    least = min([before, *alone.values()]) - WORTH_BOTH * before
    if least <= 0.0:
        return []
    made = combine(ground, options, go_on)
    if made is None or ground.lanes(made.into(ground.sketch)).value(aim) > least:
        return []
    return [_proposal(ground, options, made, alone)]


def _proposal(ground: Ground, options: Options, made: Combined,
              alone: dict[Kind, float]) -> Proposal:
    aim, units = options.wanted, ground.sketch.units
    sketch = made.into(ground.sketch)
    after = ground.lanes(sketch).value(aim)
    joint = made.joint
    words = [placed_words(ground, each) for each in made.placed]
    words += [hooked_words(ground, each) for each in made.made]
    words.append(compared(ground, aim, joint.optimum.value, joint.bound, after))
    words.append("The proof holds for springs between hooks of the grid that was searched and"
                 " for whatever weights are allowed.")
    rest = [f"{kind} alone leave {show_torque(value, units)}"
            for kind, value in sorted(alone.items(), reverse=True)]
    if rest:
        words.append(f"They help each other: {' and '.join(rest)}.")
    kg = sum(each.piece.kg * len(ground.images(each.site.part.id)) for each in made.placed)
    words.append(f"It costs {mass(kg, ground)} more to carry round, a layer for each spring,"
                 " and wearing eye protection when hooking it in.")
    heavy = [each.site.part.id for each in made.placed]
    pulled = [each.hook.part for each in made.made]
    title = (f"{'Weights' if len(heavy) > 1 else 'A weight'} on {listed(heavy)} and"
             f" {'springs' if len(pulled) > 1 else 'a spring'} on {listed(pulled)}")
    return proposed(ground, aim, "both", title, words, sketch,
                    tuple(dict.fromkeys([*heavy, *pulled])), plain=joint.optimum.value,
                    bound=joint.bound)
