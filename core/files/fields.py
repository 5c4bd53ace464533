"""What every field of the sketch file means: the words of the schema and of docs/format.md.

Units: mm, kg, N, degrees; counter-clockwise positive; x right, y up.
"""

from __future__ import annotations

_WEIGHT = "How much it counts against the other wishes."
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
        "wanted": "The motion asked for.",
        "zones": "Regions a fit keeps points in or out of.",
        "length_rules": "Lengths that are bounded or stay equal in a fit.",
        "fit": "What a fit may change and must mind.",
        "handle": "What the hand holds, and what is between it and the crank.",
        "guards": "Places that could pinch, and what was decided about them.",
        "for_children": "Small children will reach it.",
        "materials": "Materials of the user's own; they come before the table's.",
    },
    "Part": {
        "id": "Its name; parts, joints, loads, twins and wishes share one set of names.",
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
        "grain_deg": "Direction of the grain (of plywood: of the face grain) in the drawn "
                     "pose, degrees; null is along the part's longest direction.",
        "weights": "Round weights fixed to it, on top of its own mass.",
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
    "Weight": {
        "mass_kg": "Mass, kg.",
        "x": "Centre in the drawn pose, mm.",
        "y": "Centre in the drawn pose, mm.",
        "diameter_mm": "Diameter, mm; 0 is unknown.",
        "thickness_mm": "Thickness, mm; 0 is unknown.",
        "made_of": "What it is, in words.",
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
        "material": "What the rod is made of, an id of the table of materials.",
        "clearance_mm": "Play of the rod in its bores, on the diameter, mm; null is what is "
                        "usual.",
        "hinge": "A bought hinge that joins panels, in place of a rod through them.",
    },
    "Hinge": {
        "screws": "Screws in each leaf.",
        "screw_mm": "Diameter of a screw, mm.",
        "length_mm": "Length of its thread in the wood, mm.",
        "edge": "The screws go into the edge of the sheet instead of its face.",
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
        "parts": "Ids of the parts that move as one, two or more; one alone is held on "
                 "its pin, as a crank on its shaft.",
        "kind": 'How each is held on the shaft: "glued", "pinned", "spring-pinned", '
                '"screwed", "flat", "keyed", "square", "hex", "clamped", "cottered"; other '
                "words are kept, but nothing is known of them.",
        "pin": "Id of the pin whose rod they share; empty when they share none.",
        "length_mm": "Length of the shaft the hold takes, mm; null is the part's thickness.",
        "size_mm": "Diameter of the cross pin, spring pin, cotter or screw, width of the "
                   "key, side of the square or hexagon, what is left across a flat, "
                   "mm; null is what is usual.",
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
        "brakes": "It is friction, as of a leather washer: always against the turning of the "
                  "part, its sign saying nothing.",
    },
    "Spring": {
        "id": "Its name.",
        "a": 'One end, as "part.point".',
        "b": 'The other end, as "part.point", on another part.',
        "rate_n_per_mm": "Rate, N/mm.",
        "free_length_mm": "Length at which it begins to pull, mm.",
        "initial_tension_n": "Pull at that length, N.",
        "pushes": "It pushes when shorter; otherwise it is slack then.",
        "coil": "How it is wound, null when that is not known; the numbers above count.",
    },
    "Coil": {
        "wire_mm": "Diameter of the wire, mm.",
        "mean_mm": "Diameter of the coils from middle to middle of the wire, mm.",
        "turns": "Active turns.",
        "material": "What the wire is made of, an id of the table of materials.",
    },
    "TorsionSpring": {
        "id": "Its name.",
        "pin": "Id of the pin it sits on.",
        "a": "Id of the part one end holds.",
        "b": "Id of the part the other end holds; both are on the pin.",
        "rate_nmm_per_deg": "Rate, N·mm for a degree.",
        "free_deg": "Turn of b against a, from the drawn pose, at which it is free, degrees.",
        "coil": "How it is wound, null when that is not known; the numbers above count.",
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
    "WantedPath": {
        "id": "Its name.",
        "through": "Places [x, y] of the path in the order of travel, mm.",
        "point": 'The point that is to trace it, as "part.point"; empty: none yet.',
        "curve": "A spline through the places, straight lines, or those places alone.",
        "closed": "It returns to its beginning.",
        "ticks": "Where along it the point is to be at which crank angle; none: the timing "
                 "is free.",
        "tolerance_mm": "How far off is still well, mm.",
        "either_way": "The direction of travel does not matter.",
        "any_order": "The order of the places does not matter.",
        "weight": _WEIGHT,
    },
    "Tick": {
        "at": "Place along the path: 0 is its first place, 1.5 halfway from the second to "
              "the third.",
        "crank_deg": "Reading of the crank there, degrees.",
    },
    "WantedAngle": {
        "id": "Its name.",
        "knots": "The angle wanted at crank angles.",
        "part": "Id of the part; empty: none yet.",
        "line": "Two points of the part, as \"part.point\": the angle is that of the "
                "direction from one to the other. Empty: only changes of angle count.",
        "curve": "A spline through the knots, straight lines, or the knots alone.",
        "closed": "It repeats every turn of the crank; otherwise it counts from the first to "
                  "the last knot.",
        "tolerance_deg": "How far off is still well, degrees.",
        "weight": _WEIGHT,
    },
    "Knot": {
        "crank_deg": "Reading of the crank, degrees.",
        "angle_deg": "The angle wanted there, degrees.",
    },
    "WantedPose": {
        "id": "Its name.",
        "crank_deg": "Reading of the crank, degrees.",
        "x": "Where `at` is to be, mm to the right.",
        "y": "Where `at` is to be, mm upwards.",
        "angle_deg": "Direction wanted from `at` to `toward`, degrees.",
        "at": 'A point of the part, as "part.point"; empty: no part yet.',
        "toward": 'Another point of that part, as "part.point".',
        "tolerance_mm": "How far off the place is still well, mm.",
        "tolerance_deg": "How far off the direction is still well, degrees.",
        "weight": _WEIGHT,
    },
    "WantedSwing": {
        "id": "Its name.",
        "from_deg": "Angle at one end, degrees.",
        "to_deg": "Angle at the other end, degrees.",
        "part": "Id of the part; empty: none yet.",
        "line": "Two points of the part that give it a direction; empty: only the size of "
                "the swing counts.",
        "tolerance_deg": "How far off is still well, degrees.",
        "weight": _WEIGHT,
    },
    "WantedStroke": {
        "id": "Its name.",
        "start": "[x, y] of one end, mm.",
        "end": "[x, y] of the other end, mm.",
        "point": 'The point, as "part.point"; empty: none yet.',
        "tolerance_mm": "How far off is still well, mm.",
        "weight": _WEIGHT,
    },
    "WantedDwell": {
        "id": "Its name.",
        "from_deg": "Reading of the crank where the rest begins, degrees.",
        "to_deg": "Reading of the crank where it ends, degrees.",
        "part": "Id of the part that keeps its angle; empty: none.",
        "point": 'The point that keeps its place, as "part.point"; empty: none.',
        "tolerance_deg": "How much it may turn, degrees.",
        "tolerance_mm": "How far the point may stray, mm.",
        "weight": _WEIGHT,
    },
    "WantedRatio": {
        "id": "Its name.",
        "ratio": "Time of the longer stroke over that of the shorter.",
        "part": "Id of the part; empty: none.",
        "point": 'The point, as "part.point"; empty: none.',
        "tolerance": "How far off is still well.",
        "weight": _WEIGHT,
    },
    "Zone": {
        "id": "Its name.",
        "corners": "Corners [x, y], mm. One is a place, two a straight line, more a polygon.",
        "keep": "Whether points stay in it or out of it.",
        "points": 'The points it is for, as "part.point"; empty: the fixed pivots.',
    },
    "LengthRule": {
        "id": "Its name.",
        "ends": 'The ends of the lengths as "part.point", two points of one part for each.',
        "equal": "The lengths stay equal to each other.",
        "shortest_mm": "Bound on each, mm; null: none.",
        "longest_mm": "Bound on each, mm; null: none.",
    },
    "FitRules": {
        "free": 'Points that may move, as "part.point"; empty: all that are not locked.',
        "start_free": "The zero of the crank may shift: of timing only differences count.",
        "shortest_mm": "Bound on every link length, mm; null: none.",
        "longest_mm": "Bound on every link length, mm; null: none.",
        "transmission_deg": "Smallest transmission angle wanted, degrees.",
        "mind_gaps": "Parts are kept from touching.",
        "mind_torque": "The peak torque is kept low.",
        "rocking": "The crank may rock: it need not go all the way round.",
    },
    "Handle": {
        "radius_mm": "From the middle of its shaft to the middle of the grip, mm.",
        "who": "Whose strength counts.",
        "limit_n": "The user's own limit of how hard to push, N; null is the preset's.",
        "steps": "Gears or belts between the handle's shaft and the crank, from the hand "
                 "inwards.",
    },
    "HandStep": {
        "driver": "Wheel on the side of the hand: its teeth, or the diameter of a pulley, mm.",
        "driven": "Wheel on the side of the crank: its teeth, or the diameter of a pulley, mm.",
        "kind": "Gears and crossed belts turn the two against each other.",
        "efficiency": "Share of the work that comes through, [low, high].",
        "backlash_mm": "Play along the pitch circle, mm.",
        "module_mm": "Module of the gears, mm; null: not chosen yet.",
        "pressure_angle_deg": "Pressure angle of the gears, degrees.",
        "face_mm": "Width of the teeth, mm.",
        "material": "What the wheels are made of, an id of the table of materials.",
    },
    "Guard": {
        "id": "Its name.",
        "a": "Id of one part.",
        "b": "Id of the other part.",
        "why": "A guard keeps fingers off, or the user lets the place be.",
        "note": "Anything worth knowing.",
    },
    "OwnMaterial": {
        "id": "Its name in the sketch.",
        "name": "What it is called.",
        "density_kg_m3": "Density, kg/m³.",
        "stuff": "What kind of material it is.",
        "like": "Id of a material of the table whose figures it takes where it has none; "
                "empty: none.",
        "source": "Where the density is from.",
        "figures": "Strengths and stiffness.",
        "note": "Anything worth knowing.",
    },
    "OwnFigure": {
        "name": "What is given, with the unit at its end, such as compression_along_mpa; the "
                "names are listed in docs/materials.md.",
        "low": "Lowest value.",
        "high": "Highest value.",
        "source": "Where it is from.",
    },
}
