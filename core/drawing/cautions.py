"""Cautions: the usual ones of the shop, and where a finger could be caught in this thing."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from core.drawing.flow import Table
from core.model import Belt, Guard, Mesh, Sketch, split_ref
from core.model.edits.guarding import guard_of
from core.space.pinch import Pinch
from core.units import show_length

if TYPE_CHECKING:
    from core.study import Study

#: Common practice unless a source is named. Shown on every layout and in the window.
CAUTIONS = (
    "Router and saw: wear eye and ear protection, no loose sleeves or gloves near the cutter; "
    "hold the work down with clamps or screws well clear of it, small parts in a jig or by "
    "tabs and never by hand, and unplug before changing bits. Drill the bores first and cut "
    "the outline last.",
    "Wood dust harms the lungs, can burn, and some woods sensitise: use extraction and a mask. "
    "Never put PVC in a laser cutter.",
    "Oily rags (linseed, tung and other drying oils) heat as they dry and can catch fire: dry "
    "them flat outdoors or keep them under water in a lidded metal can.",
    "Moving parts pinch and shear. Keep gaps that open and close either too small for a finger "
    "or wider than 25 mm (the finger gap of ISO 13854, which does not cover shearing and "
    "drawing in), guard gear meshes and belts, and let nobody reach in while the crank turns. "
    "A heavy part may drive the crank by itself.",
    "Epoxy and other glues: wear gloves, ventilate, follow the maker's sheet.",
    "Figures of force and strength are estimates: try a model before cutting dear wood, and "
    "let no person depend on it.",
    "Local codes, the instructions of the makers of your tools and materials, and the advice "
    "of licensed practitioners go before anything printed here.",
)
NOT_A_TOY = ("This is not a toy, and not for children under three: small parts, washers, snap "
             "rings and rod ends can be swallowed. Break all sharp edges. What is given or sold"
             " to children has to meet the toy rules of the country (EN 71-1 in Europe; ASTM "
             "F963 and 16 CFR 1501 in the United States); only a test laboratory can confirm "
             "that it does.")
FOR_CHILDREN = ("Meant for children: checked here against 5 and 12 mm for gaps that move and "
                "against the small-parts cylinder, which does not replace the toy rules of the "
                "country (EN 71-1 in Europe; ASTM F963 and 16 CFR 1501 in the United States) "
                "or a test laboratory. Not for children under three: small parts, washers, "
                "snap rings and rod ends can be swallowed. Break all sharp edges.")
#: Rows of the table of fingers; of more the hardest.
MOST_ROWS = 40
_DECIDED = {"": "open", "guarded": "guarded", "accepted": "let be"}


def cautions_of(sketch: Sketch) -> tuple[str, ...]:
    """The sentences for a sketch; local codes come last."""
    return (*CAUTIONS[:-1], FOR_CHILDREN if sketch.for_children else NOT_A_TOY, CAUTIONS[-1])


def finger_table(study: Study) -> Table | None:
    """Where a finger could be caught or drawn in, at which crank angle, and what was
    decided; None where nothing was found. What is open comes first."""
    sketch = study.sketch
    rows = [*_drawn_in(sketch), *(_row(sketch, one) for one in study.pinches)]
    if not rows:
        return None
    rows.sort(key=lambda row: row[4] != _DECIDED[""])
    notes = ["open: nothing decided yet; guarded: a guard keeps fingers off; let be: the "
             "maker has looked at it."]
    if len(rows) > MOST_ROWS:
        notes.append(f"{len(rows) - MOST_ROWS} more are in what check prints.")
        rows = rows[:MOST_ROWS]
    return Table("Cautions: fingers", ("Between", "How", "Closes", "Shut at", "Decided"),
                 rows, frozenset({3}), " ".join(notes))


def _row(sketch: Sketch, one: Pinch) -> tuple[str, ...]:
    wide, tight = (show_length(round(mm, 1), sketch.units)
                   for mm in (one.widest_mm, one.smallest_mm))
    how = {"crush": "gap closes", "shear": "scissors", "hinge": "hinge closes"}[one.kind]
    if one.backwards:
        how += ", backwards"
    notes = [guard.note for guard in sketch.guards if guard.note and one.pair in (
        (guard.a, guard.b), (guard.b, guard.a))]
    return (f"{one.a} – {one.b}", how, f"{wide} → {tight}",
            f"{math.degrees(one.shut_rad):.0f}°", _decision(one.guarded, notes))


def _decision(why: str, notes: list[str]) -> str:
    return ": ".join([_DECIDED[why], *notes[:1]])


def _drawn_in(sketch: Sketch) -> list[tuple[str, ...]]:
    """Meshes, belts, and the wheels at the handle."""
    rows = []
    joints: tuple[Mesh | Belt, ...] = (*sketch.meshes, *sketch.belts)
    for joint in joints:
        a, b = split_ref(joint.a)[0], split_ref(joint.b)[0]
        rows.append(_nip(f"{a} – {b}", guard_of(sketch, a, b)))
    if sketch.handle.steps and sketch.drive is not None:
        crank = sketch.drive.part
        rows.append(_nip(f"wheels from handle to {crank}", guard_of(sketch, crank, crank)))
    return rows


def _nip(pair: str, guard: Guard | None) -> tuple[str, ...]:
    why, notes = ("", []) if guard is None else (guard.why, [guard.note] if guard.note else [])
    return pair, "draws in", "–", "always", _decision(why, notes)
