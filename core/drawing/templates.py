"""Templates: every kind of part at full size, to be glued on the sheet and cut."""

from __future__ import annotations

import cmath
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from core.drawing.grain import grain_words, has_grain
from core.drawing.items import (
    CENTRE,
    DIMENSION,
    INK,
    Circle,
    Floats,
    Item,
    Path,
    Pen,
    Text,
)
from core.drawing.kinds import Kind, holes_of, tracks_of
from core.drawing.labels import beside
from core.drawing.lettering import centred, shortened, text_width
from core.drawing.mechanism import pitch_radii
from core.drawing.placing import Complexes, Placer, half_box
from core.drawing.schedules import material_name
from core.drawing.subject import Subject, slotted
from core.drawing.symbols import arrow, cross, line
from core.drawing.weights import Ballast, ballasts, rim, weight_words
from core.model import Part, part_of
from core.space import outline_of
from core.space.grain import grain_of
from core.units import MM_PER_INCH, show_length

#: The line to cut along. Cut outside it, sand to its middle.
CUT = Pen(0.35)
_CAPTION = 2.3
_CAPTION_STEP = 3.6
#: No caption is wider, mm.
_CAPTION_WIDTH = 120.0
_AROUND = 4.0
#: Centre crosses reach this far past the rim of a bore.
_ARMS = 3.0


@dataclass(frozen=True)
class Template:
    """A template as drawn: its shapes with the lower left of its box at the origin, the
    size of that box, mm, and the lines of its caption."""

    kind: Kind
    name: str
    shape: shapely.Polygon
    items: tuple[Item, ...]
    width: float
    height: float
    caption: tuple[str, ...]


def lying(shape: shapely.Geometry) -> complex:
    """The turn (a unit complex number) that lays the long side of a shape along x."""
    frame = shapely.minimum_rotated_rectangle(shape)
    if frame.geom_type != "Polygon":
        return 1 + 0j
    corners = shapely.get_coordinates(frame) @ np.array([1, 1j])
    sides = np.diff(corners)
    longest = sides[np.argmax(np.abs(sides) > np.abs(sides).max() - 1e-9)]
    turn = complex(np.conj(longest) / abs(longest))
    # Either way round will do; keep the one nearer to how it is drawn.
    return turn if turn.real >= 0 else -turn


def lying_size(part: Part, turn_deg: float) -> tuple[float, float]:
    """Width and height, mm, of the box around a part lying, then turned by `turn_deg`."""
    shape = outline_of(part)
    turn = lying(shape) * complex(math.cos(math.radians(turn_deg)),
                                  math.sin(math.radians(turn_deg)))
    size = np.ptp(_turned(shapely.get_coordinates(shape), turn), axis=0)
    return float(size[0]), float(size[1])


def template(subject: Subject, kind: Kind, turn_deg: float = 0.0) -> Template:
    """The template of the first part of a kind, lying, then turned by `turn_deg`."""
    part = subject.sketch.part(kind.parts[0])
    shape = slotted(part, subject.tracks)
    turn = lying(shape) * complex(math.cos(math.radians(turn_deg)),
                                  math.sin(math.radians(turn_deg)))
    shape = shapely.transform(shape, lambda p: _turned(p, turn))
    left, bottom, right, top = shape.bounds
    corner = complex(left, bottom)
    shape = shapely.transform(shape, lambda p: p - [left, bottom])
    assert isinstance(shape, shapely.Polygon)
    width, height = right - left, top - bottom

    def place(drawn: complex) -> complex:
        return turn * drawn - corner

    drawn = _outline(subject, part, shape, place)
    # Labels may stand out above and beside the part; below it is the caption.
    placer = Placer(-_AROUND, -0.3, width + 2 * _AROUND, height + _AROUND + 0.3)
    placer.draw(drawn)
    labels: list[Item] = []
    for hole in holes_of(subject, part.id):
        labels += beside(place(hole.drawn), hole.diameter_mm / 2 + 0.8, hole.label, 2.5,
                         placer, bold=True) or []
    for track in tracks_of(subject, part.id):
        middle = place((track.drawn[0] + track.drawn[1]) / 2)
        labels += beside(middle, track.width_mm / 2 + 0.8, track.label, 2.5, placer) or []
    for ballast in _ballasts(subject, part.id):
        labels += beside(place(ballast.drawn), ballast.radius_mm + 0.8, ballast.label, 2.5,
                         placer) or []
    wood = _solid(shape, subject, part, place)
    if has_grain(subject.sketch, part):
        labels += _grain(wood, placer, turn * cmath.rect(1.0, grain_of(part)))
    labels += _name_inside(wood, placer, kind)
    return Template(kind, kind.parts[0], shape, (*drawn, *labels), width, height,
                    _caption(subject, kind, part))


def _turned(points: Floats, turn: complex) -> Floats:
    z = turn * (points @ np.array([1, 1j]))
    return np.stack([z.real, z.imag], axis=-1)


def _outline(subject: Subject, part: Part, shape: shapely.Polygon,
             place: Callable[[complex], complex]) -> list[Item]:
    """Outline with slots, bores with centre crosses, and marks at the other points."""
    rings = [shape.exterior, *shape.interiors]
    items: list[Item] = [Path(tuple(shapely.get_coordinates(ring)[:-1] for ring in rings), CUT)]
    marked: list[complex] = []
    for hole in holes_of(subject, part.id):
        at, radius = place(hole.drawn), hole.diameter_mm / 2
        # On slight parts the cross stays off the caption below.
        arms = min(_ARMS, max(0.5, at.imag - radius + 0.5))
        items += [Circle(at.real, at.imag, radius, CUT), *cross(at, radius + arms)]
        marked.append(at)
    for track in tracks_of(subject, part.id):
        a, b = (place(end) for end in track.drawn)
        items += [line(a, b, CENTRE), *cross(a, 2.5), *cross(b, 2.5)]
        marked += [a, b]
    for ballast in _ballasts(subject, part.id):
        items += rim(ballast, place(ballast.drawn), 1.0)
        marked.append(place(ballast.drawn))
    for mesh in subject.sketch.meshes:
        radii = pitch_radii(subject, mesh)
        for ref, radius in zip((mesh.a, mesh.b), radii, strict=True):
            if part_of(ref) == part.id:
                at = place(subject.sketch.place(ref))
                items.append(Circle(at.real, at.imag, radius, CENTRE))
    for point in part.points:
        at = place(point.place)
        if all(abs(at - other) > 0.5 for other in marked):
            items += cross(at, 2.0, DIMENSION)
    return items


def _solid(shape: shapely.Polygon, subject: Subject, part: Part,
           place: Callable[[complex], complex]) -> shapely.Geometry:
    """The part without its bores, their crosses and its slots: what writing may cover."""
    taken: list[shapely.Geometry] = []
    for hole in holes_of(subject, part.id):
        at, reach = place(hole.drawn), hole.diameter_mm / 2 + _ARMS
        taken.append(shapely.Point(at.real, at.imag).buffer(reach))
    for track in tracks_of(subject, part.id):
        ends = shapely.LineString([(z.real, z.imag) for z in map(place, track.drawn)])
        taken.append(ends.buffer(track.width_mm / 2 + 1.0))
    for ballast in _ballasts(subject, part.id):
        at = place(ballast.drawn)
        taken.append(shapely.Point(at.real, at.imag).buffer(ballast.radius_mm + 2.0))
    return shapely.difference(shape, shapely.union_all(taken))


def _ballasts(subject: Subject, part: str) -> list[Ballast]:
    return [one for one in ballasts(subject) if one.part == part]


def _spots(shape: shapely.Geometry) -> Complexes:
    """Places spread over the inside of a shape, complex mm."""
    if shape.is_empty:
        return np.empty(0, dtype=np.complex128)
    left, bottom, right, top = shape.bounds
    x = np.linspace(left, right, min(60, max(12, round((right - left) / 3))))
    y = np.linspace(bottom, top, min(60, max(9, round((top - bottom) / 2))))
    grid_x, grid_y = (grid.ravel() for grid in np.meshgrid(x, y))
    inside = shapely.contains_xy(shape, grid_x, grid_y)
    return np.asarray((grid_x + 1j * grid_y)[inside], dtype=np.complex128)


def _fits(shape: shapely.Geometry, middles: Complexes, across: complex, up: complex
          ) -> NDArray[np.bool_]:
    """Which places hold a rectangle, given by its half sides, inside a shape."""
    offsets = np.array([-across - up, across - up, across + up, up - across, -across - up])
    rings = middles[:, None] + offsets
    boxes = shapely.polygons(np.stack([rings.real, rings.imag], axis=-1))
    shapely.prepare(shape)
    return np.asarray(shapely.contains(shape, boxes))


def _grain(shape: shapely.Geometry, placer: Placer, along: complex) -> list[Item]:
    """A double arrow inside the part along its (face) grain."""
    spots = _spots(shape)
    middle = complex(shape.centroid.x, shape.centroid.y) if spots.size else 0j
    for length in (30.0, 20.0, 14.0, 9.0):
        across, up = along * length / 2, along * 1.2j
        if spots.size and (fits := _fits(shape, spots, across, up)).any():
            places = spots[fits]
            chosen = placer.best(places, across, up, np.abs(places - middle) * 0.15)
            if chosen is not None:
                at = complex(places[chosen])
                return [*arrow(at, at + across, DIMENSION), *arrow(at, at - across, DIMENSION)]
    return []


def _name_inside(shape: shapely.Geometry, placer: Placer, kind: Kind) -> list[Item]:
    """Item number and name inside the part, or the number alone."""
    spots = _spots(shape)
    middle = complex(shape.centroid.x, shape.centroid.y) if spots.size else 0j
    for text in (f"{kind.item}  {kind.parts[0]}", str(kind.item)):
        for angle in (0.0, 90.0):
            label = centred(0.0, 0.0, text, 2.5, angle, bold=True)
            off, across, up = half_box(label)
            if not spots.size or not (fits := _fits(shape, spots + off, across, up)).any():
                continue
            places = spots[fits]
            chosen = placer.best(places + off, across, up, np.abs(places - middle) * 0.1)
            if chosen is not None:
                at = complex(places[chosen])
                return [centred(at.real, at.imag, text, 2.5, angle, bold=True)]
    return []


def _caption(subject: Subject, kind: Kind, part: Part) -> tuple[str, ...]:
    """Number and name; what to cut it from; its bores and slots; what is not drawn."""
    units = subject.sketch.units
    mirrored = f" ({kind.mirrored} turned over)" if kind.mirrored else ""
    names = kind.parts[0] if kind.quantity == 1 else ", ".join(kind.parts)
    layers = ", ".join(str(n) for n in sorted({subject.layers[p] for p in kind.parts}))
    stuff = material_name(subject.sketch, part.material)
    run = grain_words(subject.sketch, part)
    grain = f", grain {run}" if run != "–" else ""
    lines = (f"{kind.item}  {names}",
             f"Cut {kind.quantity}{mirrored} from {stuff}, "
             f"{show_length(part.thickness_mm, units)}, layer {layers}{grain}",
             _bores(subject, part.id),
             *(f"{one.label}: {weight_words(one.weight, units)}"
               for one in _ballasts(subject, part.id)), *_wheel_notes(subject, part.id))
    return tuple(shortened(line, _CAPTION_WIDTH, _CAPTION, step == 0)
                 for step, line in enumerate(lines) if line)


def _bores(subject: Subject, part: str) -> str:
    """The bores by size, "Bores Ø6 mm: A1, B1; Ø4 mm: C1", and the widths of slots."""
    units = subject.sketch.units
    sizes: dict[str, list[str]] = {}
    for hole in holes_of(subject, part):
        sizes.setdefault(show_length(hole.diameter_mm, units), []).append(hole.label)
    said = [f"Ø{size}: {', '.join(labels)}" for size, labels in sizes.items()]
    slots = [f"slot {track.label} {show_length(track.width_mm, units)} wide"
             for track in tracks_of(subject, part) if track.width_mm]
    return "; ".join([*(["Bores " + "; ".join(said)] if said else []), *slots])


def _wheel_notes(subject: Subject, part: str) -> list[str]:
    """Gears are drawn without teeth, pulleys without grooves: that has to be said."""
    sketch, notes = subject.sketch, dict[str, None]()
    for mesh in sketch.meshes:
        radii = pitch_radii(subject, mesh)
        for ref, teeth, radius in zip((mesh.a, mesh.b), (mesh.teeth_a, mesh.teeth_b), radii,
                                      strict=True):
            if part_of(ref) == part:
                size = (f"module {2 * radius / teeth:.4g} mm" if sketch.units == "mm" else
                        f"diametral pitch {MM_PER_INCH * teeth / (2 * radius):.4g}")
                notes[f"Gear blank: teeth not drawn. {teeth} teeth, {size}"] = None
    for belt in sketch.belts:
        for ref, size_mm in ((belt.a, belt.diameter_a_mm), (belt.b, belt.diameter_b_mm)):
            if part_of(ref) == part:
                notes["Pulley: groove not drawn. The belt runs at "
                      f"Ø{show_length(size_mm, sketch.units)}"] = None
    return list(notes)


def caption_size(lines: Sequence[str]) -> tuple[float, float]:
    """Width and height a caption takes, mm."""
    widths = [text_width(text, _CAPTION, step == 0) for step, text in enumerate(lines)]
    return max(widths, default=0.0), len(lines) * _CAPTION_STEP + 1.5


def caption_items(lines: Sequence[str], x: float, top: float) -> list[Item]:
    """A caption with its upper left corner at (x, top)."""
    return [Text(x, top - 1.5 - _CAPTION - step * _CAPTION_STEP, text, _CAPTION, bold=step == 0)
            for step, text in enumerate(lines)]


def small_map(box: tuple[float, float, float, float], shape: Sequence[Item],
              size: tuple[float, float]) -> list[Item]:
    """A part's outline (drawn at full size in `shape`, `size` mm) shrunk into a box."""
    left, bottom, right, top = box
    scale = min((right - left) / size[0], (top - bottom) / size[1])
    items: list[Item] = []
    for item in shape:
        if isinstance(item, Path) and item.pen == CUT:
            items.append(Path(tuple(ring * scale + [left, bottom] for ring in item.rings),
                              Pen(0.18, colour=INK), None, item.closed))
    return items
