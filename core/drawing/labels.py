"""Letters at rods, item numbers at parts, notes at gears: each put where it hides least."""

from __future__ import annotations

import cmath
import math
from collections.abc import Iterator, Sequence
from typing import Literal

import numpy as np
import shapely

from core.drawing.dimensions import aligned
from core.drawing.items import DIMENSION, FINE, PAPER, Circle, Item, Pen
from core.drawing.kinds import SAME_MM, Kind, centres
from core.drawing.lettering import centred, text_width
from core.drawing.mechanism import View, pitch_radii
from core.drawing.placing import Placer, half_box
from core.drawing.subject import Pivot, Subject
from core.drawing.symbols import dotted, line
from core.units import show_force, show_length

Labels = Literal["all", "names", "distances"]

LETTER = 3.5
NOTE = 2.5
#: Up to so many rods have large letters.
_FEW = 6
#: Above so many rods a view is crowded: bores are left to the table.
CROWDED = 18
BALLOON = 3.4
#: The dot of a leader stays this far, mm, from the edge of its part; places tried for it.
_DOT_CLEAR = 0.9
_SPOTS = 6
_DIRECTIONS = np.exp(1j * np.radians(np.arange(0, 360, 15)))
#: A part with more centre distances than this has its centres in the hole table alone.
MOST_PAIRS = 5
_REACH = (1.0, 2.5, 5.0, 8.0, 12.0, 17.0, 24.0, 32.0, 42.0, 54.0)
#: White, mm, at either end of a label besides that around every text.
_APART = 0.9
_ROOT2 = math.sqrt(2.0)


def distances(subject: Subject, alike: Sequence[Kind]) -> list[float]:
    """The centre distances, mm, that the moving parts have to be dimensioned with."""
    parts = [kind.parts[0] for kind in alike if not subject.sketch.part(kind.parts[0]).fixed]
    rows = [measured_pairs(subject, part) for part in parts]
    return [abs(b - a) for pairs in rows if len(pairs) <= MOST_PAIRS
            for (_, a), (_, b) in pairs]


def label_all(subject: Subject, view: View, placer: Placer, alike: Sequence[Kind],
              what: Labels = "all") -> tuple[list[Item], list[str]]:
    """Letters, item numbers, centre distances and notes of a view.

    `what` leaves out the centre distances ("names"), or all but letters and centre
    distances ("distances"): a crowded view is drawn twice.

    Returns what was drawn and, in words, what found no room.
    """
    items: list[Item] = []
    left_out: list[str] = []
    steps = {"all": (_link_dimensions, _letters, _gear_notes, _balloons, _force_notes),
             "names": (_letters, _gear_notes, _balloons, _force_notes),
             "distances": (_link_dimensions, _bare_letters)}[what]
    for step in steps:
        drawn, missing = step(subject, view, placer, alike)
        items += drawn
        left_out += [missing] if missing else []
    return items, left_out


def beside(at: complex, radius: float, text: str, size: float, placer: Placer,
           bold: bool = False, reach: Sequence[float] = _REACH) -> list[Item] | None:
    """Text near a place, a leader line drawn when it stands off. None without room.

    `radius` is what is drawn about the place, mm; `reach` the distances tried beyond it.
    """
    fars, ways = (grid.ravel() for grid in np.meshgrid(np.array(reach), _DIRECTIONS))
    edges = at + ways * (radius + fars)
    half = text_width(text, size, bold) / 2
    # The near side of the text's box stands at the edge.
    middles = (edges + half * np.clip(ways.real * _ROOT2, -1, 1)
               + 0.5j * size * np.clip(ways.imag * _ROOT2, -1, 1))
    starts = at + ways * radius
    led = fars > 3.0
    ink = placer.ink_along(starts + ways * 0.5, edges)
    costs = 0.3 * fars + 0.3 * np.where(led, ink, 0.0)
    costs += 0.3 * np.abs(np.angle(ways / cmath.rect(1, math.pi / 4)))
    costs[led & placer.text_along(starts, edges)] = np.inf
    middle, across, up = half_box(centred(0.0, 0.0, text, size, bold=bold))
    across += _APART  # "J" next to "F Ø6" would read as one label
    chosen = placer.best(middles + middle, across, up, costs)
    if chosen is None:
        return None
    place = complex(middles[chosen])
    items: list[Item] = [centred(place.real, place.imag, text, size, bold=bold)]
    if led[chosen]:
        leader = line(complex(starts[chosen]), complex(edges[chosen] - ways[chosen] * 0.6),
                      DIMENSION)
        placer.draw([leader], 0.7)
        items.append(leader)
    return items


def _letters(subject: Subject, view: View, placer: Placer, alike: Sequence[Kind]
             ) -> tuple[list[Item], str]:
    """The letter of every rod, with its bore where that is not the usual one."""
    items: list[Item] = []
    missing = 0
    size = NOTE if len(subject.pivots) > _FEW else LETTER
    for group in _coaxial(subject, view):
        at = view.at(group[0].at)
        radius = max(max(p.diameter_mm for p in group) / 2 * view.scale, 0.5) + 0.8
        drawn = beside(at, radius, _letter_text(subject, group), size, placer, bold=True)
        items += drawn or []
        missing += 0 if drawn else len(group)
    for track in subject.tracks:
        middle = view.at((track.at[0] + track.at[1]) / 2)
        drawn = beside(middle, track.width_mm / 2 * view.scale + 2.5, track.label, NOTE, placer)
        items += drawn or []
        missing += not drawn
    return items, _counted(missing, "letter")


def _counted(number: int, what: str) -> str:
    """"3 letters", "1 letter", or nothing for none."""
    return f"{number} {what}{'s' if number > 1 else ''}" if number else ""


def _coaxial(subject: Subject, view: View) -> list[list[Pivot]]:
    """Rods by place: those that share one on paper share a label."""
    groups: list[list[Pivot]] = []
    for pivot in subject.pivots:
        near = next((g for g in groups if abs(g[0].at - pivot.at) * view.scale < 0.3), None)
        if near is None:
            groups.append([pivot])
        else:
            near.append(pivot)
    return groups


def _bare_letters(subject: Subject, view: View, placer: Placer, alike: Sequence[Kind]
                  ) -> tuple[list[Item], str]:
    """The letter of every rod, as a reminder on a second view."""
    items: list[Item] = []
    for group in _coaxial(subject, view):
        at = view.at(group[0].at)
        radius = max(max(p.diameter_mm for p in group) / 2 * view.scale, 0.5) + 0.8
        text = ", ".join(pivot.letter for pivot in group)
        items += beside(at, radius, text, NOTE, placer, bold=True) or []
    return items, ""


def _letter_text(subject: Subject, group: list[Pivot]) -> str:
    units = subject.sketch.units
    words = []
    for pivot in group:
        usual = (abs(pivot.diameter_mm - subject.usual_bore_mm) < 1e-6
                 or len(subject.pivots) > CROWDED)
        bore = "" if usual else f" Ø{show_length(pivot.diameter_mm, units, False)}"
        words.append(pivot.letter + bore)
    return ", ".join(words)


def _balloons(subject: Subject, view: View, placer: Placer, alike: Sequence[Kind]
              ) -> tuple[list[Item], str]:
    """Item numbers in circles (ISO 6433), with a leader from a dot inside the part."""
    items: list[Item] = []
    missing = 0
    for kind in alike:
        # Of many parts alike one is enough.
        for part in kind.parts[:1] if kind.quantity > 2 else kind.parts:
            drawn = _balloon(view.shape(_visible(subject, part)), str(kind.item), placer)
            items += drawn or []
            missing += not drawn
    return items, _counted(missing, "item number")


def _balloon(shape: shapely.Geometry, number: str, placer: Placer) -> list[Item] | None:
    spots, fars, ways = (grid.ravel() for grid in np.meshgrid(
        _spots_inside(shape), [7.0, 10.0, 14.0, 19.0, 26.0, 36.0], _DIRECTIONS))
    middles = spots + ways * fars
    near = middles - ways * BALLOON
    costs = 0.35 * fars + 0.4 * placer.ink_along(spots + ways, near)
    costs[placer.text_along(spots, near)] = np.inf
    chosen = placer.best(middles, BALLOON + 0j, BALLOON * 1j, costs)
    if chosen is None:
        return None
    at, way = complex(middles[chosen]), complex(ways[chosen])
    items = [*dotted(complex(spots[chosen]), at - way * BALLOON),
             Circle(at.real, at.imag, BALLOON, Pen(FINE), PAPER)]
    placer.draw(items)
    return [*items, centred(at.real, at.imag, number, NOTE, bold=True)]


def _visible(subject: Subject, part: str) -> shapely.Geometry:
    """What can be seen of a part past those in front; all of it when nothing can."""
    before = [shape for other, shape in subject.shapes.items()
              if subject.layers[other] > subject.layers[part]]
    seen = shapely.difference(subject.shapes[part], shapely.union_all(before))
    return seen if seen.area > 0 else subject.shapes[part]


def _spots_inside(shape: shapely.Geometry) -> list[complex]:
    """A few places well inside a shape on the page for the dot of a leader."""
    inner = shape.buffer(-_DOT_CLEAR)
    inner = shape if inner.is_empty else inner
    left, bottom, right, top = inner.bounds
    x, y = (grid.ravel() for grid in np.meshgrid(np.linspace(left, right, 11)[1:-1],
                                                 np.linspace(bottom, top, 11)[1:-1]))
    inside = (x + 1j * y)[shapely.contains_xy(inner, x, y)]
    middle = inner.representative_point()
    spots = [complex(middle.x, middle.y)]
    while inside.size and len(spots) < _SPOTS:
        # The next one is the farthest from those there are.
        apart = np.abs(inside[:, None] - np.array(spots)).min(axis=1)
        spots.append(complex(inside[np.argmax(apart)]))
    return spots


def _link_dimensions(subject: Subject, view: View, placer: Placer, alike: Sequence[Kind]
                     ) -> tuple[list[Item], str]:
    """Centre distances of the moving parts, once for parts that are alike."""
    units = subject.sketch.units
    items: list[Item] = []
    missing = 0
    rods = [view.at(pivot.at) for pivot in subject.pivots]
    wanted: list[tuple[float, Kind, complex, complex]] = []
    for kind in alike:
        if subject.sketch.part(kind.parts[0]).fixed:
            continue
        pairs = measured_pairs(subject, kind.parts[0])
        if len(pairs) > MOST_PAIRS:
            missing += len(pairs)
        else:
            wanted += [(abs(b - a), kind, a, b) for (_, a), (_, b) in pairs]
    # Short ones first, so that they stand nearest to what they measure.
    for length, kind, a, b in sorted(wanted, key=lambda row: row[0]):
        value = show_length(length, units, unit=False)
        many = f"{kind.quantity}× " if kind.quantity > 1 else ""
        drawn = None
        for part, p, q in _same_elsewhere(subject, kind, a, b):
            clear = _clearances(subject, view, part, p, q)
            drawn = aligned(view.at(p), view.at(q), many + value, placer, clear, rods)
            if drawn:
                break
        items += drawn or []
        missing += not drawn
    return items, _counted(missing, "centre distance")


def _same_elsewhere(subject: Subject, kind: Kind, a: complex, b: complex
                    ) -> Iterator[tuple[str, complex, complex]]:
    """A centre distance on the first part of a kind, then on those alike: where there is
    no room at one of a pair of wings there may be at the other."""
    first, *others = kind.parts
    yield first, a, b
    for part in others:
        for (_, p), (_, q) in measured_pairs(subject, part):
            if abs(abs(q - p) - abs(b - a)) < SAME_MM:
                yield part, p, q


def measured_pairs(subject: Subject, part: str
                   ) -> list[tuple[tuple[str, complex], tuple[str, complex]]]:
    """The distances that fix the centres of a part: the first to the second, then each
    further one to both."""
    marks = centres(subject, part)
    if len(marks) < 2:
        return []
    pairs = [(marks[0], marks[1])]
    for mark in marks[2:]:
        pairs += [(marks[0], mark), (marks[1], mark)]
    return pairs


def _clearances(subject: Subject, view: View, part: str, a: complex, b: complex
                ) -> tuple[float, float]:
    """How far, mm on the page, dimension lines stay off the line a–b on its left and right:
    past the outline of the part between the two places."""
    rim = shapely.get_coordinates(shapely.segmentize(subject.shapes[part], abs(b - a) / 8))
    local = (rim @ np.array([1, 1j]) - a) / (b - a) * abs(b - a)
    beside_it = local[(local.real > 0) & (local.real < abs(b - a))]
    reach = [float(max(0.0, *side)) if side.size else 0.0
             for side in (beside_it.imag, -beside_it.imag)]
    return reach[0] * view.scale + 5.0, reach[1] * view.scale + 5.0


def _gear_notes(subject: Subject, view: View, placer: Placer, alike: Sequence[Kind]
                ) -> tuple[list[Item], str]:
    """Teeth at the pitch circles."""
    items: list[Item] = []
    missing = 0
    seen: list[tuple[complex, int]] = []
    for mesh in subject.sketch.meshes:
        radii = pitch_radii(subject, mesh)
        for ref, teeth, radius in zip((mesh.a, mesh.b), (mesh.teeth_a, mesh.teeth_b), radii,
                                      strict=True):
            at = subject.place(ref)
            if any(abs(at - other) < 1e-6 and teeth == same for other, same in seen):
                continue
            seen.append((at, teeth))
            drawn = beside(view.at(at), radius * view.scale + 0.5, f"{teeth} teeth", NOTE,
                           placer)
            items += drawn or []
            missing += not drawn
    return items, _counted(missing, "tooth count")


def _force_notes(subject: Subject, view: View, placer: Placer, alike: Sequence[Kind]
                 ) -> tuple[list[Item], str]:
    """Sizes of forces at the tips of their arrows."""
    items: list[Item] = []
    for force in subject.sketch.forces:
        pull = complex(force.fx_n, force.fy_n)
        if pull:
            spin = subject.rotation[force.at.partition(".")[0]] if force.turns_with_part else 1
            tip = view.at(subject.place(force.at)) + 14 * pull * spin / abs(pull)
            text = show_force(abs(pull), subject.sketch.units)
            items += beside(tip, 0.5, text, NOTE, placer) or []
    return items, ""
