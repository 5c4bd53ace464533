"""Numbers a sketch cannot have: not finite, absurd, or of the wrong sign."""

from __future__ import annotations

import functools
import math
from collections.abc import Iterator
from typing import Any, Literal, get_args, get_origin

import msgspec

from core.model.problem import Problem
from core.model.sketch import Sketch
from core.model.structs import hints_of

#: No place or length of a mechanism is larger: 10 km.
LARGEST_MM = 1e7
#: Nor any other number.
LARGEST = 1e12

#: Struct and field → lowest, whether that itself is allowed, highest.
LIMITS: dict[tuple[str, str], tuple[float, bool, float]] = {
    ("Part", "thickness_mm"): (0, False, 1e4),
    ("Part", "layer"): (-1000, True, 1000),
    ("Mass", "mass_kg"): (0, True, 1e6),
    ("Mass", "inertia_kgmm2"): (0, True, LARGEST),
    ("Bar", "width_mm"): (0, False, LARGEST_MM),
    ("Plate", "margin_mm"): (0, True, LARGEST_MM),
    ("Disc", "radius_mm"): (0, False, LARGEST_MM),
    ("Pin", "diameter_mm"): (0, False, 1e4),
    ("PinInSlot", "diameter_mm"): (0, False, 1e4),
    ("Pin", "friction"): (0, True, 10),
    ("Slide", "friction"): (0, True, 10),
    ("PinInSlot", "friction"): (0, True, 10),
    ("Sketch", "friction"): (0, True, 10),
    ("Mesh", "teeth_a"): (1, True, 100_000),
    ("Mesh", "teeth_b"): (1, True, 100_000),
    ("Mesh", "pressure_angle_deg"): (0, False, 45),
    ("Belt", "diameter_a_mm"): (0, False, LARGEST_MM),
    ("Belt", "diameter_b_mm"): (0, False, LARGEST_MM),
    ("Drive", "rpm"): (-1e5, True, 1e5),
    ("Drive", "drawn_deg"): (-36_000, True, 36_000),
    ("Drive", "from_deg"): (-3600, True, 3600),
    ("Drive", "to_deg"): (-3600, True, 3600),
    ("Gravity", "g_m_s2"): (0, True, 1e3),
    ("Spring", "rate_n_per_mm"): (0, True, 1e6),
    ("Spring", "free_length_mm"): (0, True, LARGEST_MM),
    ("Spring", "initial_tension_n"): (0, True, 1e6),
    ("TorsionSpring", "rate_nmm_per_deg"): (0, True, 1e9),
    ("Sketch", "gap_mm"): (0, True, LARGEST_MM),
    ("Sketch", "grid_mm"): (0, False, LARGEST_MM),
    ("Sketch", "turns"): (1, True, 64),
    ("Tick", "at"): (0, True, 100_000),
    ("Tick", "crank_deg"): (-36_000, True, 36_000),
    ("Knot", "crank_deg"): (-36_000, True, 36_000),
    ("WantedPose", "crank_deg"): (-36_000, True, 36_000),
    ("WantedDwell", "from_deg"): (-36_000, True, 36_000),
    ("WantedDwell", "to_deg"): (-36_000, True, 36_000),
    ("WantedRatio", "ratio"): (1, True, 100),
    ("WantedRatio", "tolerance"): (0, False, 100),
    ("FitRules", "shortest_mm"): (0, True, LARGEST_MM),
    ("FitRules", "longest_mm"): (0, False, LARGEST_MM),
    ("FitRules", "transmission_deg"): (0, True, 89),
    ("LengthRule", "shortest_mm"): (0, True, LARGEST_MM),
    ("LengthRule", "longest_mm"): (0, False, LARGEST_MM),
    **{(kind, "weight"): (0, True, 1e6) for kind in (
        "WantedPath", "WantedAngle", "WantedPose", "WantedSwing", "WantedStroke",
        "WantedDwell", "WantedRatio")},
    **{(kind, "tolerance_mm"): (0, False, LARGEST_MM) for kind in (
        "WantedPath", "WantedPose", "WantedStroke", "WantedDwell")},
    **{(kind, "tolerance_deg"): (0, False, 360) for kind in (
        "WantedAngle", "WantedPose", "WantedSwing", "WantedDwell")},
    ("Weight", "mass_kg"): (0, True, 1e6),
    ("Weight", "diameter_mm"): (0, True, 1e4),
    ("Weight", "thickness_mm"): (0, True, 1e4),
    ("Part", "grain_deg"): (-36_000, True, 36_000),
    ("Pin", "clearance_mm"): (0, True, 100),
    ("Hinge", "screws"): (1, True, 100),
    ("Hinge", "screw_mm"): (0, False, 100),
    ("Hinge", "length_mm"): (0, False, 1e4),
    ("Lock", "length_mm"): (0, False, 1e4),
    ("Lock", "size_mm"): (0, False, 1e4),
    ("Coil", "wire_mm"): (0, False, 100),
    ("Coil", "mean_mm"): (0, False, 1e4),
    ("Coil", "turns"): (0, False, 1e5),
    ("Handle", "radius_mm"): (0, False, 1e5),
    ("Handle", "limit_n"): (0, False, 1e5),
    ("HandStep", "driver"): (0, False, 1e5),
    ("HandStep", "driven"): (0, False, 1e5),
    ("HandStep", "efficiency"): (0, False, 1),
    ("HandStep", "backlash_mm"): (0, True, 100),
    ("HandStep", "module_mm"): (0, False, 1e3),
    ("HandStep", "pressure_angle_deg"): (0, False, 45),
    ("HandStep", "shift"): (-1, True, 1),
    ("HandStep", "face_mm"): (0, False, 1e4),
    ("OwnMaterial", "density_kg_m3"): (0, False, 1e5),
    ("OwnFigure", "low"): (0, False, 1e6),  # what bears nothing is no material
    ("OwnFigure", "high"): (0, False, 1e6),
    ("Underlay", "mm_per_px"): (0, False, 1e6),
    ("Underlay", "opacity"): (0, True, 1),
}
#: Pairs that must not run backwards.
RANGES = {"friction", "efficiency"}


def wrong_numbers(sketch: Sketch) -> Iterator[Problem]:
    """Every number of a sketch outside what it may be; all are fatal."""
    yield from _inside("", sketch)


def _inside(place: str, struct: msgspec.Struct) -> Iterator[Problem]:
    for name, low, closed, high in _checked(type(struct)):
        value = getattr(struct, name)
        if isinstance(value, float) and low < value <= high:
            continue  # nearly always
        path = f"{place}.{name}" if place else name
        yield from _value(path, value, name, (low, closed, high))


def _value(place: str, value: Any, name: str,
           limits: tuple[float, bool, float]) -> Iterator[Problem]:
    if isinstance(value, msgspec.Struct):
        yield from _inside(place, value)
    elif isinstance(value, tuple):
        for index, each in enumerate(value):
            yield from _value(f"{place}[{index}]", each, name, limits)
        if name in RANGES and value[0] > value[1]:
            yield Problem(place, f"the range {value[0]:g} to {value[1]:g} runs backwards",
                          "write the smaller number first", fatal=True)
    elif value is not None:
        yield from _number(place, value, *limits)


@functools.cache
def _checked(kind: type[msgspec.Struct]) -> tuple[tuple[str, float, bool, float], ...]:
    """Name and limits of the fields of a struct that are numbers or may hold some."""
    found = []
    for name, hint in hints_of(kind).items():
        inner = get_args(hint)[0] if get_origin(hint) is tuple else hint
        if inner in (str, bool) or get_origin(inner) is Literal or (
                get_origin(inner) is tuple and get_args(inner)[0] is str):
            continue
        usual = LARGEST_MM if name in ("x", "y", "outer", "holes", "through", "corners",
                                      "start", "end") else LARGEST
        found.append((name, *LIMITS.get((kind.__name__, name), (-usual, True, usual))))
    return tuple(found)


def _number(place: str, value: float, low: float, closed: bool,
            high: float) -> Iterator[Problem]:
    if not math.isfinite(value):
        yield Problem(place, "the number is not finite", "write an ordinary number", fatal=True)
    elif value < low or (value == low and not closed):
        said = "be above" if not closed else "not be below"
        yield Problem(place, f"{value:g} is too small: it must {said} {low:g}",
                      "write a larger number", fatal=True)
    elif value > high:
        yield Problem(place, f"{value:g} is too large: it must not be above {high:g}",
                      "write a smaller number", fatal=True)
