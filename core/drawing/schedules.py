"""The tables of the sheets: holes, slots, parts, rods, rings and locks, layers, gears, belts,
springs and loads, findings."""

from __future__ import annotations

from collections.abc import Sequence

from core.drawing.flow import Table
from core.drawing.grain import grain_words
from core.drawing.holding import holding_table
from core.drawing.kinds import Kind
from core.drawing.labels import MOST_PAIRS, measured_pairs
from core.drawing.mechanism import pitch_radii
from core.drawing.subject import Subject
from core.drawing.weights import ballasts
from core.effort.masses import mass_of
from core.errors import SketchError
from core.model import Coil, Sketch, part_of
from core.model.stuff import materials_of
from core.units import (
    MM_PER_INCH,
    show_angle,
    show_force,
    show_length,
    show_mass,
    show_torque,
)


def tables(subject: Subject, alike: Sequence[Kind]) -> list[Table]:
    """All tables that have rows, in the order they are printed."""
    made = [hole_table(subject), track_table(subject), part_list(subject, alike),
            weight_table(subject), rod_table(subject), holding_table(subject),
            layer_list(subject), gear_table(subject), belt_table(subject), load_table(subject),
            findings_table(subject)]
    return [table for table in made if table.rows]


def coordinate(mm: float, units: str) -> str:
    """A coordinate: mm to 0.01, always two decimals so that columns line up; inches as
    :func:`core.units.show_length` writes them."""
    if units == "in":
        return show_length(mm, "in", unit=False)
    return f"{0.0 if abs(mm) < 0.005 else mm:.2f}".replace("-", "−")


def hole_table(subject: Subject) -> Table:
    """Every hole with its place from the datum at the crank angle shown."""
    units = subject.sketch.units
    rows = []
    for hole in subject.holes:
        away = hole.at - subject.datum
        rows.append((hole.label, hole.part, coordinate(away.real, units),
                     coordinate(away.imag, units),
                     show_length(hole.diameter_mm, units, False), hole.fit))
    heads = ("Hole", "Part", f"X {units}", f"Y {units}", f"Ø {units}", "Fit")
    return Table("Hole table", heads, rows, frozenset({2, 3, 4}),
                 "X and Y from the datum with the mechanism as drawn on sheet 1. Running: ream "
                 "so that the rod turns freely, 0.1 to 0.25 mm over the rod in plywood (common "
                 "practice, no source); drill a test hole first. Fast: held on its rod.")


def track_table(subject: Subject) -> Table:
    """Slots and slides by their ends."""
    units = subject.sketch.units
    rows = []
    for track in subject.tracks:
        a, b = (end - subject.datum for end in track.at)
        width = show_length(track.width_mm, units, False) if track.width_mm else "slide"
        rows.append((track.label, track.part, coordinate(a.real, units),
                     coordinate(a.imag, units), coordinate(b.real, units),
                     coordinate(b.imag, units), width, show_length(abs(b - a), units, False)))
    return Table("Slots and slides",
                 ("No.", "Part", f"From X {units}", f"From Y {units}", f"To X {units}",
                  f"To Y {units}", f"Width {units}", f"Length {units}"),
                 rows, frozenset({2, 3, 4, 5, 6, 7}),
                 "Ends are those of the centre line: a slot is half its width longer each way.")


def part_list(subject: Subject, alike: Sequence[Kind]) -> Table:
    """Parts by item number: quantity, material, grain, thickness, layers, centre distances."""
    sketch, units = subject.sketch, subject.sketch.units
    rows = []
    for kind in alike:
        part = sketch.part(kind.parts[0])
        layers = sorted({subject.layers[other] for other in kind.parts})
        mirrored = f" ({kind.mirrored} mirrored)" if kind.mirrored else ""
        pairs = measured_pairs(subject, part.id)
        lengths = ", ".join(f"{a}–{b} {show_length(abs(q - p), units, False)}"
                            for (a, p), (b, q) in pairs)
        if len(pairs) > MOST_PAIRS:
            lengths = f"{(len(pairs) + 3) // 2} centres: see the hole table"
        rows.append((str(kind.item), str(kind.quantity),
                     ", ".join(kind.parts) + mirrored + (" (frame)" if part.fixed else ""),
                     material_name(sketch, part.material), grain_words(sketch, part),
                     show_length(part.thickness_mm, units, False),
                     ", ".join(str(layer) for layer in layers), lengths or "–",
                     _mass(subject, part.id)))
    return Table("Part list",
                 ("Item", "Qty", "Part", "Material", "Grain", f"Thick. {units}", "Layer",
                  f"Centre distances {units}", "Mass each"),
                 rows, frozenset({0, 1, 5, 8}),
                 "Measure your sheet: plywood is often thinner or thicker than its name says. "
                 "Grain: of the face, to the longest direction of the part; the double arrow "
                 "on its template.")


def material_name(sketch: Sketch, name: str) -> str:
    """The name of a material as written in lists; an unknown one as it is."""
    known = materials_of(sketch.materials)
    return known[name].name if name in known else name


def _mass(subject: Subject, part: str) -> str:
    try:
        sketch = subject.sketch
        return show_mass(mass_of(sketch.part(part), sketch.materials).kg, sketch.units)
    except SketchError:
        return "–"


def weight_table(subject: Subject) -> Table:
    """Weights let into parts or bolted on, with their places from the datum."""
    units = subject.sketch.units
    rows = []
    for one in ballasts(subject):
        away, weight = one.at - subject.datum, one.weight
        sizes = [show_length(size, units, False) if size else "–"
                 for size in (weight.diameter_mm, weight.thickness_mm)]
        rows.append((one.label, one.part, coordinate(away.real, units),
                     coordinate(away.imag, units), *sizes,
                     show_mass(weight.mass_kg, units), weight.made_of or "–"))
    return Table("Weights", ("No.", "Part", f"X {units}", f"Y {units}", f"Ø {units}",
                             f"Thick. {units}", "Adds", "Made of"),
                 rows, frozenset({2, 3, 4, 5, 6}),
                 "Adds: what it weighs more than the wood that goes away for it. Weigh it "
                 "before it is let in, and file it to the figure. A weight that comes off "
                 "flies: let it in tight and glue it, or bolt it through.")


def rod_table(subject: Subject) -> Table:
    """Rods: diameter, what they join, the layers they pass and how much sheet that is."""
    sketch, units = subject.sketch, subject.sketch.units
    rows = []
    for pivot in subject.pivots:
        parts = [part_of(ref) for ref in pivot.points]
        parts += [track.part for track in subject.tracks if track.joint == pivot.joint]
        spanned = sorted({subject.layers[part] for part in parts})
        between = range(spanned[0], spanned[-1] + 1)
        stack = sum(max((p.thickness_mm for p in sketch.parts if subject.layers[p.id] == layer),
                        default=0.0) for layer in between)
        rows.append((pivot.letter, pivot.joint, show_length(pivot.diameter_mm, units, False),
                     ", ".join(dict.fromkeys(parts)), f"{spanned[0]} to {spanned[-1]}",
                     show_length(stack, units, False)))
    return Table("Rods", ("Rod", "Name", f"Ø {units}", "Through", "Layers", f"Stack {units}"),
                 rows, frozenset({2, 5}),
                 "Stack: thickness of all layers from the first to the last, without washers. "
                 "Add washers, rings and what stands out at the ends.")


def layer_list(subject: Subject) -> Table:
    """Layers from the front (highest number) to the back."""
    sketch, units = subject.sketch, subject.sketch.units
    rows = []
    for layer in sorted(set(subject.layers.values()), reverse=True):
        parts = [part for part in sketch.parts if subject.layers[part.id] == layer]
        rows.append((str(layer), ", ".join(part.id for part in parts),
                     show_length(max(part.thickness_mm for part in parts), units, False)))
    return Table("Layers, front to back", ("Layer", "Parts", f"Thickness {units}"), rows,
                 frozenset({2}))


def gear_table(subject: Subject) -> Table:
    """Gear pairs."""
    units = subject.sketch.units
    rows = []
    # Inch gears are known by their teeth to the inch of pitch diameter.
    size = "Module mm" if units == "mm" else "Diametral pitch"
    for mesh in subject.sketch.meshes:
        radii = pitch_radii(subject, mesh)
        apart = abs(subject.place(mesh.b) - subject.place(mesh.a))
        module = max(2 * radii[0] / mesh.teeth_a, 1e-9)
        kind = "ring" if mesh.internal else "external"
        rows.append((mesh.id, f"{part_of(mesh.a)} / {part_of(mesh.b)}",
                     f"{mesh.teeth_a} / {mesh.teeth_b}", kind,
                     f"{module:.3f}" if units == "mm" else f"{MM_PER_INCH / module:.3f}",
                     " / ".join(show_length(2 * r, units, False) for r in radii),
                     show_length(apart, units, False), show_angle(mesh.pressure_angle_deg)))
    return Table("Gears", ("Pair", "Parts", "Teeth", "Kind", size, f"Pitch Ø {units}",
                           f"Centres {units}", "Pressure angle"), rows, frozenset({4, 6}))


def belt_table(subject: Subject) -> Table:
    """Belts and cords."""
    units = subject.sketch.units
    rows = [(belt.id, f"{part_of(belt.a)} / {part_of(belt.b)}",
             "crossed" if belt.crossed else "open",
             show_length(belt.diameter_a_mm, units, False),
             show_length(belt.diameter_b_mm, units, False),
             show_length(abs(subject.place(belt.b) - subject.place(belt.a)), units, False))
            for belt in subject.sketch.belts]
    return Table("Belts", ("Belt", "Pulleys", "Kind", f"Ø first {units}", f"Ø second {units}",
                           f"Centres {units}"), rows, frozenset({3, 4, 5}))


def load_table(subject: Subject) -> Table:
    """Springs, forces and torques."""
    sketch, units = subject.sketch, subject.sketch.units
    rows = []
    for spring in sketch.springs:
        stretch = (f"{show_force(spring.rate_n_per_mm * MM_PER_INCH, units)}/in"
                   if units == "in" else f"{show_force(spring.rate_n_per_mm)}/mm")
        rows.append((spring.id, "spring", f"{spring.a} to {spring.b}",
                     f"{stretch}, free length {show_length(spring.free_length_mm, units)}, "
                     f"initial tension {show_force(spring.initial_tension_n, units)}"
                     + _coil(subject, spring.coil)))
    for twist in sketch.torsion_springs:
        rows.append((twist.id, "torsion spring", f"{twist.a} to {twist.b} at {twist.pin}",
                     f"{show_torque(twist.rate_nmm_per_deg, units)} per degree, free at "
                     f"{show_angle(twist.free_deg)}" + _coil(subject, twist.coil)))
    for force in sketch.forces:
        rows.append((force.id, "force", force.at,
                     f"{show_force(abs(complex(force.fx_n, force.fy_n)), units)}"))
    for torque in sketch.torques:
        rows.append((torque.id, "torque", torque.part, show_torque(torque.torque_nmm, units)))
    return Table("Springs and loads", ("Name", "Kind", "Where", "Size"), rows)


def _coil(subject: Subject, coil: Coil | None) -> str:
    """How a spring is wound, to be added to its size; nothing when that is not known."""
    if coil is None:
        return ""
    units = subject.sketch.units
    outside = show_length(coil.mean_mm + coil.wire_mm, units)
    wire = f"{material_name(subject.sketch, coil.material)} {show_length(coil.wire_mm, units)}"
    return f"; {wire}, coils {outside} outside, {coil.turns:g} active turns"


def findings_table(subject: Subject) -> Table:
    """What was found, worst first, with the mend."""
    order = {"fault": 0, "warning": 1, "note": 2}
    found = sorted(subject.study.findings, key=lambda finding: order.get(finding.grade, 3))
    rows = [(finding.grade, finding.text,
             "–" if finding.crank_deg is None else show_angle(finding.crank_deg), finding.mend)
            for finding in found]
    return Table("Findings", ("Grade", "What was found", "Crank at", "Mend"), rows)
