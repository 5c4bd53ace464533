"""Which rows the particulars show for what is selected."""

from __future__ import annotations

from collections.abc import Callable

from app.panels.rows.fitting import asks, fit_section, rule_sections, zone_sections
from app.panels.rows.guards import finger_section, guard_sections
from app.panels.rows.handle import handle_section, steps_table
from app.panels.rows.joints import (
    belt_sections,
    lock_sections,
    mesh_sections,
    pin_sections,
    slide_sections,
    slot_sections,
)
from app.panels.rows.loads import (
    drive_section,
    force_sections,
    spring_sections,
    torque_sections,
    torsion_spring_sections,
    twin_sections,
)
from app.panels.rows.parts import part_sections, point_sections
from app.panels.rows.row import Row, Section
from app.panels.rows.sheet import sketch_sections
from app.panels.rows.tables import Table, tables
from app.panels.rows.weights import weights_table
from app.panels.rows.wishes import wish_sections
from core.model import Sketch

KINDS: dict[str, Callable[[Sketch, tuple[str, ...]], list[Section]]] = {
    "part": part_sections, "point": point_sections, "pin": pin_sections,
    "slide": slide_sections, "slot": slot_sections, "lock": lock_sections,
    "mesh": mesh_sections, "belt": belt_sections, "force": force_sections,
    "torque": torque_sections, "spring": spring_sections,
    "torsion_spring": torsion_spring_sections, "twin": twin_sections,
    "wish": wish_sections, "zone": zone_sections, "length_rule": rule_sections,
}

__all__ = ["Row", "Section", "all_tables", "asks", "sections"]


def sections(sketch: Sketch, selection: frozenset[tuple[str, str]]) -> list[Section]:
    """All sections for a selection; the sketch's own when nothing is selected."""
    if not selection:
        crank = ([drive_section(sketch), handle_section(sketch)]
                 if sketch.drive is not None else [])
        wanted = [fit_section(sketch)] if asks(sketch) else []
        return [*sketch_sections(sketch), *crank, *wanted, finger_section(sketch)]
    made: list[Section] = []
    for kind, describe in KINDS.items():
        ids = tuple(sorted(name for k, name in selection if k == kind))
        if ids:
            made += describe(sketch, ids)
    made += guard_sections(sketch, selection)
    if is_crank(sketch, selection):
        made += [drive_section(sketch), handle_section(sketch)]
    return made


def is_crank(sketch: Sketch, selection: frozenset[tuple[str, str]]) -> bool:
    """Whether the crank or its pin is selected."""
    drive = sketch.drive
    return drive is not None and bool(
        {("pin", drive.pin), ("part", drive.part)} & selection)


def all_tables(sketch: Sketch, selection: frozenset[tuple[str, str]]) -> list[Table]:
    """The tables for a selection, the steps of the handle with the crank's among them."""
    steps = is_crank(sketch, selection) or (not selection and sketch.drive is not None)
    parts = [name for kind, name in selection if kind == "part"]
    weights = [weights_table(parts[0])] if len(parts) == len(selection) == 1 else []
    return [*tables(sketch, selection), *weights, *([steps_table()] if steps else [])]
