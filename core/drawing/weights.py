"""Weights on the sheets: named, tabled, and drawn where they are let in or bolted on."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import count

from core.drawing.items import DIMENSION, HIDDEN, Circle, Item, Pen
from core.drawing.subject import Subject
from core.drawing.symbols import cross
from core.model import Weight
from core.units import show_length, show_mass

#: The rim of a weight: cut like a bore.
_RIM = Pen(0.35)


@dataclass(frozen=True)
class Ballast:
    """A weight of a part: its label, its place in the drawn pose and in the pose shown."""

    label: str
    part: str
    drawn: complex
    at: complex
    weight: Weight

    @property
    def radius_mm(self) -> float:
        """Of its disc; small where its size is not known."""
        return max(self.weight.diameter_mm / 2.0, 0.0)


def ballasts(subject: Subject) -> list[Ballast]:
    """Every weight of the sketch, Wt1, Wt2, … in the order of the parts."""
    number = count(1)
    return [Ballast(f"Wt{next(number)}", part.id, weight.place,
                    subject.moved(part.id, weight.place), weight)
            for part in subject.sketch.parts for weight in part.weights]


def weight_words(weight: Weight, units: str) -> str:
    """What it is in a few words: "Ø24 mm × 6 mm, adds 21 g, disc of steel, let in"."""
    words = []
    if weight.diameter_mm:
        size = f"Ø{show_length(weight.diameter_mm, units)}"
        if weight.thickness_mm:
            size += f" × {show_length(weight.thickness_mm, units)}"
        words.append(size)
    words.append(f"adds {show_mass(weight.mass_kg, units)}")
    if weight.made_of:
        words.append(weight.made_of)
    return ", ".join(words)


def rim(ballast: Ballast, at: complex, scale: float, hidden: bool = False) -> list[Item]:
    """The disc on the page with its centre cross."""
    radius = max(ballast.radius_mm * scale, 0.6)
    return [Circle(at.real, at.imag, radius, HIDDEN if hidden else _RIM),
            *cross(at, radius + 1.5, DIMENSION)]
