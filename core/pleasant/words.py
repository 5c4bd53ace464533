"""Figures and names as the proposals say them, and proposals put together."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from core import wording
from core.effort.hand import ratio_of
from core.model import Sketch
from core.pleasant.ground import Ground
from core.pleasant.options import AIMS, Aim, Kind
from core.pleasant.proposal import Proposal, push
from core.units import show_mass, show_torque


def listed(names: Iterable[str]) -> str:
    """Names, each once, as a reader wants them: "a", "a and b", "a, b and c"."""
    return wording.listed(dict.fromkeys(names))


def judged(aim: Aim) -> str:
    """What the aim makes small, as the beginning of a sentence."""
    return {AIMS["peak"]: "The most the hand must push or hold at the crank",
            AIMS["ripple"]: "The ripple of the torque",
            AIMS["steady"]: "The peak, with running away counted a thousandfold,",
            }.get(aim, "The weighted torque")


def compared(ground: Ground, aim: Aim, plain: float, bound: float, after: float) -> str:
    """The sentence of the value before, by the programme, its bound, and as made."""
    units = ground.sketch.units
    friction = show_torque(ground.before.value(aim), units)
    bare = show_torque(ground.before.value(aim, friction=False), units)
    return (f"{judged(aim)} was {friction} with most friction, {bare} without. The"
            f" best found has {show_torque(plain, units)} without friction, and it is proved"
            f" that nothing among what is allowed gets below {show_torque(bound, units)};"
            f" as it can be made it is {show_torque(after, units)} with most friction.")


def proposed(ground: Ground, aim: Aim, kind: Kind, title: str, words: Iterable[str],
             sketch: Sketch, parts: tuple[str, ...], *, plain: float = np.nan,
             bound: float = np.nan) -> Proposal:
    """A proposal evaluated in full: lanes, push, and what it adds to the mechanism."""
    after = ground.lanes(sketch)
    before = ground.before
    return Proposal(
        kind, title, tuple(words), sketch, before, after, push(ground.sketch.handle, before),
        push(sketch.handle, after), before.value(aim), after.value(aim), plain, bound,
        _added(ground.sketch, sketch), ratio_of(sketch.handle), parts)


def _added(before: Sketch, after: Sketch) -> float:
    """Mass of the weights that were added, kg."""
    return sum(sign * weight.mass_kg for sketch, sign in ((after, 1.0), (before, -1.0))
               for part in sketch.parts for weight in part.weights)


def mass(kg: float, ground: Ground) -> str:
    """A mass in the sketch's units."""
    return show_mass(kg, ground.sketch.units)
