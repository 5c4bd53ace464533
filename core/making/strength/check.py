"""What a check of strength says, and how grave it is."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np

from core.materials import Figure, Figures, Trust
from core.motion.turn import Floats

#: What is checked; `core.making.strength.words` says each in words.
CheckKind = Literal[
    "rod-torsion", "rod-jam", "rod-bending", "rod-shear", "rod-twist", "rod-slope", "bearing",
    "tear-out", "wag", "link-stress", "link-buckling", "neck", "tooth", "hinge-screws"]
#: "breaks": it surely gives way. "doubtful": it may. "near": it holds, but with less in hand
#: than is asked for. "holds".
Verdict = Literal["breaks", "doubtful", "near", "holds"]
VERDICTS: tuple[Verdict, ...] = ("breaks", "doubtful", "near", "holds")


@dataclass(frozen=True)
class Check:
    """One thing held against what it bears, at the crank angle where it is worst.

    Attributes
    ----------
    kind : what is checked.
    parts, joints : ids of those concerned; the thing that gives way is `thing`.
    value, unit : the load there ("MPa", "N", "N·mm", "°", "mm").
    gives : range at which it gives way (or, of a stiffness, is felt), same unit.
    needed : range of the safety number that is asked for.
    crank_rad : where it is worst.
    formula, source : in words; `trust` of the weakest figure in it.
    units : "mm" or "in", what lengths and loads are shown in.
    size_mm : the measure that would have to grow, if there is one (diameter, width), and
        `power` with which what it bears grows with it (3 for bending of a rod).
    soft : how things feel, not whether they break.
    """

    kind: CheckKind
    thing: str
    parts: tuple[str, ...]
    joints: tuple[str, ...]
    value: float
    gives: tuple[float, float]
    needed: tuple[float, float]
    unit: str
    crank_rad: float
    formula: str
    source: str
    trust: Trust
    units: str = "mm"
    size_mm: float | None = None
    power: float = 1.0
    soft: bool = False

    @property
    def text(self) -> str:
        """What it says, one sentence; put together when somebody reads it."""
        from core.making.strength.words import sentence  # it knows checks

        return sentence(self, self.units)

    @property
    def allowed(self) -> tuple[float, float]:
        """Range of the load that may be built on: `gives` divided by `needed`."""
        return self.gives[0] / self.needed[1], self.gives[1] / self.needed[0]

    @property
    def safety(self) -> tuple[float, float]:
        """How many times the load it bears before it gives way, from low to high."""
        if not self.value > 0.0:
            return math.inf, math.inf
        return self.gives[0] / self.value, self.gives[1] / self.value

    @property
    def share(self) -> float:
        """The load as a share of the least that may be built on; above 1 it is too much."""
        return self.value / self.allowed[0] if self.allowed[0] > 0.0 else math.inf

    @property
    def verdict(self) -> Verdict:
        """How it holds; see :data:`Verdict`. What only a jam would break may give way, and
        what is only felt is not graver than near."""
        if self.value > self.gives[1]:
            return "doubtful" if self.soft or self.kind == "rod-jam" else "breaks"
        if self.value > self.allowed[1]:
            return "near" if self.soft else "doubtful"
        return "near" if self.value > self.allowed[0] else "holds"

    @property
    def wanted_mm(self) -> float | None:
        """The measure with which it would hold with the least safety asked for."""
        if self.size_mm is None or not math.isfinite(self.share):
            return None
        return self.size_mm * float(max(self.share, 1.0) ** (1.0 / self.power))


@dataclass(frozen=True)
class Strength:
    """All checks of a turn, the one with the least in hand first, and what was assumed."""

    checks: tuple[Check, ...]
    notes: tuple[str, ...] = ()

    def of(self, *ids: str) -> tuple[Check, ...]:
        """Those that concern any of these parts or joints."""
        wanted = set(ids)
        return tuple(one for one in self.checks
                     if not wanted.isdisjoint((*one.parts, *one.joints)))


def worst(load: Floats, gives: Figures | Figure | float) -> tuple[int, float, float, float]:
    """The step at which a load is the greatest share of what is borne.

    Parameters
    ----------
    load : (N,) not negative; NaN where not reached.
    gives : a range at every step, or one for all.

    Returns
    -------
    step, or −1 when nothing is loaded; the load there, and the range it gives way at.
    """
    if isinstance(gives, float):
        low = high = np.asarray(gives)
    else:
        low, high = np.asarray(gives.low), np.asarray(gives.high)
    share = np.where(np.isfinite(load), load, -np.inf) / np.maximum(low, 1e-12)
    step = int(np.argmax(share))
    if not load[step] > 0.0:
        return -1, 0.0, 0.0, 0.0
    at = step if low.ndim else ()
    return step, float(load[step]), float(low[at]), float(high[at])
