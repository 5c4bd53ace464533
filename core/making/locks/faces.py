"""Two parts glued face to face, so that no torque has to go through their shaft."""

from __future__ import annotations

import numpy as np
import shapely

from core.errors import SketchError
from core.making.locks.capacity import Capacity, Member
from core.making.locks.holds import Hold
from core.making.rods import Station
from core.materials import Figure, breaking
from core.materials.figure import joined, weakest
from core.model import Sketch
from core.model.stuff import material_of
from core.space import outline_of
from core.space.rays import edges_of

#: Parts this near to each other along the shaft lie face to face, mm.
TOUCH_MM = 0.3
FACES = "faces"


def partner(sketch: Sketch, hold: Hold, parts: tuple[str, ...]) -> str:
    """The other of two parts of a lock where they lie face to face on one rod and are no
    metal; "" otherwise."""
    ends = [station for station in hold.rod.stations if station.part in parts]
    if len(parts) != 2 or len(ends) != 2 or not _touch(ends[0], ends[1]):
        return ""
    for part in parts:
        if material_of(sketch.materials, sketch.part(part).material).stuff == "metal":
            return ""
    return parts[1] if parts[0] == hold.part else parts[0]


def _touch(a: Station, b: Station) -> bool:
    low, high = sorted((a, b), key=lambda one: one.from_mm)
    return abs(high.from_mm - low.to_mm) <= TOUCH_MM


def face_capacity(sketch: Sketch, hold: Hold, other: str) -> Capacity:
    """What the glued faces of two parts bear, N·mm: T = shear stress · polar moment of the
    common face about the shaft / its farthest place, the wood beside the glue giving way
    first (textbook, torsion of a joint of any shape).

    Raises SketchError where the two have no face in common.
    """
    common = outline_of(sketch.part(hold.part)).intersection(outline_of(sketch.part(other)))
    middle = hold.rod.place
    common = common.difference(
        shapely.Point(middle.real, middle.imag).buffer(hold.rod.diameter_mm / 2.0))
    pieces = [one for one in shapely.get_parts(common)
              if isinstance(one, shapely.Polygon) and one.area > 0.0]
    polar = sum(_polar_mm4(one, middle) for one in pieces)
    if not polar > 0.0:
        raise SketchError(f"{hold.part!r} and {other!r} have no face in common")
    far = max(float(np.abs(edges_of(one)[0] - middle).max()) for one in pieces)
    bear = []
    for name in (hold.part, other):
        part = sketch.part(name)
        bear.append(breaking(material_of(sketch.materials, part.material), "rolling-shear",
                             part.thickness_mm))
    shear = Figure(min(one.low for one in bear), min(one.high for one in bear),
                   joined(*(one.source for one in bear)), weakest(*(o.trust for o in bear)))
    return Capacity(FACES, 0.0, (Member(
        "the wood at the faces", shear.times(polar / far),
        "shear stress · polar moment of the common face about the shaft / its radius"),))


def _polar_mm4(polygon: shapely.Polygon, about: complex) -> float:
    """Polar second moment of area about a place, by Green's theorem."""
    starts, ends = edges_of(polygon)
    a, b = starts - about, ends - about
    square = np.abs(a) ** 2 + (a * b.conj()).real + np.abs(b) ** 2
    return float(((a.conj() * b).imag * square).sum() / 12.0)
