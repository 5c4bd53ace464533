"""Particulars of what was decided about fingers: all of it, or about what is selected."""

from __future__ import annotations

from functools import partial
from typing import Any

import msgspec

from app.panels import quantities as q
from app.panels.rows.row import Row, Section
from core.model import Guard, Sketch, edits, split_ref
from core.model.edits.guarding import undecide

#: Of more decisions only the count is told, and of a selected part no more are listed.
MOST_TOLD, MOST_LISTED = 6, 12
CHOICES = (("guarded", "guarded"), ("accepted", "let be"), ("", "decide again"))


def finger_section(sketch: Sketch) -> Section:
    """Whether it is for children, and every decision, as far as there is room."""
    rows = [Row("sketch for_children", "For children", _read_children, _write_children,
                kind="switch", verb="Change who it is for",
                tip="Moving gaps are held against 5 and 12 mm, and small parts are told of")]
    if len(sketch.guards) <= MOST_TOLD:
        rows += [_decision(guard) for guard in sketch.guards]
    else:
        tip = "Select a part, a mesh or a belt to see what was decided about it"
        rows += [
            Row("guards told", "Decided", _told, kind="fact", tip=tip),
            Row("guards dropped", "Decide all again", _nothing, _drop_all, kind="button",
                verb="Forget decisions", tip="Forget every decision about fingers"),
        ]
    return Section("Fingers", ("",), tuple(rows))


def guard_sections(sketch: Sketch, selection: frozenset[tuple[str, str]]) -> list[Section]:
    """The decisions about the parts, meshes and belts selected, each with its note."""
    parts = {item for kind, item in selection if kind == "part"}
    pairs = [{split_ref(joint.a)[0], split_ref(joint.b)[0]}
             for kind, group in (("mesh", sketch.meshes), ("belt", sketch.belts))
             for joint in group if (kind, joint.id) in selection]
    about = [guard for guard in sketch.guards
             if guard.a in parts or guard.b in parts or {guard.a, guard.b} in pairs]
    rows = [row for guard in about[:MOST_LISTED] for row in (_decision(guard), _note(guard))]
    return [Section("Fingers", ("",), tuple(rows))] if rows else []


def _read_children(sketch: Sketch, _: str) -> bool:
    return sketch.for_children


def _write_children(sketch: Sketch, _: str, on: bool) -> Sketch:
    return msgspec.structs.replace(sketch, for_children=on)


def _told(sketch: Sketch, _: str) -> str:
    guarded = sum(guard.why == "guarded" for guard in sketch.guards)
    return f"{guarded} guarded, {len(sketch.guards) - guarded} let be"


def _nothing(_: Sketch, __: str) -> bool:
    return False


def _drop_all(sketch: Sketch, _: str, __: bool) -> Sketch:
    return msgspec.structs.replace(sketch, guards=())


def _decision(guard: Guard) -> Row:
    one, two = ("The handle's", "wheels") if guard.a == guard.b else (guard.a, f"– {guard.b}")
    tip = f"Between {guard.a} and {guard.b}" if guard.a != guard.b else f"{one} {two}"
    return Row(f"guard {guard.id}", f"{one}\n{two}", partial(_read, guard.id, "why"),
               partial(_decide, guard.id), kind="choice", choices=CHOICES,
               verb="Decide about fingers", tip=": ".join(filter(None, (tip, guard.note))))


def _note(guard: Guard) -> Row:
    return Row(f"guard note {guard.id}", "Note", partial(_read, guard.id, "note"),
               partial(_write_note, guard.id), quantity=q.WORDS, verb="Change note",
               tip="Printed with the cautions of the sheets")


def _read(guard_id: str, field: str, sketch: Sketch, _: str) -> Any:
    return getattr(edits.get(sketch, guard_id), field)


def _decide(guard_id: str, sketch: Sketch, _: str, why: str) -> Sketch:
    guard = edits.get(sketch, guard_id)
    if not why:
        return undecide(sketch, guard.a, guard.b)
    return edits.change(sketch, "guards", guard_id, why=why)


def _write_note(guard_id: str, sketch: Sketch, _: str, note: str) -> Sketch:
    return edits.change(sketch, "guards", guard_id, note=note)
