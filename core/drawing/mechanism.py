"""The mechanism as a drawing: outlines with hidden edges, rods, gears, paths, springs."""

from __future__ import annotations

import cmath
import math
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from core.drawing.items import (
    BLUE,
    BRASS,
    CENTRE,
    FINE,
    HIDDEN,
    MOVED,
    PAPER,
    THIN,
    VISIBLE,
    WIDE,
    WOOD,
    Circle,
    Floats,
    Item,
    Path,
    Pen,
    run,
)
from core.drawing.subject import Subject, Track
from core.drawing.symbols import arrow, curved_arrow, ground, line, rod, xy, zigzag
from core.drawing.weights import ballasts, rim
from core.model import Belt, Mesh, split_ref
from core.motion.turn import Turn

Complexes = NDArray[np.complex128]

#: Crank step between the dots of a traced path.
DOT_DEG = 15.0


@dataclass(frozen=True)
class View:
    """From the sketch to the page: ``page = scale · sketch + shift`` (complex mm)."""

    scale: float
    shift: complex

    def at(self, place: complex) -> complex:
        """A place of the sketch on the page."""
        return self.scale * place + self.shift

    def shape(self, shape: shapely.Geometry) -> shapely.Geometry:
        """A shape of the sketch on the page."""
        offset = np.array([self.shift.real, self.shift.imag])
        return shapely.transform(shape, lambda points: points * self.scale + offset)


def extent(subject: Subject, extremes: bool = False) -> tuple[float, float, float, float]:
    """The box (left, bottom, right, top), mm in the sketch, of all that is drawn."""
    corners = [shapely.get_coordinates(shape) for shape in subject.shapes.values()]
    corners += [xy([pivot.at]) for pivot in subject.pivots]
    corners += [xy(list(track.at)) for track in subject.tracks]
    corners += [_finite(path) for path in traced(subject)]
    for mesh in subject.sketch.meshes:
        for ref, radius in zip((mesh.a, mesh.b), pitch_radii(subject, mesh), strict=True):
            middle = subject.place(ref)
            corners.append(xy([middle - radius * (1 + 1j), middle + radius * (1 + 1j)]))
    if extremes:
        corners += [shapely.get_coordinates(shape) for shape in extreme_shapes(subject)]
    corners = [rows for rows in corners if len(rows)]
    if not corners:
        return 0.0, 0.0, 100.0, 100.0
    rows = np.concatenate(corners)
    left, bottom = rows.min(axis=0)
    right, top = rows.max(axis=0)
    return float(left), float(bottom), float(right), float(top)


def traced(subject: Subject) -> list[Floats]:
    """Paths (N, 2) mm of the points that leave a trace."""
    turn = subject.study.turn
    if turn is None:
        return []
    return [turn.path(f"{part.id}.{point.id}") for part in subject.sketch.parts
            for point in part.points if point.trace and not part.fixed]


def extreme_shapes(subject: Subject) -> list[shapely.Geometry]:
    """Outlines of the rocking parts where they stand furthest round either way."""
    turn = subject.study.turn
    if turn is None:
        return []
    shapes = []
    for part in subject.sketch.parts:
        angle = turn.angle_rad[:, turn.row(part.id)]
        if part.id not in subject.shapes or part.fixed or not np.isfinite(angle).any():
            continue
        if 1e-6 < np.nanmax(angle) - np.nanmin(angle) < 2 * math.pi - 0.1:
            shapes += [_posed(subject, turn, part.id, int(step))
                       for step in (np.nanargmin(angle), np.nanargmax(angle))]
    return shapes


def _posed(subject: Subject, turn: Turn, part: str, step: int) -> shapely.Geometry:
    row = turn.row(part)
    spin = turn.rotation[row, step] / subject.rotation[part]
    shift = turn.shift[row, step] - spin * subject.shift[part]
    return shapely.transform(subject.shapes[part],
                             lambda p: xy(spin * (p[:, 0] + 1j * p[:, 1]) + shift))


def pitch_radii(subject: Subject, mesh: Mesh) -> tuple[float, float]:
    """Radii, mm, of the pitch circles of a gear pair as drawn."""
    return mesh.pitch_radii(abs(subject.place(mesh.b) - subject.place(mesh.a)))


def outlines(subject: Subject, view: View) -> list[Item]:
    """Parts from the lowest layer up: pale fills, then hidden edges, then visible ones."""
    fills: list[Item] = []
    hidden: list[Item] = []
    visible: list[Item] = []
    cover: shapely.Geometry = shapely.Polygon()
    order = sorted(subject.shapes, key=lambda part: subject.layers[part], reverse=True)
    level: int | None = None
    coming: list[shapely.Geometry] = []
    for part in order:
        if subject.layers[part] != level:
            cover = shapely.union_all([cover, *coming])
            level, coming = subject.layers[part], []
        shape = shapely.simplify(view.shape(subject.shapes[part]), 0.01)
        coming.append(shape)
        tone = WOOD[subject.layers[part] % len(WOOD)]
        fills.append(Path(_rings(shape), None, tone))
        edge = shape.boundary
        hidden += _runs(shapely.intersection(edge, cover), HIDDEN)
        visible += _runs(shapely.difference(edge, cover), VISIBLE)
    return fills[::-1] + hidden + visible


def _rings(shape: shapely.Geometry) -> tuple[Floats, ...]:
    rings = [ring for polygon in shapely.get_parts(shape) if polygon.geom_type == "Polygon"
             for ring in (polygon.exterior, *polygon.interiors)]
    return tuple(shapely.get_coordinates(ring)[:-1] for ring in rings)


def _runs(lines: shapely.Geometry, pen: Pen) -> list[Item]:
    """Pieces of an edge as runs, joined where they touch."""
    if lines.is_empty:
        return []
    pieces = [p for p in shapely.get_parts(lines) if p.geom_type == "LineString"]
    merged = shapely.line_merge(shapely.MultiLineString(pieces)) if pieces else lines
    return [run(shapely.get_coordinates(piece), pen) for piece in shapely.get_parts(merged)
            if piece.geom_type == "LineString" and piece.length > 0.02]


def paths(subject: Subject, view: View) -> list[Item]:
    """Traced paths with a dot at every equal step of the crank."""
    turn = subject.study.turn
    if turn is None:
        return []
    items: list[Item] = []
    first, last = turn.crank_rad[0], turn.crank_rad[-1]
    dots = np.arange(first, last + 1e-9, math.radians(DOT_DEG))
    pen = Pen(FINE, colour=BLUE)
    for path in traced(subject):
        z = path @ np.array([1, 1j]) * view.scale + view.shift
        whole = bool(turn.reached.all()) and turn.repeats
        for piece in _reached_runs(np.append(z, z[:1]) if whole else z):
            items.append(run(xy(piece), pen))
        for place in np.interp(dots, turn.crank_rad, z):
            if np.isfinite(place):
                items.append(Circle(place.real, place.imag, 0.4, None, BLUE))
    return items


def _reached_runs(places: Complexes) -> list[Complexes]:
    """The stretches of a path without NaN, two places or more."""
    gaps = np.flatnonzero(~np.isfinite(places))
    return [piece[np.isfinite(piece)] for piece in np.split(places, gaps)
            if np.isfinite(piece).sum() > 1]


def _finite(path: Floats) -> Floats:
    return path[np.isfinite(path).all(axis=1)]


def extremes(subject: Subject, view: View) -> list[Item]:
    """Extreme positions in double-dot chain lines."""
    return [Path(_rings(shapely.simplify(view.shape(shape), 0.01)), MOVED)
            for shape in extreme_shapes(subject)]


def gears(subject: Subject, view: View) -> list[Item]:
    """Pitch circles of gears in chain lines; pulleys and belts in thin lines."""
    items: list[Item] = []
    for mesh in subject.sketch.meshes:
        for ref, radius in zip((mesh.a, mesh.b), pitch_radii(subject, mesh), strict=True):
            middle = view.at(subject.place(ref))
            items.append(Circle(middle.real, middle.imag, radius * view.scale, CENTRE))
    for belt in subject.sketch.belts:
        items += _belt(subject, view, belt)
    return items


def _belt(subject: Subject, view: View, belt: Belt) -> list[Item]:
    a, b = view.at(subject.place(belt.a)), view.at(subject.place(belt.b))
    ra, rb = belt.diameter_a_mm / 2 * view.scale, belt.diameter_b_mm / 2 * view.scale
    items: list[Item] = [Circle(a.real, a.imag, ra), Circle(b.real, b.imag, rb)]
    far = (-rb if belt.crossed else rb)
    if abs(b - a) > abs(ra - far):
        along = (b - a) / abs(b - a)
        lean = (ra - far) / abs(b - a)
        for side in (1j, -1j):
            normal = along * (lean + side * math.sqrt(1 - lean * lean))
            items.append(line(a + ra * normal, b + far * normal, Pen(0.35)))
    return items


def tracks(subject: Subject, view: View) -> list[Item]:
    """Centre lines of slots; slides as a line with end stops and the block on it."""
    items: list[Item] = []
    for track in subject.tracks:
        a, b = (view.at(end) for end in track.at)
        items.append(line(a, b, CENTRE))
        if not track.width_mm and abs(b - a) > 1e-9:
            items += _slide(subject, view, track, a, b)
    return items


def _slide(subject: Subject, view: View, track: Track, a: complex, b: complex) -> list[Item]:
    along = (b - a) / abs(b - a)
    block = next(view.at(subject.place(slide.point)) for slide in subject.sketch.slides
                 if slide.id == track.joint)
    half, high = 4.0 * along, 2.2j * along
    ring = xy([block - half - high, block + half - high, block + half + high,
               block - half + high])
    stops: list[Item] = [line(end - high * 0.8, end + high * 0.8, THIN) for end in (a, b)]
    return [*stops, line(a, b, THIN), Path((ring,), Pen(0.35), PAPER)]


def rods(subject: Subject, view: View) -> list[Item]:
    """Rods with centre lines; those of the frame on a hatched base."""
    items: list[Item] = []
    for pivot in subject.pivots:
        at, radius = view.at(pivot.at), max(pivot.diameter_mm / 2 * view.scale, 0.5)
        if pivot.fixed:
            items += ground(at, radius)
    for pivot in subject.pivots:
        at, radius = view.at(pivot.at), max(pivot.diameter_mm / 2 * view.scale, 0.5)
        items += rod(at, radius, BRASS)
    return items


def loads(subject: Subject, view: View) -> list[Item]:
    """Springs, forces and the sense of cranking."""
    sketch = subject.sketch
    items: list[Item] = []
    for spring in sketch.springs:
        items += zigzag(view.at(subject.place(spring.a)), view.at(subject.place(spring.b)))
    for force in sketch.forces:
        pull = complex(force.fx_n, force.fy_n)
        if pull:
            spin = subject.rotation[split_ref(force.at)[0]] if force.turns_with_part else 1
            at = view.at(subject.place(force.at))
            items += arrow(at, at + 14 * pull * spin / abs(pull), Pen(WIDE))
    drive = sketch.drive
    pivot = next((p for p in subject.pivots if drive and p.joint == drive.pin), None)
    if drive and pivot and subject.crank_deg is not None:
        reach = max(pivot.diameter_mm / 2 * view.scale + 4.5, 6.0)
        sweep = 80.0 if drive.rpm >= 0 else -80.0
        start = _crank_direction(subject, pivot.at, drive.part) + math.copysign(35.0, sweep)
        items += curved_arrow(view.at(pivot.at), reach, start, sweep, Pen(0.35))
    return items


def _crank_direction(subject: Subject, pivot: complex, part: str) -> float:
    """The direction, degrees, in which the driven part reaches furthest from its pivot."""
    points = [subject.place(f"{part}.{point.id}") for point in subject.sketch.part(part).points]
    arms = [place - pivot for place in points if abs(place - pivot) > 1e-6]
    return math.degrees(cmath.phase(max(arms, key=abs))) if arms else 0.0


def weights(subject: Subject, view: View) -> list[Item]:
    """Weights: dashed where a part in front hides their middle."""
    items: list[Item] = []
    for ballast in ballasts(subject):
        middle = shapely.Point(ballast.at.real, ballast.at.imag)
        hidden = any(shape.contains(middle) for part, shape in subject.shapes.items()
                     if subject.layers[part] > subject.layers[ballast.part])
        items += rim(ballast, view.at(ballast.at), view.scale, hidden)
    return items


def mechanism(subject: Subject, view: View, with_extremes: bool = False) -> list[Item]:
    """Everything of the view but its dimensions and labels, from the bottom up."""
    return [*outlines(subject, view), *(extremes(subject, view) if with_extremes else ()),
            *weights(subject, view), *gears(subject, view), *tracks(subject, view),
            *paths(subject, view), *loads(subject, view), *rods(subject, view)]
