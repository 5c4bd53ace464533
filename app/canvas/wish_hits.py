"""Which wish, region or handle of one lies under the cursor; the knob of a part's grain, and
its weights."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import shapely

from app.canvas.frame import Frame
from app.canvas.paint_grain import dialled, grain_dial
from app.canvas.paint_poses import FLAG_PX, pose_grips
from app.canvas.paint_swings import swing_arc
from app.canvas.paint_weights import weight_at, weight_places
from app.canvas.wish_lines import at_place
from core.model import Part, WantedPath, WantedPose, WantedStroke, WantedSwing, Zone, part_of
from core.model.edits import get, pose_map

Item = tuple[str, str]
REACH_PX = 8.0
LINE_PX = 5.0


@dataclass(frozen=True)
class Grip:
    """A place by which a selected wish or region is changed: one of its handles ("handle":
    of a path, end of a stroke, corner of a region), a "tick", or what turns a pose
    ("turn"); or of the selected part the knob that turns its grain ("grain"), or one of its
    weights ("weight")."""

    what: str
    item: Item
    index: int = 0

    def place(self, frame: Frame) -> complex:
        """Where it is, mm."""
        return self._all(frame)[self.index]

    def is_there(self, frame: Frame) -> bool:
        """Whether its wish has (still) so many."""
        return self.index < len(self._all(frame))

    def _all(self, frame: Frame) -> list[complex]:
        return list(_places(frame, get(frame.sketch, self.item[1]), self.what))


def _places(frame: Frame, thing: object, what: str) -> Iterator[complex]:
    match thing, what:
        case WantedPath(), "handle":
            yield from (complex(x, y) for x, y in thing.through)
        case WantedPath(), "tick":
            yield from (at_place(thing, tick.at) for tick in thing.ticks)
        case WantedStroke(), "handle":
            yield from (complex(*thing.start), complex(*thing.end))
        case Zone(), "handle":
            yield from (complex(x, y) for x, y in thing.corners)
        case WantedPose(), "turn":
            yield pose_grips(frame, thing)[1]
        case Part(), "grain":
            dial = grain_dial(frame, thing) if dialled(frame) is thing else None
            if dial is not None:
                yield dial[1]
        case Part(), "weight":
            yield from weight_places(frame, thing)
        case _:
            return


def wish_places(frame: Frame) -> Iterator[tuple[Item, list[complex]]]:
    """Every wish and region that is seen in a place, with the places it is drawn through,
    mm."""
    if not frame.look.shows("wishes"):
        return
    for wish in frame.sketch.wanted:
        places = list(_places(frame, wish, "handle"))
        if isinstance(wish, WantedPose):
            places = list(pose_grips(frame, wish))
        if places:
            yield ("wish", wish.id), places
    for zone in frame.sketch.zones:
        yield ("zone", zone.id), list(_places(frame, zone, "handle"))


def grip_at(frame: Frame, place: complex) -> Grip | None:
    """The nearest grip of what is selected, when one is near enough; handles come before
    ticks."""
    best: tuple[float, Grip] | None = None
    reach = REACH_PX / frame.camera.scale
    part = dialled(frame)
    if part is not None and any(abs(at - place) <= reach
                                for at in _places(frame, part, "grain")):
        return Grip("grain", ("part", part.id))
    weighted = _weight_grip(frame, place)
    if weighted is not None:
        return weighted
    if not frame.look.shows("wishes"):
        return None
    for item in sorted(frame.selection):
        if item[0] not in ("wish", "zone"):
            continue
        thing = get(frame.sketch, item[1])
        for what in ("handle", "turn", "tick"):
            for index, at in enumerate(_places(frame, thing, what)):
                away = abs(at - place) * (1.3 if what == "tick" else 1.0)
                if away <= reach and (best is None or away < best[0]):
                    best = (away, Grip(what, item, index))
    return best[1] if best is not None else None


def _weight_grip(frame: Frame, place: complex) -> Grip | None:
    """The weight at a place, of the part that alone is selected. What is small and lies on it,
    such as a pin, comes first."""
    if len(frame.selection) != 1:
        return None
    (kind, name), = frame.selection
    part = next((part for part in frame.sketch.parts if part.id == name), None)
    if kind != "part" or part is None or not part.weights or name in frame.look.hidden:
        return None
    index = weight_at(frame, part, place)
    if index is None or any(abs(frame.pose.at(pin.at[0]) - place) * frame.camera.scale
                            <= frame.pin_radius(pin.diameter_mm) for pin in frame.sketch.pins):
        return None
    return Grip("weight", ("part", name), index)


def wishes_under(frame: Frame, place: complex) -> list[Item]:
    """Paths, poses, strokes, swings and edges of regions at a place, the last drawn first."""
    found: list[Item] = []
    if not frame.look.shows("wishes"):
        return found
    for wish in reversed(frame.sketch.wanted):
        if isinstance(wish, WantedPath):
            hit = _on_path(frame, wish, place)
        elif isinstance(wish, WantedPose):
            hit = _on_pose(frame, wish, place)
        elif isinstance(wish, WantedStroke):
            hit = _near_run(frame, place, [complex(*wish.start), complex(*wish.end)])
        elif isinstance(wish, WantedSwing):
            arc = swing_arc(frame, wish)
            hit = arc is not None and _near_run(frame, place, arc[1].tolist())
        else:
            hit = False
        if hit:
            found.append(("wish", wish.id))
    for zone in reversed(frame.sketch.zones):
        corners = [complex(x, y) for x, y in zone.corners]
        if len(corners) > 2:
            corners.append(corners[0])
        if _near_run(frame, place, corners):
            found.append(("zone", zone.id))
    return found


def _on_path(frame: Frame, wish: WantedPath, place: complex) -> bool:
    if wish.curve == "places":
        near = min(abs(complex(x, y) - place) for x, y in wish.through)
        return near * frame.camera.scale <= REACH_PX
    _, off = frame.shapes.lines.of(wish).nearest(place)
    return off * frame.camera.scale <= LINE_PX


def _on_pose(frame: Frame, wish: WantedPose, place: complex) -> bool:
    """On the middle or the edge of a ghost; on the stick of a flag."""
    at, toward = pose_grips(frame, wish)
    if abs(at - place) * frame.camera.scale <= REACH_PX:
        return True
    placed = pose_map(frame.sketch, wish)
    if placed is None:
        return (abs(at - place) * frame.camera.scale <= FLAG_PX + LINE_PX
                and _near_run(frame, place, [at, toward]))
    turn, shift = placed
    drawn = (place - shift) / turn
    edge = frame.shapes.of(frame.sketch.part(part_of(wish.at))).polygon.boundary
    return bool(shapely.dwithin(edge, shapely.Point(drawn.real, drawn.imag),
                                LINE_PX / frame.camera.scale))


def _near_run(frame: Frame, place: complex, run: list[complex]) -> bool:
    if len(run) == 1:
        return abs(run[0] - place) * frame.camera.scale <= REACH_PX + 2
    line = shapely.LineString([(z.real, z.imag) for z in run])
    return bool(shapely.dwithin(line, shapely.Point(place.real, place.imag),
                                LINE_PX / frame.camera.scale))
