"""Loads, ranges of them, and safeties as a reader wants them."""

from __future__ import annotations

import math

from core.units import MPA_PER_PSI, show_angle, show_force, show_length, show_torque


def show_load(value: float, unit: str, units: str = "mm") -> str:
    """A load in the sketch's units: stress (MPa, or psi with inches), force, torque, angle
    or length to three figures; a dash where there is none."""
    if not math.isfinite(value):
        return "–"
    if unit == "MPa":
        return f"{_three(value / MPA_PER_PSI)} psi" if units == "in" else f"{_three(value)} MPa"
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
    places = 2 - math.floor(math.log10(abs(value)))
    text = f"{round(value, places):.{min(max(places, 0), 6)}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def show_range(low: float, high: float, unit: str, units: str = "mm") -> str:
    """A range of loads as "12 MPa" or "12 MPa to 15 MPa"."""
    first, last = show_load(low, unit, units), show_load(high, unit, units)
    return first if first == last else f"{first} to {last}"


def show_folds(low: float, high: float) -> str:
    """How many times a load is borne: "3.1", "2.4 to 3.1"; "over 100" where it hardly
    matters."""
    if not low < 100.0:
        return "over 100"
    first, last = (f"{value:.2g}" if value < 10.0 else f"{value:.0f}"
                   for value in (low, min(high, 999.0)))
    return first if first == last else f"{first} to {last}"
