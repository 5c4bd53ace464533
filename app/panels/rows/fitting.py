"""Particulars of what a fit may change: regions, lengths, and the rules of the sketch."""

from __future__ import annotations

import math
from typing import Any

import msgspec

from app.panels import quantities as q
from app.panels.rows.row import Row, Section, field_row, titled
from core import units
from core.model import Sketch, edits, join_ref, split_ref
from core.model.edits import fitting

replace = msgspec.structs.replace
PIVOTS = "the fixed pivots"


def asks(sketch: Sketch) -> bool:
    """Whether anything is wanted of the motion or ruled for a fit."""
    return bool(sketch.wanted or sketch.zones or sketch.length_rules)


def zone_sections(sketch: Sketch, ids: tuple[str, ...]) -> list[Section]:
    """Regions, straight lines and places points are kept to."""
    zones = [edits.get(sketch, each) for each in ids]
    sides = [field_row("zones", "keep", "Keeps them", kind="choice",
                       choices=(("in", "inside"), ("out", "outside")))] \
        if all(len(zone.corners) > 2 for zone in zones) else [
            Row("shape", "Keeps them", _kept_to, kind="fact")]
    held = dict.fromkeys(zone.points for zone in zones if len(zone.points) > 1)
    refs = [(join_ref(part.id, point.id),) for part in sketch.parts for point in part.points]
    choices = (((), PIVOTS), *((points, ", ".join(map(_spelled, points)))
                               for points in (*held, *refs)))
    return titled("region", ids, [
        field_row("zones", "points", "Of points", kind="choice", choices=choices,
                  tip="Which points it is about, over the whole turn"), *sides])


def _kept_to(sketch: Sketch, zone_id: str) -> str:
    return "at that place" if len(edits.get(sketch, zone_id).corners) < 2 else \
        "on that straight line"


def _spelled(ref: str) -> str:
    part, point = split_ref(ref)
    return f"{point} of {part}"


def rule_sections(_: Sketch, ids: tuple[str, ...]) -> list[Section]:
    """Rules for lengths."""
    return titled("rule for lengths", ids, [
        Row("lengths", "Lengths", _lengths, kind="fact"),
        field_row("length_rules", "equal", "Kept equal", kind="switch"),
        field_row("length_rules", "shortest_mm", "Shortest", quantity=q.MAYBE_SIZE,
                  empty="any"),
        field_row("length_rules", "longest_mm", "Longest", quantity=q.MAYBE_SIZE,
                  empty="any")])


def _lengths(sketch: Sketch, rule_id: str) -> str:
    ends = edits.get(sketch, rule_id).ends
    told = []
    for one, other in zip(ends[::2], ends[1::2], strict=False):
        (part, a), (_, b) = split_ref(one), split_ref(other)
        p, r = sketch.point(one), sketch.point(other)
        now = units.show_length(math.dist((p.x, p.y), (r.x, r.y)), sketch.units)
        told.append(f"{a} – {b} of {part}, now {now}")
    return "\n".join(told)


def fit_section(_: Sketch) -> Section:
    """What a fit may change; rows act on the sketch's rules whatever id they get."""
    return Section("What a fit may change", ("",), (
        Row("fit free", "May move", _read_free, _write_free, kind="choice",
            verb="Change what may move",
            choices=((True, "all not locked"), (False, "points chosen")),
            tip="Points are chosen by “A fit may move it” in their particulars"),
        _fit_row("start_free", "The crank’s zero may move", kind="switch",
                 tip="Of timing, only differences of crank angles count then"),
        _fit_row("shortest_mm", "Shortest link", quantity=q.MAYBE_SIZE, empty="any"),
        _fit_row("longest_mm", "Longest link", quantity=q.MAYBE_SIZE, empty="any"),
        _fit_row("transmission_deg", "Transmission angle", quantity=q.SHARP,
                 tip="The least that is wanted over the turn. 40° is the usual textbook "
                     "figure; below it forces grow and pins bind"),
        Row("fit rocking", "The crank may rock", lambda sketch, _: sketch.fit.rocking,
            lambda sketch, _, on: fitting.let_rock(sketch, on), kind="switch",
            verb="Change how the crank may go",
            tip="It need not go all the way round, only to and fro through all wished places"),
        _fit_row("mind_gaps", "Mind the gaps between parts", kind="switch"),
        _fit_row("mind_torque", "Mind the peak torque", kind="switch")))


def _fit_row(name: str, label: str, **more: Any) -> Row:
    def read(sketch: Sketch, _: str) -> Any:
        return getattr(sketch.fit, name)

    def write(sketch: Sketch, _: str, value: Any) -> Sketch:
        return replace(sketch, fit=replace(sketch.fit, **{name: value}))

    return Row(f"fit {name}", label, read, write, verb=f"Change {label[0].lower()}{label[1:]}",
               **more)


def _read_free(sketch: Sketch, _: str) -> bool:
    return not sketch.fit.free


def _write_free(sketch: Sketch, _: str, everything: bool) -> Sketch:
    free = () if everything else fitting.movable(sketch)
    return replace(sketch, fit=replace(sketch.fit, free=free))


def may_move_row() -> Row:
    """Of a point: whether a fit may move it."""
    return Row("may move", "A fit may move it", fitting.may_move, fitting.let_move,
               kind="switch", verb="Change what a fit may move",
               tip="With everything pinned to it")
