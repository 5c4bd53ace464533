"""Small sketches to turn, written in few words."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

import numpy as np
from msgspec.structs import replace

from core.model import Drive, Part, Pin, PinInSlot, Point, Sketch, Slide

Places = Mapping[str, complex]


def part(name: str, points: Places, fixed: bool = False) -> Part:
    """A part from its points, complex mm."""
    return Part(id=name, fixed=fixed, points=tuple(
        Point(id=point, x=float(at.real), y=float(at.imag)) for point, at in points.items()))


def linkage(parts: Mapping[str, Places], pins: Iterable[str] = (), drawn_deg: float = 0.0,
            crank: str = "crank", drive: Drive | None = None, slides: Iterable[Slide] = (),
            slots: Iterable[PinInSlot] = (), **more: object) -> Sketch:
    """A sketch whose part named "frame" is fixed. A pin is written as the references it
    joins, "frame.O crank.O"; its id is its first point's name."""
    joined = tuple(Pin(id=at.split()[0].split(".")[1], at=tuple(at.split())) for at in pins)
    if drive is None:
        pin = next(pin.id for pin in joined
                   if any(ref.startswith(crank + ".") for ref in pin.at)
                   and any(ref.startswith("frame.") for ref in pin.at))
        drive = Drive(pin=pin, part=crank, drawn_deg=drawn_deg)
    return Sketch(
        parts=tuple(part(name, points, name == "frame") for name, points in parts.items()),
        pins=joined, slides=tuple(slides), slots=tuple(slots), drive=drive,
        **more)  # type: ignore[arg-type]


def meet(one: complex, two: complex, r1: float, r2: float, left: bool = True) -> complex:
    """Where two circles meet, left or right of the way from the first centre."""
    way = two - one
    d = abs(way)
    along = (d * d + r1 * r1 - r2 * r2) / (2 * d)
    up = np.sqrt(r1 * r1 - along * along)
    return complex(one + way / d * (along + (1j if left else -1j) * up))


def four_bar(ground: float, crank: float, coupler: float, rocker: float,
             angle_deg: float, left: bool = True,
             point: complex | None = None) -> Sketch:
    """A four-bar, fixed pivots at 0 and (ground, 0), drawn at a crank angle; `point` in
    coupler axes (along it from the crank pin, and left of it)."""
    a = crank * np.exp(1j * np.radians(angle_deg))
    b = meet(a, complex(ground), coupler, rocker, left)
    more = {} if point is None else {"P": a + (b - a) / coupler * point}
    return linkage(
        {"frame": {"O": 0j, "Q": complex(ground)}, "crank": {"O": 0j, "A": a},
         "coupler": {"A": a, "B": b, **more}, "rocker": {"B": b, "Q": complex(ground)}},
        ["frame.O crank.O", "crank.A coupler.A", "coupler.B rocker.B", "rocker.Q frame.Q"],
        drawn_deg=angle_deg)


#: The walking leg's eleven numbers and two offsets (see the outside checks).
LEG = dict(a=38, b=41.5, c=39.3, d=40.1, e=55.8, f=39.4, g=36.7, h=65.7, i=49, j=50,
           k=61.9, l=7.8, m=15)


def rod_four_bar(pin: complex, **more: object) -> Sketch:
    """A four-bar to edit: crank pin drawn at `pin`, a third point P on the rod, pins o, a,
    b and q."""
    places = {
        "frame": {"O": 0j, "Q": 100 + 0j}, "crank": {"O": 0j, "A": pin},
        "rod": {"A": pin, "B": 110 + 70j, "P": 60 + 90j},
        "rocker": {"Q": 100 + 0j, "B": 110 + 70j},
    }
    pins = {"o": "frame.O crank.O", "a": "crank.A rod.A", "b": "rod.B rocker.B",
            "q": "frame.Q rocker.Q"}
    return Sketch(
        parts=tuple(part(name, points, name == "frame") for name, points in places.items()),
        pins=tuple(Pin(id=name, at=tuple(at.split())) for name, at in pins.items()),
        drive=Drive(pin="o", part="crank"), **more)  # type: ignore[arg-type]


def leg_places(angle: float) -> dict[str, complex]:
    """The walking leg's joints at a crank angle, rad."""
    n = LEG
    o, q = 0j, complex(-n["a"], -n["l"])
    m = n["m"] * np.exp(1j * angle)
    t = meet(m, q, n["j"], n["b"], False)          # top of the upper triangle
    s = meet(m, q, n["k"], n["c"], True)         # lower rocker end
    u = meet(q, t, n["d"], n["e"], True)          # back corner of the upper triangle
    v = meet(u, s, n["f"], n["g"], False)
    foot = meet(v, s, n["h"], n["i"], False)
    return dict(O=complex(o), Q=q, M=complex(m), T=t, S=s, U=u, V=v, F=foot)


def walking_leg(angle_deg: float = 0.0) -> Sketch:
    """The walking leg drawn at a crank angle."""
    p = leg_places(np.radians(angle_deg))

    def take(names: str) -> Places:
        return {name: p[name] for name in names}

    return linkage(
        {"frame": take("OQ"), "crank": take("OM"), "upper": take("MT"),
         "knee": take("QTU"), "lower": take("MS"), "strut": take("QS"),
         "shin": take("UV"), "foot": take("SVF")},
        ["frame.O crank.O", "crank.M upper.M lower.M", "upper.T knee.T",
         "frame.Q knee.Q strut.Q", "lower.S strut.S foot.S", "knee.U shin.U",
         "shin.V foot.V"], drawn_deg=angle_deg)


def slider_crank(crank: float, rod: float, offset: float, angle_deg: float,
                 right: bool = True, travel: float = 1e4) -> Sketch:
    """A slider-crank, crank pivot at 0, the slide along x at height `offset`; `right` of
    the crank pin or left of it."""
    a = complex(crank * np.exp(1j * np.radians(angle_deg)))
    reach = np.sqrt(rod**2 - (a.imag - offset) ** 2)
    b = complex(a.real + (reach if right else -reach), offset)
    return linkage(
        {"frame": {"O": 0j, "S": complex(-travel, offset), "E": complex(travel, offset)},
         "crank": {"O": 0j, "A": a}, "rod": {"A": a, "B": b}, "ram": {"B": b}},
        ["frame.O crank.O", "crank.A rod.A", "rod.B ram.B"], drawn_deg=angle_deg,
        slides=[Slide(id="way", point="ram.B", along=("frame.S", "frame.E"))])


def parallelogram(angle_deg: float, crank: float = 40.0, base: float = 100.0,
                  third: bool = False) -> Sketch:
    """A parallelogram, if wanted with a third crank half-way along."""
    a = complex(crank * np.exp(1j * np.radians(angle_deg)))
    parts: dict[str, Places] = {
        "frame": {"O": 0j, "Q": complex(base), "R": base / 2 + 0j},
        "crank": {"O": 0j, "A": a}, "coupler": {"A": a, "B": a + base, "C": a + base / 2},
        "rocker": {"B": a + base, "Q": complex(base)}}
    pins = ["frame.O crank.O", "crank.A coupler.A", "coupler.B rocker.B",
            "rocker.Q frame.Q"]
    if third:
        parts["third"] = {"R": base / 2 + 0j, "C": a + base / 2}
        pins += ["frame.R third.R", "third.C coupler.C"]
    return linkage(parts, pins, drawn_deg=angle_deg)


def triad(crank: float = 8.0, angle_deg: float = 40.0) -> Sketch:
    """A plate on three links, one of them driven: no pair of its links can be solved
    alone."""
    a = complex(crank * np.exp(1j * np.radians(angle_deg)))
    plate = {"T": 60 + 40j, "U": 90 + 80j, "V": 110 + 35j, "P": 80 + 60j}
    return linkage(
        {"frame": {"O": 0j, "Q": 50 + 130j, "R": 160 + 0j}, "crank": {"O": 0j, "A": a},
         "one": {"A": a, "T": plate["T"]}, "plate": plate,
         "two": {"U": plate["U"], "Q": 50 + 130j}, "three": {"V": plate["V"], "R": 160 + 0j}},
        ["frame.O crank.O", "crank.A one.A", "one.T plate.T", "plate.U two.U",
         "two.Q frame.Q", "plate.V three.V", "three.R frame.R"], drawn_deg=angle_deg)


def eight_bar(crank: float = 12.0, angle_deg: float = 40.0) -> Sketch:
    """A four-bar whose coupler and rocker carry a plate on three links: eight links, five
    of them solved four at a time."""
    base = four_bar(100, crank, 90, 60, angle_deg, point=50 + 30j)
    place = {ref: complex(base.point(ref).x, base.point(ref).y)
             for ref in ("coupler.P", "rocker.B", "rocker.Q")}
    p = place["coupler.P"]
    m = (place["rocker.B"] + place["rocker.Q"]) / 2 + 25
    plate = {"T": p + (20 + 55j), "U": p + (60 + 80j), "V": p + (75 + 40j),
             "W": p + (50 + 120j)}
    post = complex(-20, 170)
    parts: dict[str, Places] = {
        own.id: {point.id: complex(point.x, point.y) for point in own.points}
        for own in base.parts}
    parts["frame"] = {**parts["frame"], "N": post}
    parts["rocker"] = {**parts["rocker"], "M": m}
    parts |= {"one": {"P": p, "T": plate["T"]}, "two": {"N": post, "U": plate["U"]},
              "three": {"M": m, "V": plate["V"]}, "plate": plate}
    return linkage(
        parts, [*(" ".join(pin.at) for pin in base.pins), "coupler.P one.P", "one.T plate.T",
                "frame.N two.N", "two.U plate.U", "rocker.M three.M", "three.V plate.V"],
        drawn_deg=angle_deg)


def bent(sketch: Sketch, by_mm: float, seed: int) -> Sketch:
    """Every joint and end moved by lot by up to `by_mm` each way; points drawn on one
    place go together, the fixed pivots stay."""
    rng = np.random.default_rng(seed)
    moved = {(round(point.x, 6), round(point.y, 6)): (point.x, point.y)
             for part in sketch.parts if part.fixed for point in part.points}

    def put(x: float, y: float) -> tuple[float, float]:
        place = (round(x, 6), round(y, 6))
        if place not in moved:
            moved[place] = (x + rng.uniform(-by_mm, by_mm), y + rng.uniform(-by_mm, by_mm))
        return moved[place]

    return replace(sketch, parts=tuple(replace(part, points=tuple(
        replace(point, **dict(zip("xy", put(point.x, point.y), strict=True)))
        for point in part.points)) for part in sketch.parts))
