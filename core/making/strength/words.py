"""How checks are put in words and numbers."""

from __future__ import annotations

import math

from core.making.strength.check import Check, CheckKind, Verdict
from core.units import show_angle, show_force, show_length, show_torque

PSI = 145.0377

#: Kind -> what it is called in a table.
NAMES: dict[CheckKind, str] = {
    "rod-torsion": "rod twisted", "rod-jam": "rod twisted when something jams",
    "rod-bending": "rod bent", "rod-shear": "rod sheared", "rod-twist": "rod winds up",
    "bearing": "rod pressed into its bore", "tear-out": "bore tears out to the edge",
    "wag": "wags with the play of its bores", "link-stress": "part pulled, pressed and bent",
    "link-buckling": "part buckles", "neck": "neck of short grain", "tooth": "tooth bent",
    "hinge-screws": "screws of the hinge pulled out"}
#: Verdict -> the word shown beside its sign.
WORDS: dict[Verdict, str] = {"breaks": "gives way", "doubtful": "may give way",
                             "near": "little in hand", "holds": "holds"}


def show_load(value: float, unit: str, units: str = "mm") -> str:
    """A load in the sketch's units: stress (MPa, or psi with inches), force, torque, angle
    or length to three figures; a dash where there is none."""
    if not math.isfinite(value):
        return "–"
    if unit == "MPa":
        return f"{_three(value * PSI)} psi" if units == "in" else f"{_three(value)} MPa"
    if unit == "N":
        return show_force(value, units)
    if unit == "N·mm":
        return show_torque(value, units)
    if unit == "°":
        return show_angle(value)
    return show_length(round(value, 2), units)


def _three(value: float) -> str:
    """Three figures, without an exponent."""
    if value == 0.0:
        return "0"
    places = max(0, 2 - math.floor(math.log10(abs(value))))
    text = f"{value:.{min(places, 6)}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def show_range(low: float, high: float, unit: str, units: str = "mm") -> str:
    """A range of loads as "12 MPa" or "12 MPa to 15 MPa"."""
    first, last = show_load(low, unit, units), show_load(high, unit, units)
    return first if first == last else f"{first} to {last}"


def show_safety(check: Check) -> str:
    """The safety as "3.1" or "2.4 to 3.1"; "over 100" where it hardly matters."""
    low, high = check.safety
    if not low < 100.0:
        return "over 100"
    first, last = (f"{value:.2g}" if value < 10.0 else f"{value:.0f}"
                   for value in (low, min(high, 999.0)))
    return first if first == last else f"{first} to {last}"


def sentence(check: Check, units: str = "mm") -> str:
    """What a check says, in one sentence in the sketch's units."""
    told = (f"{check.thing}: {NAMES[check.kind]}, {show_load(check.value, check.unit, units)}"
            f" at {math.degrees(check.crank_rad):.0f}°")
    if check.soft:
        return f"{told}; {show_range(*check.gives, check.unit, units)} would be felt."
    return (f"{told}; it gives way at {show_range(*check.gives, check.unit, units)},"
            f" a safety of {show_safety(check)}.")
