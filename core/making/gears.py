"""Involute spur gears: shapes, pairs, and what they can and cannot do.

Lengths mm, angles rad unless a name says deg; addendum, dedendum and shift in modules.
External gears only. Proportions after ISO 53 profile A (pressure angle 20°, addendum 1,
dedendum 1.25, fillet 0.38), modules after ISO 54: both from memory. Limits of undercut and of
interference: J. E. Shigley, *Mechanical Engineering Design*, ch. 13, from memory, worked out
anew. Geometry: ISO 21771, see :mod:`core.making.gear_involute`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

from core.errors import SketchError
from core.making.gear_involute import (
    centre_distance,
    contact_path,
    involute,
    reach,
    thickness,
    working_angle,
)

#: ISO 54, from memory: the modules to be preferred, then those of the second choice.
MODULES_FIRST = (1.0, 1.25, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0)
MODULES_SECOND = (1.125, 1.375, 1.75, 2.25, 2.75, 3.5, 4.5, 5.5, 6.5, 7.0, 9.0)
MODULES = tuple(sorted(MODULES_FIRST + MODULES_SECOND))

#: Contact ratio below which a pair runs roughly: D. Wright's gear course (University of
#: Western Australia) does not recommend less than about this.
LEAST_CONTACT = 1.2
#: Least width of a tooth's tip in wood, modules; common practice, no source.
LEAST_TIP_LAND = 0.4
#: Fillet at the root of the standard profile, modules: 0.25 / (1 − sin 20°).
FILLET = 0.38


@dataclass(frozen=True)
class Gear:
    """An external involute spur gear.

    `shift` moves the teeth outwards, in modules: fewer teeth without undercut. `addendum`
    and `dedendum`: height and depth of the teeth, modules, before the shift. `thinned_mm`:
    what is taken off the thickness at the pitch circle to leave play.

    Raises
    ------
    SketchError
        For a number of teeth, a module or an angle no gear can have.
    """

    teeth: int
    module_mm: float
    pressure_angle_deg: float = 20.0
    shift: float = 0.0
    addendum: float = 1.0
    dedendum: float = 1.25
    thinned_mm: float = 0.0

    def __post_init__(self) -> None:
        if self.teeth != int(self.teeth) or self.teeth < 3:
            raise SketchError(f"a gear cannot have {self.teeth:g} teeth", "teeth",
                              "give a whole number, 3 or more")
        if not 0 < self.module_mm < math.inf:
            raise SketchError(f"a gear cannot have the module {self.module_mm:g}", "module_mm",
                              "give a number of millimetres above 0")
        if not 0 < self.pressure_angle_deg < 45:
            raise SketchError(f"teeth cannot push at {self.pressure_angle_deg:g}°",
                              "pressure_angle_deg", "give an angle of 10 to 30, usually 20")
        if not all(math.isfinite(x) for x in (self.shift, self.addendum, self.dedendum,
                                              self.thinned_mm)):
            raise SketchError("heights and shift of the teeth must be numbers", "shift",
                              "give 0 for teeth of the standard form")
        if self.root_mm <= 0:
            raise SketchError("the teeth would be deeper than the gear", "dedendum",
                              "give more teeth or shallower ones")

    @property
    def angle_rad(self) -> float:
        """Pressure angle at the pitch circle."""
        return math.radians(self.pressure_angle_deg)

    @property
    def pitch_mm(self) -> float:
        """Radius of the pitch circle, m z / 2."""
        return self.module_mm * self.teeth / 2

    @property
    def base_mm(self) -> float:
        """Radius of the base circle, r cos α."""
        return self.pitch_mm * math.cos(self.angle_rad)

    @property
    def tip_mm(self) -> float:
        """Radius of the tips."""
        return self.pitch_mm + self.module_mm * (self.addendum + self.shift)

    @property
    def root_mm(self) -> float:
        """Radius of the roots."""
        return self.pitch_mm - self.module_mm * (self.dedendum - self.shift)

    @property
    def circular_pitch_mm(self) -> float:
        """From tooth to tooth along the pitch circle, π m."""
        return math.pi * self.module_mm

    def thickness_mm(self, radius_mm: float) -> float:
        """Thickness of a tooth along the arc at a radius; negative beyond its point."""
        full = float(thickness(self.teeth, self.module_mm, self.angle_rad, self.shift,
                               radius_mm))
        return full - self.thinned_mm * radius_mm / self.pitch_mm

    @property
    def tip_land_mm(self) -> float:
        """Width of the tip along its arc; not above 0 when the tooth is pointed."""
        return self.thickness_mm(self.tip_mm)

    @property
    def least_shift(self) -> float:
        """Shift from which a rack does not undercut these teeth, modules; may be negative."""
        return least_shift(self.teeth, self.pressure_angle_deg, self.addendum)

    @property
    def undercut(self) -> bool:
        """Whether a rack (or the mating teeth) would cut into the foot of the flank."""
        return self.shift < self.least_shift - 1e-12


def undercut_teeth(pressure_angle_deg: float = 20.0, addendum: float = 1.0) -> float:
    """Teeth below which a rack undercuts an unshifted gear: 2 k / sin² α. Not rounded."""
    return 2 * addendum / math.sin(math.radians(pressure_angle_deg)) ** 2


def least_shift(teeth: float, pressure_angle_deg: float = 20.0, addendum: float = 1.0) -> float:
    """Shift, modules, from which a rack does not undercut: k − z sin² α / 2."""
    return addendum - teeth * math.sin(math.radians(pressure_angle_deg)) ** 2 / 2


def least_pinion_teeth(
    ratio: float, pressure_angle_deg: float = 20.0, addendum: float = 1.0
) -> float:
    """Teeth below which an unshifted pinion interferes with a gear of `ratio` ≥ 1 times as
    many: 2k / ((1 + 2G) sin² φ) · (G + √(G² + (1 + 2G) sin² φ)). Not rounded."""
    if not ratio >= 1:
        raise SketchError(f"a gear has at least as many teeth as its pinion, not {ratio:g} "
                          "times", "ratio", "give 1 or more")
    square = math.sin(math.radians(pressure_angle_deg)) ** 2
    share = (1 + 2 * ratio) * square
    return 2 * addendum / share * (ratio + math.sqrt(ratio**2 + share))


def largest_gear_teeth(
    pinion_teeth: float, pressure_angle_deg: float = 20.0, addendum: float = 1.0
) -> float:
    """Teeth of the largest gear that does not interfere with an unshifted pinion:
    (N² sin² φ − 4k²) / (4k − 2N sin² φ), not rounded; infinite when even a rack does not,
    and below the pinion's own when no gear does."""
    square = math.sin(math.radians(pressure_angle_deg)) ** 2
    under = 4 * addendum - 2 * pinion_teeth * square
    over = pinion_teeth**2 * square - 4 * addendum**2
    return over / under if under > 0 else math.inf


@dataclass(frozen=True)
class GearPair:
    """Two gears of one module and pressure angle in mesh. `set_mm`: distance of the centres;
    None: so close that there is no play.

    Raises
    ------
    SketchError
        When they do not fit each other or the centres are too close.
    """

    a: Gear
    b: Gear
    set_mm: float | None = None

    def __post_init__(self) -> None:
        a, b = self.a, self.b
        if not (math.isclose(a.module_mm, b.module_mm)
                and math.isclose(a.pressure_angle_deg, b.pressure_angle_deg)):
            raise SketchError("two gears of different module or pressure angle do not mesh",
                              "module_mm", "give both the same")
        if not math.isfinite(self.centre_mm):
            raise SketchError("teeth shifted so far inwards do not mesh", "shift",
                              "shift them less")
        if self.centre_mm <= a.base_mm + b.base_mm:
            raise SketchError("the centres of the gears are too close", "centre_mm",
                              f"leave {self.tight_mm:.3f} mm or more")

    @cached_property
    def tight_mm(self) -> float:
        """Distance of the centres without play (what thinning leaves apart)."""
        a, b = self.a, self.b
        total = a.teeth + b.teeth
        angle = working_angle(total, a.shift + b.shift, a.angle_rad)
        return float(centre_distance(total, a.module_mm, a.angle_rad, angle))

    @property
    def centre_mm(self) -> float:
        """Distance of the centres."""
        return self.tight_mm if self.set_mm is None else self.set_mm

    @property
    def ratio(self) -> float:
        """Turns of `a` for one turn of `b`."""
        return self.b.teeth / self.a.teeth

    @property
    def angle_rad(self) -> float:
        """Working pressure angle: cos α' = (r_b1 + r_b2) / a'."""
        return math.acos(min((self.a.base_mm + self.b.base_mm) / self.centre_mm, 1.0))

    @property
    def working_mm(self) -> tuple[float, float]:
        """Radii of the working pitch circles, which roll on each other."""
        each = self.centre_mm / (self.a.teeth + self.b.teeth)
        return each * self.a.teeth, each * self.b.teeth

    @property
    def path_mm(self) -> float:
        """Length of the path of contact along the line of action; 0 if the tips do not
        meet. Where tips interfere, the part that can be used is shorter than this."""
        a, b = self.a, self.b
        path = contact_path(a.tip_mm, a.base_mm, b.tip_mm, b.base_mm, self.centre_mm,
                            self.angle_rad)
        return max(float(path), 0.0)

    @property
    def arc_mm(self) -> float:
        """Arc of contact along the working pitch circles, path / cos α'."""
        return self.path_mm / math.cos(self.angle_rad)

    @property
    def contact_ratio(self) -> float:
        """How many pairs of teeth touch on average; below 1 the drive stutters."""
        return self.path_mm / (self.a.circular_pitch_mm * math.cos(self.a.angle_rad))

    @property
    def play_mm(self) -> float:
        """Backlash along the working pitch circles: pitch there less both thicknesses."""
        one, two = self.working_mm
        pitch = 2 * math.pi * one / self.a.teeth
        return pitch - self.a.thickness_mm(one) - self.b.thickness_mm(two)

    @property
    def clearances_mm(self) -> tuple[float, float]:
        """From the tip of b to the root of a, and of a to b; negative: they collide."""
        return (self.centre_mm - self.b.tip_mm - self.a.root_mm,
                self.centre_mm - self.a.tip_mm - self.b.root_mm)

    @property
    def interferes(self) -> tuple[bool, bool]:
        """Whether the tip of b digs into the foot of a, and that of a into b: a tip that
        reaches the line of action beyond where it touches the other base circle finds no
        involute there."""
        line = self.centre_mm * math.sin(self.angle_rad)
        slack = 1e-9 * self.a.module_mm
        return (float(reach(self.b.tip_mm, self.b.base_mm)) > line + slack,
                float(reach(self.a.tip_mm, self.a.base_mm)) > line + slack)

    @property
    def lowest_mm(self) -> tuple[float, float]:
        """Radii down to which the flanks of a and of b are used; the base circle where the
        other's tip interferes."""
        line = self.centre_mm * math.sin(self.angle_rad)
        return (math.hypot(self.a.base_mm,
                           max(line - float(reach(self.b.tip_mm, self.b.base_mm)), 0.0)),
                math.hypot(self.b.base_mm,
                           max(line - float(reach(self.a.tip_mm, self.a.base_mm)), 0.0)))


def contact_ratio(a: Gear, b: Gear, centre_mm: float | None = None) -> float:
    """Contact ratio of two gears at a distance of their centres (None: without play).

    Raises
    ------
    SketchError
        When they cannot mesh.
    """
    return GearPair(a, b, centre_mm).contact_ratio


def centre_for_play(a: Gear, b: Gear, play_mm: float) -> float:
    """Distance of the centres, mm, at which the pair has this play along the pitch circles.

    a' = m (z₁ + z₂)/2 · cos α / cos α' with inv α' grown by what the play takes: exact,
    unlike the usual j = 2 Δa tan α.

    Raises
    ------
    SketchError
        When the play is negative or the gears cannot mesh.
    """
    if not play_mm >= 0:
        raise SketchError(f"teeth cannot have {play_mm:g} mm of play", "play_mm",
                          "give 0 or more")
    low = GearPair(a, b)
    centre = low.tight_mm
    for _ in range(40):  # Newton: on working circles of radius r the play grows by 2 tan α'
        pair = GearPair(a, b, centre)
        step = (play_mm - pair.play_mm) / (2 * math.tan(max(pair.angle_rad, 1e-3)))
        centre = max(centre + step, (a.base_mm + b.base_mm) * (1 + 1e-9))
        if abs(step) < 1e-13 * centre:
            break
    return centre


def involute_deg(angle_deg: float) -> float:
    """inv α = tan α − α, rad, of an angle 0 ≤ α < 90 in degrees: what gear tables list."""
    return float(involute(math.radians(angle_deg)))
