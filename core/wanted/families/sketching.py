"""From a mechanism of a family to a complete sketch that can be edited, cut and turned."""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import pairwise
from math import ceil, degrees

import numpy as np

from core.model import (
    Bar,
    Disc,
    Drive,
    Lock,
    Mesh,
    Outline,
    Part,
    Pin,
    PinInSlot,
    Plate,
    Point,
    Sketch,
    Slide,
    join_ref,
    part_of,
    split_ref,
)
from core.wanted.engine import Crank, Mechanisms, SlideDyad, SlottedLever, run
from core.wanted.engine.mechanisms import Complexes
from core.wanted.families.family import Family
from core.wanted.families.stacking import stacked

FRAME = "frame"
#: Steps to a turn at which the build is looked over.
_STEPS = 120
#: Widths of bars, mm, and as a share of the mechanism's size; pins by the width of bars.
_WIDTHS, _WIDTH, _PIN = (5.0, 16.0), 0.12, 0.375
#: Sheets one can buy, mm.
_SHEETS = (3.0, 4.0, 5.0, 6.0)
#: A slot or guide is longer than its travel by this share, and bar widths at each end.
_SPARE, _ENDS = 0.05, 0.6
#: The fewest teeth of a gear, and the module aimed at, mm.
_TEETH, _MODULE = 12, 2.5


@dataclass
class Build:
    """A sketch in the making.

    Attributes
    ----------
    at : where every point is drawn, complex mm.
    paths : (N,) where every point is over the cycle.
    width_mm : of bars.
    bodies : points of every body, those of the frame under "".
    """

    at: dict[str, complex]
    paths: dict[str, Complexes]
    width_mm: float
    bodies: dict[str, list[str]]
    pins: dict[str, list[str]] = field(default_factory=dict)
    slides: list[Slide] = field(default_factory=list)
    slots: list[PinInSlot] = field(default_factory=list)
    meshes: list[Mesh] = field(default_factory=list)
    locks: list[Lock] = field(default_factory=list)
    wheels: dict[str, float] = field(default_factory=dict)

    @property
    def pin_mm(self) -> float:
        """Diameter of pins, smaller where a wheel is small."""
        most = min(self.wheels.values(), default=self.width_mm)
        return max(1.0, round(2 * min(_PIN * self.width_mm, 0.8 * most)) / 2)


def sketch_of(family: Family, mechanism: Mechanisms, *, drawn_rad: float | None = None,
              offset_rad: float = 0.0, rpm: float = 20.0, title: str = "") -> Sketch:
    """A sketch of one mechanism: parts with outlines and layers, joints, drive, tracer.

    Parameters
    ----------
    mechanism : one of the family.
    drawn_rad : crank angle in the drawn pose (the axis of the crank points along x at 0);
        None: where the worst transmission angle is best, at a reading below a turn.
    offset_rad : the crank's reading is its angle less this.
    rpm : speed of the drive; negative turns clockwise.

    The parts are named as the bodies of the recipe, their points as its points, the frame
    "frame"; a joint bears the name of its point.
    """
    recipe = family.recipe
    crank = np.linspace(0.0, 2 * np.pi * recipe.turns, _STEPS * recipe.turns, endpoint=False)
    if drawn_rad is None:
        first = crank[: _STEPS] + offset_rad        # readings within the first turn
        worst = np.abs(run(recipe, mechanism, first, derive=False).cosines()).max(
            axis=0, initial=0.0)[0]
        drawn_rad = float(first[np.argmin(worst)])
    done = run(recipe, mechanism, np.append(crank, drawn_rad), derive=False)
    paths = {point: done.point(point)[0] for point in recipe.points}
    size = float(np.median([abs(paths[one][-1] - paths[other][-1])
                            for one, other in _neighbours(family)]))
    build = Build({point: complex(path[-1]) for point, path in paths.items()}, paths,
                  float(np.clip(_WIDTH * size, *_WIDTHS).round(1)),
                  {body: list(points) for body, points in recipe.members.items()})
    for step in recipe.steps:
        match step:
            case SlideDyad(pin, _, sled):
                direction = mechanism.params[0, recipe.row[f"{sled}.direction"]]
                _guide(build, pin, sled, complex(np.exp(1j * direction)))
            case SlottedLever(body, about, pin):
                _slot(build, body, about, pin, family)
            case Crank(body, about, _, ratio, True):
                _gears(build, body, about, ratio.numerator, ratio.denominator)
            case _:
                pass
    for point in paths:
        held = [body for body, points in build.bodies.items() if point in points]
        if len(held) > 1:
            build.pins[point] = held
    return Sketch(
        title=title or family.name, parts=_parts(build, family), pins=tuple(
            Pin(id=point, at=tuple(join_ref(body or FRAME, point) for body in held),
                diameter_mm=build.pin_mm) for point, held in build.pins.items()),
        slides=tuple(build.slides), slots=tuple(build.slots), meshes=tuple(build.meshes),
        locks=tuple(build.locks),
        drive=Drive(pin=recipe.points[0], part="crank", rpm=rpm,
                    drawn_deg=degrees(drawn_rad - offset_rad)))


def _neighbours(family: Family) -> list[tuple[str, str]]:
    """Pairs of points next to each other on a body."""
    return [pair for points in family.recipe.members.values()
            for pair in pairwise(points)]


def _add(build: Build, body: str, point: str, place: complex) -> str:
    """Put a point on a body; its reference."""
    build.bodies[body].append(point)
    build.at[point] = place
    return join_ref(body or FRAME, point)


def _guide(build: Build, pin: str, sled: str, along: complex) -> None:
    """The guide of a sled, as long as its travel and some more."""
    travel = ((build.paths[pin] - build.at[pin]) * along.conjugate()).real
    spare = _SPARE * float(np.ptp(travel)) + _ENDS * build.width_mm
    ends = [_add(build, "", f"{sled} {end}", build.at[pin] + along * float(far))
            for end, far in (("start", travel.min() - spare), ("end", travel.max() + spare))]
    build.slides.append(Slide(id=f"{sled} guide", point=join_ref(sled, pin),
                              along=(ends[0], ends[1])))


def _slot(build: Build, body: str, about: str, pin: str, family: Family) -> None:
    """The slot of a lever, as long as its pin's travel and some more."""
    away = np.abs(build.paths[pin] - build.paths[about])
    spare = _SPARE * float(np.ptp(away)) + _ENDS * build.width_mm
    arm = build.at[pin] - build.at[about]
    unit = arm / abs(arm)
    near = max(float(away.min()) - spare, 0.5 * float(away.min()))
    ends = [_add(build, body, f"slot {end}", build.at[about] + unit * far)
            for end, far in (("start", near), ("end", float(away.max()) + spare))]
    carrier = next(own for own, points in family.recipe.members.items() if pin in points)
    build.slots.append(PinInSlot(id=f"{body} slot", point=join_ref(carrier, pin),
                                 slot=(ends[0], ends[1]), diameter_mm=build.pin_mm))


def _gears(build: Build, body: str, about: str, over: int, under: int) -> None:
    """Gears that turn a second crank `over` / `under` times as fast as the crank, against
    it for a negative ratio, with it, by an idler between, for a positive one."""
    shaft = build.bodies["crank"][0]
    one, other = abs(over), under                     # teeth of the driving, the driven
    times = max(ceil(_TEETH / min(one, other)),
                round(2 * abs(build.at[about] - build.at[shaft]) / _MODULE
                      / (one + other + (0 if over < 0 else 2 * min(one, other)))))
    teeth = {"crank gear": one * times, f"{body} gear": other * times}
    for gear, (centre, carried) in zip(teeth, ((shaft, "crank"), (about, body)), strict=True):
        build.bodies[gear] = [centre]
        build.locks.append(Lock(id=f"{gear} lock", parts=(carried, gear), pin=centre))
    row = ["crank gear", f"{body} gear"]
    if over > 0:
        teeth["idler"] = min(one, other) * times      # comes round as often as the others
        row.insert(1, "idler")
    radius = {gear: count / 2 for gear, count in teeth.items()}
    way = build.at[about] - build.at[shaft]
    module = abs(way) / (radius[row[0]] + radius[row[-1]] + 2 * radius.get("idler", 0.0))
    build.wheels |= {gear: module * radius[gear] for gear in row}
    if over > 0:
        share = module * (radius[row[0]] + radius["idler"]) / abs(way)
        _add(build, "", "idler shaft", build.at[shaft] + share * way)
        build.bodies["idler"] = ["idler shaft"]
        build.pins["idler shaft"] = ["", "idler"]
    for a, b in pairwise(row):
        build.meshes.append(Mesh(
            id=f"{a} to {b}", a=join_ref(a, build.bodies[a][0]),
            b=join_ref(b, build.bodies[b][0]), teeth_a=teeth[a], teeth_b=teeth[b]))


def _parts(build: Build, family: Family) -> tuple[Part, ...]:
    """All parts, the frame lowest, gears over it, then the others as they stack best."""
    moving = {body: points for body, points in build.bodies.items()
              if body not in build.wheels}
    moving = {body: [point for point in points if point in build.paths]
              for body, points in moving.items()}
    for slot in build.slots:
        lever, (_, pin) = part_of(slot.slot[0]), split_ref(slot.point)
        moving[lever].append(pin)
    over = 1 if build.wheels else 0                   # gears lie in the lowest layer
    stack = stacked(moving, build.paths, build.width_mm, build.pin_mm)
    layers = {"": 0} | dict.fromkeys(build.wheels, 1) | {
        body: over + layer for body, layer in stack.items()}
    order = sorted(stack, key=lambda body: layers[body])
    sheet = min(_SHEETS, key=lambda thick: abs(thick - _PIN * build.width_mm))
    return tuple(
        Part(id=body or FRAME, fixed=not body, layer=layers[body], thickness_mm=sheet,
             outline=_outline(build, body), points=tuple(
                 Point(id=point, x=build.at[point].real, y=build.at[point].imag,
                       trace=point == family.tracer) for point in build.bodies[body]))
        for body in ("", *build.wheels, *order))


def _outline(build: Build, body: str) -> Outline:
    """A disc for one point and for wheels, a bar for two, a plate for more."""
    if body in build.wheels:
        return Disc(radius_mm=build.wheels[body])
    points = build.bodies[body]
    if len(points) == 1:
        return Disc(radius_mm=0.6 * build.width_mm)
    if len(points) == 2:
        return Bar(width_mm=build.width_mm)
    return Plate(margin_mm=0.5 * build.width_mm)
