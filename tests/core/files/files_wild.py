"""Sketches that are sound as files but wild as mechanisms: loose, tangled, upside down."""

from __future__ import annotations

import random

from core.model import (
    Bar,
    Belt,
    Disc,
    Drive,
    Force,
    Gravity,
    Lock,
    Mass,
    Mesh,
    Part,
    Pin,
    PinInSlot,
    Plate,
    Point,
    Polygon,
    Sketch,
    Slide,
    Spring,
    Torque,
    TorsionSpring,
)

Draw = random.Random


class Builder:
    """Grows a sketch joint by joint; every joint fits in the drawn pose."""

    def __init__(self, draw: Draw) -> None:
        self.draw = draw
        self.points: dict[str, list[Point]] = {"frame": []}
        self.count = 0

    def name(self) -> str:
        self.count += 1
        return f"n{self.count}"

    def place(self) -> tuple[float, float]:
        draw = self.draw
        spread = draw.choice((1.0, 100.0, 100.0, 100.0, 5000.0))
        x, y = draw.uniform(-spread, spread), draw.uniform(-spread, spread)
        return (round(x), round(y)) if draw.random() < 0.5 else (x, y)

    def part(self) -> str:
        """A part there is, or a new one."""
        if self.draw.random() < 0.5:
            name = self.name()
            self.points[name] = []
            return name
        return self.draw.choice(list(self.points))

    def two_parts(self) -> tuple[str, str]:
        one, other = self.part(), self.part()
        while other == one:
            other = self.part()
        return one, other

    def point(self, part: str, place: tuple[float, float]) -> str:
        """A reference to a point of a part at a place, made when there is none."""
        for point in self.points[part]:
            if (point.x, point.y) == place:
                return f"{part}.{point.id}"
        name = self.name()
        trace = self.draw.random() < 0.3
        self.points[part].append(Point(id=name, x=place[0], y=place[1], trace=trace))
        return f"{part}.{name}"

    def any_ref(self) -> str:
        refs = [f"{part}.{p.id}" for part, points in self.points.items() for p in points]
        return self.draw.choice(refs) if refs else self.point("frame", self.place())

    def pin(self) -> Pin:
        place, several = self.place(), self.draw.choice((2, 2, 2, 3, 4))
        parts = dict.fromkeys([*self.two_parts(), *(self.part() for _ in range(several - 2))])
        return Pin(id=self.name(), at=tuple(self.point(part, place) for part in parts),
                   diameter_mm=self.draw.uniform(1, 12))

    def line(self) -> tuple[str, tuple[str, str]]:
        """A point of one part on the line between two points of another."""
        one, other = self.two_parts()
        (ax, ay), (bx, by) = self.place(), self.place()
        share = self.draw.choice((0.0, 0.5, 1.0, self.draw.uniform(-0.5, 1.5)))
        on = (ax + share * (bx - ax), ay + share * (by - ay))
        return self.point(one, on), (self.point(other, (ax, ay)), self.point(other, (bx, by)))

    def carried(self) -> tuple[list[Pin], str, str]:
        """Two parts pinned to one carrier, and their centres."""
        carrier = self.part()
        pins, refs = [], []
        for _ in range(2):
            place, wheel = self.place(), self.name()
            self.points[wheel] = []
            refs.append(self.point(wheel, place))
            pins.append(Pin(id=self.name(), at=(refs[-1], self.point(carrier, place))))
        return pins, refs[0], refs[1]


def wild(draw: Draw) -> Sketch:
    """A random sketch of up to some dozen parts with every kind of joint and load."""
    build = Builder(draw)
    build.points["crank"] = []
    place = build.place()
    pins = [Pin(id="axle", at=(build.point("frame", place), build.point("crank", place)))]
    slides: list[Slide] = []
    slots: list[PinInSlot] = []
    locks: list[Lock] = []
    meshes: list[Mesh] = []
    belts: list[Belt] = []
    for _ in range(draw.randrange(10)):
        kind = draw.randrange(9)
        if kind < 4:
            pins.append(build.pin())
        elif kind == 4:
            point, ends = build.line()
            slides.append(Slide(id=build.name(), point=point, along=ends))
        elif kind == 5:
            point, ends = build.line()
            slots.append(PinInSlot(id=build.name(), point=point, slot=ends))
        elif kind == 6:
            locks.append(Lock(id=build.name(), parts=build.two_parts()))
        else:
            extra, a, b = build.carried()
            pins += extra
            if kind == 7:
                internal = draw.random() < 0.3
                meshes.append(Mesh(id=build.name(), a=a, b=b, teeth_a=draw.randrange(1, 80),
                                   teeth_b=80 if internal else draw.randrange(1, 80),
                                   internal=internal))
            else:
                belts.append(Belt(id=build.name(), a=a, b=b, crossed=draw.random() < 0.5,
                                  diameter_a_mm=draw.uniform(1, 90),
                                  diameter_b_mm=draw.uniform(1, 90)))
    return _loaded(build, pins, Sketch(
        pins=tuple(pins), slides=tuple(slides), slots=tuple(slots), locks=tuple(locks),
        meshes=tuple(meshes), belts=tuple(belts), drive=_drive(draw),
        gravity=Gravity(g_m_s2=draw.choice((0.0, 9.81)), direction_deg=draw.uniform(0, 360))))


def _drive(draw: Draw) -> Drive | None:
    if draw.random() < 0.05:
        return None
    low = draw.uniform(-180, 100)
    return Drive(pin="axle", part="crank", rpm=draw.choice((20.0, -30.0, 0.0, 500.0)),
                 kind=draw.choice(("turn", "turn", "rock")), drawn_deg=draw.choice((0.0, 77.7)),
                 from_deg=low, to_deg=low + draw.uniform(1, 300))


def _loaded(build: Builder, pins: list[Pin], sketch: Sketch) -> Sketch:
    """The sketch with its parts, and a few loads."""
    draw = build.draw
    few = range(draw.randrange(3))
    springs, torsion = [], []
    for _ in few:
        a, b = build.any_ref(), build.any_ref()
        if a.split(".")[0] != b.split(".")[0]:
            springs.append(Spring(id=build.name(), a=a, b=b, rate_n_per_mm=draw.uniform(0, 2),
                                  free_length_mm=draw.uniform(0, 90)))
        pin = draw.choice(pins)
        torsion.append(TorsionSpring(
            id=build.name(), pin=pin.id, a=pin.at[0].split(".")[0], b=pin.at[1].split(".")[0],
            rate_nmm_per_deg=draw.uniform(0, 9)))
    forces = [Force(id=build.name(), at=build.any_ref(), fx_n=draw.gauss(0, 5),
                    fy_n=draw.gauss(0, 5), turns_with_part=draw.random() < 0.5) for _ in few]
    torques = [Torque(id=build.name(), part=draw.choice(list(build.points)), torque_nmm=9.0)
               for _ in few]
    parts = [_part(draw, name, points) for name, points in build.points.items()]
    draw.shuffle(parts)
    fields = {name: getattr(sketch, name) for name in sketch.__struct_fields__}
    return Sketch(**{**fields, "parts": tuple(parts), "springs": tuple(springs),
                     "torsion_springs": tuple(torsion), "forces": tuple(forces),
                     "torques": tuple(torques)})


def _part(draw: Draw, name: str, points: list[Point]) -> Part:
    shapes = [None, None, Bar(width_mm=draw.uniform(1, 30)),
              Plate(margin_mm=draw.uniform(1, 20)), Disc(radius_mm=draw.uniform(1, 60)),
              ] if points else []
    x, y = (points[0].x, points[0].y) if points else (0.0, 0.0)
    square = tuple((x + dx, y + dy) for dx, dy in ((-9, -9), (9, -9), (9, 9), (-9, 9)))
    outline = draw.choice([*shapes, Polygon(outer=square)])
    mass = Mass(mass_kg=draw.choice((0.0, 0.3)), x=x, y=y) if draw.random() < 0.2 else None
    return Part(id=name, points=tuple(points), outline=outline, mass=mass,
                fixed=name == "frame" or (name != "crank" and draw.random() < 0.08),
                layer=draw.choice((None, draw.randrange(4))), thickness_mm=draw.uniform(1, 20))
