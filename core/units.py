"""Quantities as people write them, and back.

Inside the program: mm, degrees at this edge (radians further in), kg, N, N·mm.
1 in = 25.4 mm exactly and 1 lb = 0.453 592 37 kg exactly (international yard and pound,
1959); standard gravity 9.806 65 m/s² (3rd CGPM, 1901).
"""

from __future__ import annotations

import math
import re
import unicodedata
from fractions import Fraction

from core.errors import UnitError

MM_PER_INCH = 25.4
KG_PER_POUND = 0.45359237
N_PER_LBF = KG_PER_POUND * 9.80665
NMM_PER_LBF_IN = N_PER_LBF * MM_PER_INCH
MPA_PER_PSI = N_PER_LBF / MM_PER_INCH**2

_LENGTHS = {
    "mm": 1.0, "millimetre": 1.0, "millimeter": 1.0,
    "cm": 10.0, "centimetre": 10.0, "centimeter": 10.0,
    "m": 1000.0, "metre": 1000.0, "meter": 1000.0,
    "µm": 1e-3, "um": 1e-3, "thou": MM_PER_INCH / 1000, "mil": MM_PER_INCH / 1000,
    "in": MM_PER_INCH, '"': MM_PER_INCH, "inch": MM_PER_INCH,
    "ft": 12 * MM_PER_INCH, "'": 12 * MM_PER_INCH,
    "foot": 12 * MM_PER_INCH, "feet": 12 * MM_PER_INCH,
}
_ANGLES = {
    "°": 1.0, "deg": 1.0, "degree": 1.0, "rad": math.degrees(1.0),
    "radian": math.degrees(1.0), "turn": 360.0, "rev": 360.0,
    "'": 1 / 60, "min": 1 / 60, '"': 1 / 3600, "sec": 1 / 3600,
}
_MASSES = {
    "kg": 1.0, "g": 1e-3, "gram": 1e-3, "kilogram": 1.0,
    "lb": KG_PER_POUND, "pound": KG_PER_POUND,
    "oz": KG_PER_POUND / 16, "ounce": KG_PER_POUND / 16,
}
_FORCES = {
    "n": 1.0, "newton": 1.0, "kgf": 9.80665, "gf": 9.80665e-3,
    "lbf": N_PER_LBF, "lb": N_PER_LBF, "pound": N_PER_LBF,
    "ozf": N_PER_LBF / 16, "oz": N_PER_LBF / 16, "ounce": N_PER_LBF / 16,
}
def _products(forces: tuple[str, ...], lengths: tuple[str, ...]) -> dict[str, float]:
    """Units of torque: a force times a length, in either order."""
    return {word: _FORCES[force] * _LENGTHS[length]
            for force in forces for length in lengths
            for word in (f"{force}·{length}", f"{length}·{force}")}


_TORQUES = {
    "nm": 1000.0, "nmm": 1.0, "ncm": 10.0,
    **_products(("n", "newton", "kgf", "gf"),
                ("m", "mm", "cm", "metre", "meter", "millimetre", "millimeter")),
    **_products(("lbf", "lb", "pound", "ozf", "oz", "ounce"),
                ("in", "inch", "ft", "foot", "feet")),
}
#: What a message offers where the table is too long to be listed.
_OFFERED = {"a torque": "N·m, N·mm, lbf·in, ozf·in"}

# Signs and marks that look alike, written one way.
_ALIKE = str.maketrans({
    "−": "-", "–": "-", "—": "-", "‐": "-", "‑": "-", "⁄": "/", "∕": "/",
    "″": '"', "”": '"', "“": '"', "〃": '"', "′": "'", "’": "'", "‘": "'", "´": "'",
    "μ": "µ", "º": "°", "⋅": "·", "*": "·", "×": "·",
})
# The spaced forms come first: "1 1/2" must not be read as 1 and then 1/2.
_QUANTITY = re.compile(
    r"(?P<whole>\d+)(?:\s+|-|\s*\+\s*)(?P<up>\d+)\s*/\s*(?P<down>\d+)"
    r"|(?P<num>\d+)\s*/\s*(?P<den>\d+)"
    r"|(?P<dec>(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][-+]?\d{1,3})?)"
)
_UNIT = re.compile(r"[^\W\d_](?:[^\W\d_]|·|\.(?=[^\W\d_]))*|[\"'°]{1,2}")
_FACTORS = re.compile(r"(?<=[^\W\d_])(?:\s*[-‐‑·⋅*×.]\s*|\s+)(?=[^\W\d_])")
_LONGEST = 100


def _tidy(text: str) -> str:
    """One spelling for look-alike signs; "1½" becomes "1 1/2"."""
    out = []
    for mark in text:
        if unicodedata.category(mark) == "No" and "⁄" in unicodedata.normalize("NFKC", mark):
            out.append(" " + unicodedata.normalize("NFKC", mark) + " ")
        else:
            out.append(mark)
    return "".join(out).translate(_ALIKE).strip().replace("''", '"')


def _value(found: re.Match[str], text: str) -> Fraction:
    up, down = found["up"] or found["num"], found["down"] or found["den"]
    if up is None:
        return Fraction(found["dec"].replace(",", "."))
    if int(down) == 0:
        raise UnitError(f"{text.strip()!r} divides by nothing",
                        mend="write a fraction such as 1/4")
    return int(found["whole"] or 0) + Fraction(int(up), int(down))


def _spelled(unit: str, units: dict[str, float]) -> str:
    """A unit word in the spelling of the table: lower case, singular."""
    plain = unit.casefold().translate(_ALIKE).replace(".", "·").rstrip("·")
    singular = (plain, plain.removesuffix("s"), plain.removesuffix("es"),
                "·".join(word.removesuffix("s") for word in plain.split("·")),
                "·".join(word.removesuffix("es") for word in plain.split("·")))
    return next((word for word in singular if word in units), plain)


def _parse(text: str, units: dict[str, float], default: str, kind: str, example: str) -> float:
    """Sum of quantities with units: sign, then "number unit" as often as wished.

    A number without a unit is taken in `default`, or, after feet, in inches.
    """
    if len(text) > _LONGEST:
        raise UnitError(f"that is too long for {kind}", mend=f'write it like "{example}"')
    unreadable = UnitError(f"{text.strip()!r} is not {kind}", mend=f'write it like "{example}"')
    left = _tidy(text)
    sign = -1.0 if left.startswith("-") else 1.0
    left = left[1:].lstrip() if left[:1] in ("-", "+") else left
    total, last = Fraction(0), ""
    if not left:
        raise unreadable
    while left:
        found = _QUANTITY.match(left)
        if found is None:
            raise unreadable
        left = left[found.end():].lstrip()
        named = _UNIT.match(left)
        if named is not None:
            unit = _spelled(named[0], units)
            left = left[named.end():].lstrip()
        elif left or (last and last not in ("ft", "'", "foot", "feet")):
            raise unreadable
        else:
            unit = "in" if last else default
        if unit not in units:
            known = _OFFERED.get(kind) or ", ".join(u for u in units if u and len(u) < 5)
            name = named[0] if named is not None else unit
            raise UnitError(f"{name!r} is not a unit for {kind}",
                            mend=f"use one of {known}" if known else "leave it out")
        # Exact arithmetic, so that 1 1/2 in is 38.1 and not 38.099999….
        total += _value(found, text) * Fraction(str(units[unit]))
        last = unit
    try:
        return sign * float(total) if total else 0.0
    except OverflowError:
        raise UnitError(f"{text.strip()!r} is too large",
                        mend="write a smaller number") from None


def parse_length(text: str, default: str = "mm") -> float:
    """A length in mm.

    Parameters
    ----------
    text : such as ``6.35``, ``6 mm``, ``2,5 cm``, ``1/4 in``, ``1 1/2"``, ``1'2"``,
        ``½ in``, ``−3``; a comma is a decimal sign.
    default : unit of a bare number ("mm", "in", …).

    Raises
    ------
    UnitError
        When it cannot be read.
    """
    example = "1/4 in" if default == "in" else "6.35 mm"
    return _parse(text, _LENGTHS, default, "a length", example)


def parse_angle(text: str) -> float:
    """An angle in degrees from ``30``, ``30°``, ``12° 30'``, ``0.5 rad``, ``1/4 turn``.

    Raises UnitError when it cannot be read.
    """
    return _parse(text, _ANGLES, "°", "an angle", "30")


def parse_number(text: str) -> float:
    """A plain number from ``2.5``, ``2,5``, ``1/4``, ``1 1/2``, ``−3``.

    Raises UnitError when it cannot be read.
    """
    return _parse(text, {"": 1.0}, "", "a number", "2.5")


def parse_mass(text: str, default: str = "kg") -> float:
    """A mass in kg from ``0.2``, ``200 g``, ``7 oz``; raises UnitError."""
    return _parse(text, _MASSES, default, "a mass", "0.2 kg")


def parse_force(text: str, default: str = "n") -> float:
    """A force in N from ``5``, ``5 N``, ``1.1 lbf``; raises UnitError."""
    return _parse(text, _FORCES, default.casefold(), "a force", "5 N")


def parse_torque(text: str, default: str = "n·m") -> float:
    """A torque in N·mm from ``0.5 N·m``, ``500 N mm``, ``4 lbf·in``, ``3 in-lb``,
    ``20 ozf in``; raises UnitError."""
    # A factor may follow after a space or a hyphen; numbers stand between quantities.
    joined = _FACTORS.sub("·", text) if len(text) <= _LONGEST else text
    return _parse(joined, _TORQUES, default.casefold(), "a torque", "0.5 N·m")


def _decimals(value: float, places: int) -> str:
    """Rounded to `places` decimals, zeros at the end and the sign of zero dropped."""
    text = f"{value:.{places}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text in ("-0", "") else text.replace("-", "−")


def _figures(value: float, figures: int = 3) -> str:
    """Rounded to so many significant figures, never in powers of ten."""
    if value == 0 or not math.isfinite(value):
        return "0" if value == 0 else "–"
    places = figures - 1 - math.floor(math.log10(abs(value)))
    return _decimals(value, min(max(places, 0), 9))


def inch_fraction(mm: float) -> tuple[int, int, int] | None:
    """Whole inches, numerator, denominator of the fraction of an inch, to 64ths, that
    lies within 0.01 mm of the length |mm|; None when there is none."""
    parts = round(abs(mm) / MM_PER_INCH * 64)
    if abs(parts * MM_PER_INCH / 64 - abs(mm)) > 0.01:
        return None
    whole, rest = divmod(parts, 64)
    fraction = Fraction(rest, 64)
    return whole, fraction.numerator, fraction.denominator


def show_length(mm: float, units: str = "mm", unit: bool = True) -> str:
    """A length as text, in "mm" or "in".

    mm to 0.01, or to 0.001 where that is exact (3.175). Inches as a fraction to 64ths
    where one lies within 0.01 mm, else to 0.001 in. `unit` False leaves the unit out.
    NaN and infinity are a dash.
    """
    if not math.isfinite(mm):
        return "–"
    if units == "in":
        text = _inches(mm)
    else:
        text = _decimals(mm, 3 if abs(mm * 1000 - round(mm * 1000)) < 1e-6 else 2)
    return f"{text} {units}" if unit else text


def _inches(mm: float) -> str:
    exact = inch_fraction(mm)
    if exact is None:
        return _decimals(mm / MM_PER_INCH, 3)
    whole, up, down = exact
    words = [str(whole)] if whole or not up else []
    words += [f"{up}/{down}"] if up else []
    return ("−" if mm < 0 and (whole or up) else "") + " ".join(words)


def show_angle(deg: float) -> str:
    """An angle in degrees to 0.01°; a dash for NaN and infinity."""
    return f"{_decimals(deg, 2)}°" if math.isfinite(deg) else "–"


def show_error(value: float, unit: str, units: str = "mm") -> str:
    """How far off a wish is, `unit` being "mm" (then shown in `units`), "deg", or "" for a
    plain number, to three figures; a dash for NaN and infinity."""
    if unit == "mm":
        return show_length(value, units)
    if unit == "deg":
        return show_angle(value)
    return f"{value:.3g}" if math.isfinite(value) else "–"


def show_torque(nmm: float, units: str = "mm") -> str:
    """A torque to three figures: N·m, or lbf·in when lengths are in inches."""
    if units == "in":
        return f"{_figures(nmm / NMM_PER_LBF_IN)} lbf·in"
    return f"{_figures(nmm / 1000)} N·m"


def show_force(n: float, units: str = "mm") -> str:
    """A force to three figures: N, or lbf when lengths are in inches."""
    return f"{_figures(n / N_PER_LBF)} lbf" if units == "in" else f"{_figures(n)} N"


def show_rate(n_per_mm: float, units: str = "mm") -> str:
    """A spring's rate to three figures: N/mm, or lbf/in when lengths are in inches."""
    if units == "in":
        return f"{_figures(n_per_mm * MM_PER_INCH / N_PER_LBF)} lbf/in"
    return f"{_figures(n_per_mm)} N/mm"


def show_mass(kg: float, units: str = "mm") -> str:
    """A mass to three figures: g or kg, or oz or lb when lengths are in inches."""
    if units == "in":
        pounds = kg / KG_PER_POUND
        return f"{_figures(pounds)} lb" if abs(pounds) >= 1 else f"{_figures(pounds * 16)} oz"
    return f"{_figures(kg)} kg" if abs(kg) >= 1 else f"{_figures(kg * 1000)} g"
