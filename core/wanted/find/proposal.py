"""What `find` offers."""

from __future__ import annotations

from dataclasses import dataclass

from core.model import Sketch


@dataclass(frozen=True)
class Proposal:
    """A mechanism that does what is wished, and what it is worth.

    Attributes
    ----------
    family, name : id of the family, and what the mechanism is called in plain words.
    sketch : a complete sketch of its own, the wishes attached.
    error : rms of all errors, in tolerances.
    worst : the largest error, in tolerances; `worst_mm` the largest distance, mm (0 when
        no place is wished).
    transmission_deg : smallest transmission angle over the turn; 90 is best.
    size_mm : longest side of the box everything moves in.
    peak_torque_nmm : largest torque at the crank of a build in default sheet, N·mm, for
        gravity alone; NaN where it has no sound value.
    pareto : whether none of the others is better or equal in error, transmission angle,
        size and torque at once.
    kin : proposals of one number draw the same path (cognates), told from each other by
        their build.
    meets : pairs of parts or pins (``"pin ID"``) that are in each other's way somewhere
        on the turn, as the sketch is stacked, the deepest first.
    """

    family: str
    name: str
    sketch: Sketch
    error: float
    worst: float
    worst_mm: float
    transmission_deg: float
    size_mm: float
    peak_torque_nmm: float
    pareto: bool = False
    kin: int = 0
    meets: tuple[tuple[str, str], ...] = ()

    @property
    def good(self) -> bool:
        """Whether every wish is met: no error above its tolerance."""
        return self.worst <= 1.0


@dataclass(frozen=True)
class Found:
    """The proposals so far, best first; `done` is 0 to 1, `stage` says what goes on;
    `words` tells in plain sentences what was left out, and why."""

    proposals: tuple[Proposal, ...] = ()
    done: float = 0.0
    stage: str = ""
    words: tuple[str, ...] = ()
