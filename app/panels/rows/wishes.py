"""Particulars of wanted motion: paths, angles, poses, swings, strokes, rests, time ratios."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from app.panels import quantities as q
from app.panels.rows.row import Row, Section, field_row, titled
from core.errors import EditError
from core.model import Sketch, edits, join_ref, split_ref
from core.model.wanted import (
    WantedAngle,
    WantedDwell,
    WantedPath,
    WantedPose,
    WantedRatio,
    WantedStroke,
    WantedSwing,
)

CURVES = (("smooth", "a smooth curve"), ("straight", "straight lines"),
          ("places", "only those places"))
NOTHING = "nothing yet"
WEIGHT_TIP = "How much it counts against the other wishes"
TOLERANCE_TIP = "It is met when it is nowhere further off than this"


def wish_sections(sketch: Sketch, ids: tuple[str, ...]) -> list[Section]:
    """A section for each kind of wish among those selected."""
    made = []
    for kind, word, rows in _KINDS:
        these = tuple(each for each in ids if isinstance(edits.get(sketch, each), kind))
        if these:
            made += titled(word, these, rows(sketch, these))
    return made


def _weight() -> Row:
    return field_row("wanted", "weight", "Weight", quantity=q.POSITIVE, tip=WEIGHT_TIP)


def _mm(label: str = "Tolerance") -> Row:
    return field_row("wanted", "tolerance_mm", label, quantity=q.SIZE, tip=TOLERANCE_TIP)


def _deg(label: str = "Tolerance") -> Row:
    return field_row("wanted", "tolerance_deg", label, quantity=q.SPREAD, tip=TOLERANCE_TIP)


def _crank(name: str, label: str) -> Row:
    return field_row("wanted", name, label, quantity=q.ANGLE, tip="Crank angle")


# -- what a wish is about ------------------------------------------------------------


def _moving_points(sketch: Sketch) -> tuple[tuple[Any, str], ...]:
    return tuple((ref, _spelled(ref)) for ref in (
        join_ref(part.id, point.id) for part in sketch.parts if not part.fixed
        for point in part.points))


def _moving_parts(sketch: Sketch) -> tuple[tuple[Any, str], ...]:
    return tuple((part.id, part.id) for part in sketch.parts if not part.fixed)


def _spelled(ref: str) -> str:
    part, point = split_ref(ref)
    return f"{point} of {part}"


def _of_point(sketch: Sketch) -> Row:
    return Row("of", "Of the point", _read("point"), _attach_point, kind="choice",
               choices=(("", NOTHING), *_moving_points(sketch)), verb="Attach wish",
               tip="What is to follow it; finding mechanisms chooses it when there is none")


def _of_part(sketch: Sketch, read: Callable[[Sketch, str], Any] | None = None) -> Row:
    return Row("of", "Of the part", read or _read("part"), _attach_part, kind="choice",
               choices=(("", NOTHING), *_moving_parts(sketch)), verb="Attach wish",
               tip="What is to move so; finding mechanisms chooses it when there is none")


def _of_either(sketch: Sketch) -> Row:
    return Row("of", "Of", _read_either, _attach_either, kind="choice", verb="Attach wish",
               choices=(("", NOTHING), *_moving_parts(sketch), *_moving_points(sketch)),
               tip="A part, whose angle counts, or a point, whose place counts")


def _read(name: str) -> Callable[[Sketch, str], Any]:
    def read(sketch: Sketch, wish_id: str) -> Any:
        return getattr(edits.get(sketch, wish_id), name)
    return read


def _read_either(sketch: Sketch, wish_id: str) -> str:
    wish = edits.get(sketch, wish_id)
    return str(wish.point or wish.part)


def _read_pose_part(sketch: Sketch, wish_id: str) -> str:
    at = edits.get(sketch, wish_id).at
    return split_ref(at)[0] if at else ""


def _attach_point(sketch: Sketch, wish_id: str, ref: str) -> Sketch:
    return edits.attach(sketch, wish_id, point=ref)


def _attach_part(sketch: Sketch, wish_id: str, part: str) -> Sketch:
    return edits.attach(sketch, wish_id, part=part)


def _attach_either(sketch: Sketch, wish_id: str, what: str) -> Sketch:
    if not what:
        return edits.change(sketch, "wanted", wish_id, part="", point="")
    if "." in what:
        return edits.attach(sketch, wish_id, point=what)
    return edits.attach(sketch, wish_id, part=what)


def _line(sketch: Sketch, ids: tuple[str, ...]) -> list[Row]:
    """Which direction counts; only while the wishes are all of one part."""
    parts = {edits.get(sketch, each).part for each in ids}
    if len(parts) != 1 or parts == {""}:
        return []
    part = sketch.part(parts.pop())
    points = [point.id for point in part.points][:MOST_ENDS]
    lines = [(join_ref(part.id, a), join_ref(part.id, b))
             for a in points for b in points if a != b]
    held = [line for each in ids if (line := edits.get(sketch, each).line)
            and line not in lines]
    choices = [((), "only changes"),
               *((line, f"{split_ref(line[0])[1]} → {split_ref(line[1])[1]}")
                 for line in dict.fromkeys([*lines, *held]))]
    return [field_row("wanted", "line", "Direction", kind="choice", choices=tuple(choices),
                      tip="Which line on the part has the angle; or only changes of its angle "
                          "count, wherever it begins")]


#: Lines between the first so many points of a part are offered.
MOST_ENDS = 6


# -- one kind each -------------------------------------------------------------------


def _path(sketch: Sketch, ids: tuple[str, ...]) -> list[Row]:
    return [
        _of_point(sketch),
        field_row("wanted", "curve", "Through", kind="choice", choices=CURVES),
        Row("closed", "Comes round again", _read("closed"), edits.close_path, kind="switch",
            verb="Change comes round again", tip="A loop, or a piece with two ends"),
        _mm(), _weight(),
        field_row("wanted", "either_way", "Either way round will do", kind="switch"),
        field_row("wanted", "any_order", "Any order of places will do", kind="switch"),
        Row("turned round", "Run it the other way", _nothing, _reverse, kind="button",
            verb="Run path the other way", tip="Turns the order of its places round"),
    ]


def _nothing(_: Sketch, __: str) -> None:
    return None


def _reverse(sketch: Sketch, wish_id: str, _: bool) -> Sketch:
    return edits.reverse_path(sketch, wish_id)


def _angle(sketch: Sketch, ids: tuple[str, ...]) -> list[Row]:
    return [
        _of_part(sketch), *_line(sketch, ids),
        field_row("wanted", "curve", "Through", kind="choice", choices=CURVES),
        field_row("wanted", "closed", "Every turn again", kind="switch",
                  tip="Otherwise only the range from the first to the last knot counts"),
        _deg(), _weight(),
    ]


def _pose(sketch: Sketch, _: tuple[str, ...]) -> list[Row]:
    return [
        _of_part(sketch, _read_pose_part),
        Row("points", "Told by", _pose_points, kind="fact"),
        _crank("crank_deg", "Crank at"),
        field_row("wanted", "x", "x", quantity=q.LENGTH),
        field_row("wanted", "y", "y", quantity=q.LENGTH),
        field_row("wanted", "angle_deg", "Direction", quantity=q.ANGLE,
                  tip="From the first to the second of the two points"),
        _mm("Tolerance of place"), _deg("Tolerance of direction"), _weight(),
    ]


def _pose_points(sketch: Sketch, wish_id: str) -> str:
    pose = edits.get(sketch, wish_id)
    if not pose.at:
        return "its place and direction"
    return f"{split_ref(pose.at)[1]} → {split_ref(pose.toward)[1]}"


def _swing(sketch: Sketch, ids: tuple[str, ...]) -> list[Row]:
    return [
        _of_part(sketch), *_line(sketch, ids),
        field_row("wanted", "from_deg", "From", quantity=q.ANGLE),
        field_row("wanted", "to_deg", "To", quantity=q.ANGLE),
        _deg(), _weight(),
    ]


def _stroke(sketch: Sketch, _: tuple[str, ...]) -> list[Row]:
    ends = [_corner("start", 0, "From x"), _corner("start", 1, "From y"),
            _corner("end", 0, "To x"), _corner("end", 1, "To y")]
    return [_of_point(sketch), *ends, _mm(), _weight()]


def _corner(name: str, axis: int, label: str) -> Row:
    def read(sketch: Sketch, wish_id: str) -> float:
        return float(getattr(edits.get(sketch, wish_id), name)[axis])

    def write(sketch: Sketch, wish_id: str, value: float) -> Sketch:
        pair = list(getattr(edits.get(sketch, wish_id), name))
        pair[axis] = value
        return edits.change(sketch, "wanted", wish_id, **{name: tuple(pair)})

    return Row(f"{name} {axis}", label, read, write, quantity=q.LENGTH, verb="Move stroke")


def _rest(sketch: Sketch, ids: tuple[str, ...]) -> list[Row]:
    wishes = [edits.get(sketch, each) for each in ids]
    tolerances = [] if any(wish.point for wish in wishes) else [_deg()]
    tolerances += [] if any(wish.part for wish in wishes) else [_mm()]
    return [_of_either(sketch), _crank("from_deg", "From crank at"),
            _crank("to_deg", "To crank at"), *tolerances, _weight()]


def _ratio(sketch: Sketch, _: tuple[str, ...]) -> list[Row]:
    return [
        _of_either(sketch),
        Row("ratio", "Slow way over quick", _read("ratio"), _write_ratio, quantity=q.POSITIVE,
            verb="Change time ratio", tip="2 takes twice as long one way as the other"),
        field_row("wanted", "tolerance", "Tolerance", quantity=q.POSITIVE, tip=TOLERANCE_TIP),
        _weight(),
    ]


def _write_ratio(sketch: Sketch, wish_id: str, ratio: float) -> Sketch:
    if ratio < 1.0:
        raise EditError("the slow way cannot be the quicker one",
                        mend="type 1 for even, or more")
    return edits.change(sketch, "wanted", wish_id, ratio=ratio)


_KINDS: tuple[tuple[type, str, Callable[[Sketch, tuple[str, ...]], list[Row]]], ...] = (
    (WantedPath, "wanted path", _path), (WantedAngle, "wanted angle", _angle),
    (WantedPose, "wanted pose", _pose), (WantedSwing, "wanted swing", _swing),
    (WantedStroke, "wanted stroke", _stroke), (WantedDwell, "wanted rest", _rest),
    (WantedRatio, "wanted time ratio", _ratio),
)
