"""Random sketches that a crank determines: grown group by group from random places.

Any places will do: the drawn pose is consistent by construction, the turn may be short.
"""

from __future__ import annotations

from collections.abc import Sequence

import msgspec
import numpy as np

from core.model import Belt, Drive, Lock, Mesh, Part, Pin, PinInSlot, Point, Sketch, Slide

KINDS = ("two bars", "bar and slider", "bar on slider", "pin in slot", "slot on pin",
         "two sliders", "slider in slot", "gear", "belt", "fast")


class Grower:
    """Adds groups to a crank on a frame; `random` chooses places and parts."""

    def __init__(self, seed: int, size: float = 100.0) -> None:
        self.random, self.size = np.random.default_rng(seed), size
        self.points: dict[str, dict[str, complex]] = {"frame": {}, "crank": {}}
        self.pins: list[Pin] = []
        self.slides: list[Slide] = []
        self.slots: list[PinInSlot] = []
        self.meshes: list[Mesh] = []
        self.belts: list[Belt] = []
        self.locks: list[Lock] = []
        #: (gear part, its centre's reference, carrier) of everything pinned to something.
        self.axes: list[tuple[str, str, str]] = []
        self._count = 0
        self.hub = self._pin("frame", "crank", self.place())

    def place(self) -> complex:
        """A place in a square of the size."""
        return complex(*self.random.uniform(-self.size, self.size, 2))

    def sketch(self, drawn_deg: float = 20.0) -> Sketch:
        """What has grown so far."""
        parts = tuple(Part(id=name, fixed=name == "frame", points=tuple(
            Point(id=point, x=at.real, y=at.imag) for point, at in points.items()))
            for name, points in self.points.items())
        return Sketch(parts=parts, pins=tuple(self.pins), slides=tuple(self.slides),
                      slots=tuple(self.slots), meshes=tuple(self.meshes),
                      belts=tuple(self.belts), locks=tuple(self.locks),
                      drive=Drive(pin=self.hub, part="crank", drawn_deg=drawn_deg))

    def grow(self, kind: str) -> None:
        """Add one group hanging on two (or one) of the parts there are."""
        one, two = self._hosts()
        if kind == "two bars":
            a, b, middle = self._part(), self._part(), self.place()
            self._pin(one, a, self.place())
            self._pin(two, b, self.place())
            self._pin(a, b, middle)
        elif kind == "bar and slider":
            a, b, middle = self._part(), self._part(), self.place()
            self._pin(one, a, self.place())
            self._pin(a, b, middle)
            self._slide(b, two, middle)
        elif kind == "bar on slider":
            a, b, middle = self._part(), self._part(), self.place()
            self._pin(one, a, self.place())
            self._pin(two, b, middle)
            self._slide(b, a, middle + self.place() * 0.1)
        elif kind in ("pin in slot", "slot on pin"):
            a, middle = self._part(), self.place()
            self._pin(one, a, self.place())
            self._slot(*((a, two) if kind == "pin in slot" else (two, a)), middle)
        elif kind == "two sliders":
            a, b, middle = self._part(), self._part(), self.place()
            self._slide(a, one, self.place())
            self._slide(b, two, self.place())
            self._pin(a, b, middle)
        elif kind == "slider in slot":
            a = self._part()
            self._slide(a, one, self.place())
            self._slot(a, two, self.place())
        elif kind in ("gear", "belt"):
            self._wheel(kind)
        else:
            a = self._part()
            self._point(a, self.place())
            self.locks.append(Lock(id=self._name("fast"), parts=(one, a)))

    def _hosts(self) -> tuple[str, str]:
        names = list(self.points)
        while True:
            one, two = (names[at] for at in self.random.choice(len(names), 2, replace=False))
            if self._body(one) != self._body(two):
                return one, two

    def _body(self, part: str) -> str:
        """The part others are locked to."""
        for lock in self.locks:
            if lock.parts[1] == part:
                return self._body(lock.parts[0])
        return part

    def _name(self, stem: str) -> str:
        self._count += 1
        return f"{stem}-{self._count}"

    def _part(self) -> str:
        name = self._name("part")
        self.points[name] = {}
        return name

    def _point(self, part: str, at: complex) -> str:
        name = self._name("p")
        self.points[part][name] = at
        return f"{part}.{name}"

    def _pin(self, a: str, b: str, at: complex) -> str:
        refs = (self._point(a, at), self._point(b, at))
        self.pins.append(Pin(id=self._name("pin"), at=refs))
        self.axes += [(b, refs[1], a)]
        return self.pins[-1].id

    def _line(self, part: str, through: complex) -> tuple[str, str]:
        way = self.size * np.exp(1j * self.random.uniform(0, 2 * np.pi))
        return self._point(part, through - way), self._point(part, through + way)

    def _slide(self, moving: str, on: str, at: complex) -> None:
        self.slides.append(Slide(id=self._name("slide"), point=self._point(moving, at),
                                 along=self._line(on, at)))

    def _slot(self, pinned: str, slotted: str, at: complex) -> None:
        self.slots.append(PinInSlot(id=self._name("slot"), point=self._point(pinned, at),
                                    slot=self._line(slotted, at)))

    def _wheel(self, kind: str) -> None:
        gear, centre, carrier = self.axes[self.random.integers(len(self.axes))]
        new = self._part()
        self._pin(carrier, new, self.place())
        own = self.axes[-1][1]
        assert gear in self.points
        a, b = (int(each) for each in self.random.integers(1, 4, 2) * 10)
        if kind == "gear":
            self.meshes.append(Mesh(id=self._name("mesh"), a=centre, b=own, teeth_a=a,
                                    teeth_b=b, internal=bool(self.random.integers(2))))
        else:
            self.belts.append(Belt(id=self._name("belt"), a=centre, b=own, diameter_a_mm=a,
                                   diameter_b_mm=b, crossed=bool(self.random.integers(2))))


def grown(kinds: Sequence[str], seed: int, size: float = 100.0,
          drawn_deg: float = 20.0) -> Sketch:
    """A crank on a frame with groups of the given kinds."""
    grower = Grower(seed, size)
    for kind in kinds:
        grower.grow(kind)
    return grower.sketch(drawn_deg)


def layered(rng: np.random.Generator, seed: int) -> Sketch:
    """Some groups, their parts of any thickness in up to five layers by the dice of `rng`."""
    kinds = [str(kind) for kind in rng.choice(list(KINDS), rng.integers(1, 4))]
    sketch = grown(kinds, seed)
    return msgspec.structs.replace(sketch, parts=tuple(
        msgspec.structs.replace(part, layer=int(rng.integers(0, 5)),
                                thickness_mm=float(rng.uniform(3, 12)))
        for part in sketch.parts))


def moved(sketch: Sketch, turn: complex, shift: complex) -> Sketch:
    """The sketch with every place z put at turn·z + shift."""
    def point(one: Point) -> Point:
        at = turn * complex(one.x, one.y) + shift
        return Point(id=one.id, x=at.real, y=at.imag)

    def part(one: Part) -> Part:
        return Part(id=one.id, fixed=one.fixed, points=tuple(map(point, one.points)))

    return msgspec.structs.replace(sketch, parts=tuple(map(part, sketch.parts)))
