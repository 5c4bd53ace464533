"""What every field of the sketch file means: the words of the schema and of docs/format.md.

Units: mm, kg, N, degrees; counter-clockwise positive; x right, y up.
"""

from __future__ import annotations

#: Struct → field → meaning.
FIELDS: dict[str, dict[str, str]] = {
    "Sketch": {
        "format": 'Always "crankwright".',
        "version": "The version of the file format, a whole number.",
        "title": "What the mechanism is called.",
        "author": "Who made it.",
        "note": "Anything worth knowing.",
        "units": 'How lengths are shown, "mm" or "in"; the file itself is always in mm.',
        "parts": "The rigid bodies, the frame among them.",
        "pins": "Turning joints.",
        "slides": "Straight sliding joints.",
        "slots": "Pins in straight slots.",
        "locks": "Parts made fast to each other.",
        "meshes": "Gear pairs.",
        "belts": "Belts and cords that do not slip.",
        "drive": "The crank; null for a mechanism that has none yet.",
        "gravity": "Gravity in the plane of the sketch.",
        "forces": "Constant forces.",
        "torques": "Constant torques.",
        "springs": "Straight springs.",
        "torsion_springs": "Springs about a pin.",
        "friction": "Range of the coefficient of friction where parts rub, [low, high].",
        "gap_mm": "Smallest gap wanted between parts that share a layer, mm.",
        "grid_mm": "Spacing of the drawing grid, mm.",
        "turns": "Crank turns to show when the motion does not repeat within 64.",
        "underlay": "A picture under the sketch.",
        "twins": "Mirrored groups that follow their originals.",
    },
    "Part": {
        "id": "Its name; parts, joints, loads and twins share one set of names.",
        "points": "Its named places.",
        "fixed": "It belongs to the frame and does not move.",
        "outline": "Its shape; null is a disc of 10 mm radius about one point, a bar 16 mm "
                   "wide through two, a plate with an 8 mm margin around more.",
        "thickness_mm": "Thickness of the sheet, mm.",
        "layer": "Layer it lies in, counted from the back; null is a layer of its own: its "
                 "place in the list, from 0.",
        "material": "What it is made of, an id of the table of materials.",
        "mass": "A typed mass in place of the one from outline, thickness and material.",
        "lengths_locked": "Keeps the distances between its points while pivots are dragged.",
        "note": "Anything worth knowing.",
    },
    "Point": {
        "id": "Its name, unique in the part.",
        "x": "Place in the drawn pose, mm to the right.",
        "y": "Place in the drawn pose, mm upwards.",
        "trace": "Draw its path.",
        "locked": "It stays where it is while pivots are dragged.",
    },
    "Mass": {
        "mass_kg": "Mass, kg.",
        "x": "Centre of mass in the drawn pose, mm.",
        "y": "Centre of mass in the drawn pose, mm.",
        "inertia_kgmm2": "Moment of inertia about that centre, kg·mm².",
    },
    "Bar": {
        "width_mm": "Width, mm; the ends are round.",
        "through": "Ids of the points it runs through, in order; empty is all points.",
    },
    "Plate": {
        "margin_mm": "How far it reaches beyond the hull of its points, mm.",
        "around": "Ids of the points it surrounds; empty is all points.",
    },
    "Disc": {
        "radius_mm": "Radius, mm.",
        "centre": "Id of the point at its centre; empty is the first point.",
    },
    "Polygon": {
        "outer": "Corners [x, y] in the drawn pose, mm, at least three; it closes by itself.",
        "holes": "Openings, each a list of corners.",
    },
    "Pin": {
        "id": "Its name.",
        "at": 'The points on it, as "part.point", one of each of two or more parts, at one '
              "place in the drawn pose.",
        "diameter_mm": "Diameter of the rod, mm.",
        "friction": "Range of the coefficient of friction; null is the sketch's.",
    },
    "Slide": {
        "id": "Its name.",
        "point": 'The sliding point, as "part.point", on the line in the drawn pose; its part '
                 "keeps its angle to the other.",
        "along": "Two points of one other part: the line, and the ends of the travel.",
        "friction": "Range of the coefficient of friction; null is the sketch's.",
    },
    "PinInSlot": {
        "id": "Its name.",
        "point": 'The point of the pin, as "part.point", on the line in the drawn pose.',
        "slot": "Two points of one other part: the ends of the slot's centre line.",
        "diameter_mm": "Diameter of the pin, mm.",
        "friction": "Range of the coefficient of friction; null is the sketch's.",
    },
    "Lock": {
        "id": "Its name.",
        "parts": "Ids of the parts that move as one, two or more.",
        "kind": "How they are held.",
        "pin": "Id of the pin whose rod they share; empty when they share none.",
    },
    "Mesh": {
        "id": "Its name.",
        "a": 'Centre of the first gear, as "part.point".',
        "b": 'Centre of the second gear, as "part.point"; both centres are pinned to the '
             "frame or to one carrier.",
        "teeth_a": "Teeth of the first gear.",
        "teeth_b": "Teeth of the second gear.",
        "internal": "One runs inside the other; the one with more teeth is the ring.",
        "pressure_angle_deg": "Pressure angle, degrees.",
    },
    "Belt": {
        "id": "Its name.",
        "a": 'Centre of the first pulley, as "part.point".',
        "b": 'Centre of the second pulley, as "part.point"; both centres are pinned to the '
             "frame or to one carrier.",
        "diameter_a_mm": "Diameter of the first pulley, mm.",
        "diameter_b_mm": "Diameter of the second pulley, mm.",
        "crossed": "Crossed: the pulleys turn against each other; open: the same way.",
    },
    "Drive": {
        "pin": "Id of the pin the crank turns on; a fixed part is on it too.",
        "part": "Id of the crank.",
        "kind": '"turn" for whole turns, "rock" for to and fro.',
        "rpm": "Turns, or swings to and fro, a minute; negative turns clockwise.",
        "drawn_deg": "What the crank angle reads in the drawn pose, degrees.",
        "from_deg": "Where rocking begins, degrees.",
        "to_deg": "Where rocking ends, degrees.",
    },
    "Gravity": {
        "g_m_s2": "Magnitude, m/s²; 0 for a mechanism that lies flat.",
        "direction_deg": "Direction, degrees from x; −90 is down.",
    },
    "Force": {
        "id": "Its name.",
        "at": 'The point it acts on, as "part.point".',
        "fx_n": "To the right in the drawn pose, N.",
        "fy_n": "Upwards in the drawn pose, N.",
        "turns_with_part": "It turns with the part; otherwise it keeps its direction.",
    },
    "Torque": {
        "id": "Its name.",
        "part": "Id of the part it acts on.",
        "torque_nmm": "Torque, N·mm.",
    },
    "Spring": {
        "id": "Its name.",
        "a": 'One end, as "part.point".',
        "b": 'The other end, as "part.point", on another part.',
        "rate_n_per_mm": "Rate, N/mm.",
        "free_length_mm": "Length at which it begins to pull, mm.",
        "initial_tension_n": "Pull at that length, N.",
        "pushes": "It pushes when shorter; otherwise it is slack then.",
    },
    "TorsionSpring": {
        "id": "Its name.",
        "pin": "Id of the pin it sits on.",
        "a": "Id of the part one end holds.",
        "b": "Id of the part the other end holds; both are on the pin.",
        "rate_nmm_per_deg": "Rate, N·mm for a degree.",
        "free_deg": "Turn of b against a, from the drawn pose, at which it is free, degrees.",
    },
    "Underlay": {
        "path": "The picture, absolute or relative to the sketch file.",
        "mm_per_px": "Size of a pixel, mm.",
        "x": "Lower left corner, mm.",
        "y": "Lower left corner, mm.",
        "angle_deg": "Turn about that corner, degrees.",
        "opacity": "0 is invisible, 1 opaque.",
    },
    "Twin": {
        "id": "Its name.",
        "parts": "Pairs [original, copy] of part ids.",
        "others": "Pairs [original, copy] of ids of joints and loads.",
        "x": "A place on the mirror line, mm.",
        "y": "A place on the mirror line, mm.",
        "angle_deg": "Direction of the mirror line, degrees.",
    },
}
