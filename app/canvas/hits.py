"""What lies under the cursor, in the pose shown, nearest to the hand first."""

from __future__ import annotations

from collections.abc import Iterator

import shapely

from app.canvas.frame import Frame
from app.canvas.paint_drives import KNOB_PX, belt_tangents, knob_place
from app.canvas.paint_joints import lock_place
from app.canvas.paint_loads import force_tip
from app.canvas.wish_hits import LINE_PX, REACH_PX, wish_places, wishes_under
from core.model import Part, part_of

Item = tuple[str, str]


def hits(frame: Frame, place: complex, *, wishes: bool = False) -> list[Item]:
    """Everything under a place (mm): the crank's knob ("knob", ""), pins, points, if asked
    for what is wanted, small things, then parts from the top of the stack down. The
    frame's body is hit only at its edge."""
    return [*_knob(frame, place), *_pins(frame, place), *_points(frame, place),
            *(wishes_under(frame, place) if wishes else ()), *_small(frame, place),
            *parts_under(frame, place)]


def top_hit(frame: Frame, place: complex, *, wishes: bool = False) -> Item | None:
    """The first hit."""
    found = hits(frame, place, wishes=wishes)
    return found[0] if found else None


def _knob(frame: Frame, place: complex) -> list[Item]:
    knob = knob_place(frame)
    if knob is None or abs(knob - place) * frame.camera.scale > KNOB_PX + 3.0:
        return []
    return [("knob", "")]


def _pins(frame: Frame, place: complex) -> list[Item]:
    near = []
    for pin in frame.sketch.pins:
        if all(part_of(ref) in frame.look.hidden for ref in pin.at):
            continue
        away = abs(frame.pose.at(pin.at[0]) - place) * frame.camera.scale
        if away <= max(REACH_PX, frame.pin_radius(pin.diameter_mm)):
            near.append((away, ("pin", pin.id)))
    return [item for _, item in sorted(near)]


def _points(frame: Frame, place: complex) -> list[Item]:
    pinned = {ref for pin in frame.sketch.pins for ref in pin.at}
    near = []
    for part in frame.sketch.parts:
        if part.id in frame.look.hidden:
            continue
        for ref, at in frame.pose.points(part):
            away = abs(at - place) * frame.camera.scale
            if away <= REACH_PX and ref not in pinned:
                near.append((away, ("point", ref)))
    return [item for _, item in sorted(near)]


def parts_under(frame: Frame, place: complex) -> list[Item]:
    """The parts at a place, top of the stack first."""
    found: list[Item] = []
    ghosts: list[Item] = []
    for part in reversed(list(frame.stacked())):
        if part.fixed:
            if on_edge(frame, part, place):
                ghosts.append(("part", part.id))
        elif covers(frame, part, place):
            found.append(("part", part.id))
    return found + ghosts


def covers(frame: Frame, part: Part, place: complex, slack_px: float = 1.5) -> bool:
    """True when a place (mm, now) lies on a part, or within so many pixels of it."""
    drawn = frame.pose.drawn(part.id, place)
    slack = slack_px / frame.camera.scale
    return bool(shapely.dwithin(frame.shapes.of(part).polygon,
                                shapely.Point(drawn.real, drawn.imag), slack))


def on_edge(frame: Frame, part: Part, place: complex) -> bool:
    """True when a place is near the outline of a part."""
    drawn = frame.pose.drawn(part.id, place)
    edge = frame.shapes.of(part).polygon.boundary
    return bool(shapely.dwithin(edge, shapely.Point(drawn.real, drawn.imag),
                                LINE_PX / frame.camera.scale))


def off_segment(place: complex, start: complex, end: complex) -> float:
    """Distance of a place from a straight piece, mm."""
    span = end - start
    if span == 0:
        return abs(place - start)
    share = ((place - start) * span.conjugate()).real / abs(span) ** 2
    return abs(place - start - min(max(share, 0.0), 1.0) * span)


def _small(frame: Frame, place: complex) -> Iterator[Item]:
    sketch, pose, reach = frame.sketch, frame.pose, LINE_PX / frame.camera.scale
    for force in sketch.forces:
        if off_segment(place, *force_tip(frame, force)) <= reach:
            yield "force", force.id
    for spring in sketch.springs:
        if off_segment(place, pose.at(spring.a), pose.at(spring.b)) <= 1.4 * reach:
            yield "spring", spring.id
    for lock in sketch.locks:
        mark = frame.camera.to_plane(lock_place(frame, lock))
        if abs(mark - place) * frame.camera.scale <= 12.0:
            yield "lock", lock.id
    for torque in sketch.torques:
        part = sketch.part(torque.part)
        middle = pose.place(part.id, frame.shapes.of(part).middle)
        if abs(abs(middle - place) * frame.camera.scale - 18.0) <= LINE_PX:
            yield "torque", torque.id
    for torsion in sketch.torsion_springs:
        pin = next((pin for pin in sketch.pins if pin.id == torsion.pin), None)
        if pin and abs(pose.at(pin.at[0]) - place) * frame.camera.scale <= 22.0:
            yield "torsion_spring", torsion.id
    yield from _guides(frame, place)
    yield from _wheels(frame, place)


def _guides(frame: Frame, place: complex) -> Iterator[Item]:
    band = frame.symbol() / frame.camera.scale
    for slide in frame.sketch.slides:
        if off_segment(place, *(frame.pose.at(ref) for ref in slide.along)) <= band:
            yield "slide", slide.id
    for slot in frame.sketch.slots:
        radius = frame.pin_radius(slot.diameter_mm) / frame.camera.scale
        if off_segment(place, *(frame.pose.at(ref) for ref in slot.slot)) <= radius:
            yield "slot", slot.id


def _wheels(frame: Frame, place: complex) -> Iterator[Item]:
    """Belts along their runs; meshes near the contact of the pitch circles."""
    reach = LINE_PX / frame.camera.scale
    for belt in frame.sketch.belts:
        runs = belt_tangents(frame.pose.at(belt.a), frame.pose.at(belt.b),
                             belt.diameter_a_mm / 2, belt.diameter_b_mm / 2, belt.crossed)
        if any(off_segment(place, p, q) <= reach for p, q in runs):
            yield "belt", belt.id
    for mesh in frame.sketch.meshes:
        a, b = frame.pose.at(mesh.a), frame.pose.at(mesh.b)
        if a == b:
            continue
        radius, _ = mesh.pitch_radii(abs(b - a))
        toward = (b - a) / abs(b - a)
        if mesh.internal and mesh.teeth_a < mesh.teeth_b:
            toward = -toward
        if abs(a + toward * radius - place) * frame.camera.scale <= 12.0:
            yield "mesh", mesh.id


def inside_box(frame: Frame, one: complex, other: complex) -> list[Item]:
    """What lies wholly in the box between two corners (mm): parts, pins, points, wishes."""
    low = complex(min(one.real, other.real), min(one.imag, other.imag))
    high = complex(max(one.real, other.real), max(one.imag, other.imag))

    def within(place: complex) -> bool:
        return (low.real <= place.real <= high.real
                and low.imag <= place.imag <= high.imag)

    found: list[Item] = []
    pinned = {ref for pin in frame.sketch.pins for ref in pin.at}
    for part in frame.stacked():
        places = dict(frame.pose.points(part))
        if places and all(within(place) for place in places.values()) and not part.fixed:
            found.append(("part", part.id))
        else:
            found += [("point", ref) for ref, place in places.items()
                      if within(place) and ref not in pinned]
    found += [("pin", pin.id) for pin in frame.sketch.pins if within(frame.pose.at(pin.at[0]))]
    return found + [item for item, places in wish_places(frame)
                    if all(within(place) for place in places)]
