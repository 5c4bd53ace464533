"""What is between the hand and the crank: a handle, and steps of gears or belts."""

from __future__ import annotations

from typing import Literal

import msgspec


class HandStep(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True,
               forbid_unknown_fields=True):
    """A pair of wheels between the handle's shaft and the crank; not part of the drawing.

    `driver` is on the side of the hand, `driven` on the side of the mechanism: teeth of
    gears, else diameters of pulleys, mm. Gears and crossed belts turn the two against each
    other. A turn of the driven wheel takes driven / driver turns of the driver.
    `efficiency` is a range; `backlash_mm` is play along the pitch circle; `face_mm` the
    width of the teeth. `module_mm` None: not chosen yet. `shift` is the profile shift of
    driver and driven, in modules: above zero makes teeth stouter and keeps few from being
    undercut.
    """

    driver: float
    driven: float
    kind: Literal["gears", "belt", "crossed belt"] = "gears"
    efficiency: tuple[float, float] = (0.85, 0.95)
    backlash_mm: float = 0.2
    module_mm: float | None = None
    pressure_angle_deg: float = 20.0
    shift: tuple[float, float] = (0.0, 0.0)
    face_mm: float = 9.0
    material: str = "birch-plywood"

    @property
    def ratio(self) -> float:
        """Turns of the hand's side for one turn of the mechanism's; > 1 makes it easier."""
        return self.driven / self.driver

    @property
    def reverses(self) -> bool:
        """Whether the two sides turn against each other."""
        return self.kind != "belt"


class Handle(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True,
             forbid_unknown_fields=True):
    """What the hand holds. `radius_mm` from the middle of its shaft to the middle of the
    grip. `who` chooses a preset of how hard a hand may have to push; `limit_n` is the
    user's own limit and comes before it. `steps` from the hand inwards; none: the handle
    is on the crank's own shaft.
    """

    radius_mm: float = 75.0
    who: Literal["adult", "child"] = "adult"
    limit_n: float | None = None
    steps: tuple[HandStep, ...] = ()
