"""Paper sizes, drawing scales, and what the user may ask of the sheets."""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from core.errors import CrankwrightError
from core.units import MM_PER_INCH

_IN = MM_PER_INCH

#: Trimmed sizes, upright, mm. ISO 216 (A0 to A4); ASME Y14.1 (ANSI A to E), from memory.
PAPERS: dict[str, tuple[float, float]] = {
    "A4": (210.0, 297.0), "A3": (297.0, 420.0), "A2": (420.0, 594.0),
    "A1": (594.0, 841.0), "A0": (841.0, 1189.0),
    "letter": (8.5 * _IN, 11 * _IN), "tabloid": (11 * _IN, 17 * _IN),
    "ledger": (11 * _IN, 17 * _IN),
    "ANSI A": (8.5 * _IN, 11 * _IN), "ANSI B": (11 * _IN, 17 * _IN),
    "ANSI C": (17 * _IN, 22 * _IN), "ANSI D": (22 * _IN, 34 * _IN),
    "ANSI E": (34 * _IN, 44 * _IN),
}

# ISO 5455: 1, 2 and 5 and their powers of ten; intermediate scales where those will not do,
# here 1:2.5 and 1:25, between which the recommended ones leave the widest gap. From memory.
# Halvings on inch drawings, with 3:4 and 3:8 between them, are common practice, no source.
_METRIC = (50.0, 20.0, 10.0, 5.0, 2.0, 1.0, 0.5, 0.4, 0.2, 0.1, 0.05, 0.04, 0.02, 0.01,
           0.005, 0.002, 0.001)
_INCH = tuple(sorted((*(2.0 ** power for power in range(4, -11, -1)), 0.75, 0.375),
                     reverse=True))

#: ISO 5457: 20 mm at the filing edge, 10 mm elsewhere. As quoted in a drafting guide.
FILING_EDGE = 20.0
EDGE = 10.0


@dataclass(frozen=True)
class SheetOptions:
    """What to print.

    Attributes
    ----------
    paper : a name of :data:`PAPERS`, in any case; "" is A4, or letter in inch sketches.
    at_deg : crank angle of the layout; None is the drawn pose.
    scale : paper length over real length, such as 0.5; None chooses a standard scale.
    templates : add every part at full size.
    extremes : show the extreme positions of the moving parts.
    number, owner, creator, approver, date : title block (ISO 7200); `creator` and `owner`
        fall back to the author of the sketch, `number` to a digest of the sketch.
    """

    paper: str = ""
    at_deg: float | None = None
    scale: float | None = None
    templates: bool = True
    extremes: bool = False
    number: str = ""
    owner: str = ""
    creator: str = ""
    approver: str = ""
    date: str = ""


def paper_named(name: str, units: Literal["mm", "in"] = "mm") -> str:
    """The paper in :data:`PAPERS` called `name`, whatever its case; "" is the usual one,
    a single letter that ANSI size.

    Raises
    ------
    CrankwrightError
        When there is none.
    """
    if not name.strip():
        return "letter" if units == "in" else "A4"
    wanted = "".join(name.casefold().split()).replace("-", "")
    if len(wanted) == 1:
        wanted = "ansi" + wanted
    for known in PAPERS:
        if wanted == "".join(known.casefold().split()):
            return known
    raise CrankwrightError(f"no paper is called {name!r}", "paper",
                           "use one of " + ", ".join(PAPERS))


def standard_scale(largest: float, units: Literal["mm", "in"] = "mm") -> float:
    """The largest standard scale not above `largest` (paper length over real length, above
    0); beyond the usual ones a power of ten, or of two in inches."""
    row, base = (_INCH, 2.0) if units == "in" else (_METRIC, 10.0)
    found = next((scale for scale in row if scale <= largest * (1 + 1e-9)), None)
    return found or base ** math.floor(math.log(largest, base))


def show_scale(scale: float) -> str:
    """A scale as "1:5", "2:1", "3:8"; one that is no such ratio to three figures."""
    if scale < 1 and math.isclose(scale * 8, round(scale * 8), rel_tol=1e-9):
        eighths = Fraction(round(scale * 8), 8)
        return f"{eighths.numerator}:{eighths.denominator}"
    up, down = (scale, 1.0) if scale >= 1 else (1.0, 1 / scale)

    def figure(value: float) -> str:
        near = round(value)
        return str(near) if math.isclose(value, near, rel_tol=1e-6) else f"{value:.3g}"

    return f"{figure(up)}:{figure(down)}"


def check_scale(scale: float | None) -> None:
    """Raises CrankwrightError unless the scale is None or a positive number."""
    if scale is not None and not (math.isfinite(scale) and 1e-4 <= scale <= 1e3):
        raise CrankwrightError(f"{scale:g} is not a drawing scale", "scale",
                               "give one such as 0.5 for half size")
