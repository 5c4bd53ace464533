"""Mechanisms with masses and loads for the tests of effort, and a check of balance.

Numbers invented, but for the walking leg's eleven."""

from __future__ import annotations

import cmath
import math

import numpy as np
from linkages import meet

from core.effort import mass_of
from core.effort.inside import owners
from core.model import (
    Bar,
    Disc,
    Drive,
    Force,
    Gravity,
    Lock,
    Mass,
    Mesh,
    Part,
    Pin,
    PinInSlot,
    Point,
    Sketch,
    Slide,
    Spring,
    Torque,
    TorsionSpring,
    part_of,
)
from core.motion import Turn, crank_motion, rates


def part(name: str, mass: Mass | None = None, *, fixed: bool = False,
         **places: complex) -> Part:
    """A part with points at complex places."""
    return Part(id=name, fixed=fixed, mass=mass,
                points=tuple(Point(id=k, x=z.real, y=z.imag) for k, z in places.items()))


def mass(kg: float, at: complex, inertia: float) -> Mass:
    """A typed mass at a complex place."""
    return Mass(mass_kg=kg, x=at.real, y=at.imag, inertia_kgmm2=inertia)


def four_bar(rpm: float = 60.0, **more: object) -> Sketch:
    """Ground 100, crank 40, coupler 120, rocker 80 mm, drawn at 40°; heavy coupler
    point; a spring from coupler to frame."""
    o, q = 0j, 100 + 0j
    a = 40 * cmath.exp(1j * math.radians(40))
    b = meet(a, q, 120, 80)
    p = a + (60 + 50j) * (b - a) / abs(b - a)
    parts = (
        part("frame", fixed=True, O=o, Q=q, S=60 + 190j),
        part("crank", mass(0.12, 0.4 * a + 3j, 55.0), O=o, A=a),
        part("coupler", mass(0.35, (a + b + p) / 3, 700.0), A=a, B=b, P=p),
        part("rocker", mass(0.2, q + 0.55 * (b - q) + 4, 160.0), Q=q, B=b),
    )
    pins = (Pin(id="o", at=("frame.O", "crank.O")), Pin(id="a", at=("crank.A", "coupler.A")),
            Pin(id="b", at=("coupler.B", "rocker.B")),
            Pin(id="q", at=("rocker.Q", "frame.Q")))
    fields: dict[str, object] = {
        "parts": parts, "pins": pins,
        "drive": Drive(pin="o", part="crank", rpm=rpm, drawn_deg=40.0),
        "springs": (Spring(id="pull", a="coupler.P", b="frame.S", rate_n_per_mm=0.05,
                           free_length_mm=20.0, initial_tension_n=0.3),),
    }
    return Sketch(**(fields | more))


def slider_crank(rpm: float = 90.0, **more: object) -> Sketch:
    """Crank 40, rod 120, offset 20 mm, drawn at 60°."""
    a = 40 * cmath.exp(1j * math.radians(60))
    b = complex(a.real + math.sqrt(120**2 - (a.imag - 20) ** 2), 20)
    parts = (
        part("frame", fixed=True, O=0j, L=60 + 20j, R=170 + 20j),
        part("crank", mass(0.1, 0.3 * a, 30.0), O=0j, A=a),
        part("rod", mass(0.25, a + 0.4 * (b - a) + 3j, 260.0), A=a, B=b),
        part("block", mass(0.4, b + 5j, 80.0), B=b),
    )
    fields: dict[str, object] = {
        "parts": parts,
        "pins": (Pin(id="o", at=("frame.O", "crank.O")), Pin(id="a", at=("crank.A", "rod.A")),
                 Pin(id="b", at=("rod.B", "block.B"))),
        "slides": (Slide(id="way", point="block.B", along=("frame.L", "frame.R")),),
        "drive": Drive(pin="o", part="crank", rpm=rpm, drawn_deg=60.0),
    }
    return Sketch(**(fields | more))


#: Pins of the walking leg by place, and the two places each bar joins.
_LEG_BARS = {"crank": "OM", "b": "BC", "j": "MC", "d": "BD", "e": "CD", "k": "ME",
             "c": "BE", "f": "DF", "g": "EF", "h": "FG", "i": "EG"}
_LEG = {"b": 41.5, "c": 39.3, "d": 40.1, "e": 55.8, "f": 39.4, "g": 36.7, "h": 65.7,
        "i": 49.0, "j": 50.0, "k": 61.9}


def walking_leg(rpm: float = 30.0, drawn_deg: float = 0.0, **more: object) -> Sketch:
    """The walking leg of eleven numbers, every bar a part of its own (twelve with the
    frame), in birch plywood; O the crank's centre, G the foot."""
    n = _LEG
    at = {"O": 0j, "B": -38 - 7.8j, "M": 15 * cmath.exp(1j * math.radians(drawn_deg))}
    at["C"] = meet(at["M"], at["B"], n["j"], n["b"], left=False)
    at["D"] = meet(at["B"], at["C"], n["d"], n["e"])
    at["E"] = meet(at["M"], at["B"], n["k"], n["c"])
    at["F"] = meet(at["D"], at["E"], n["f"], n["g"], left=False)
    at["G"] = meet(at["E"], at["F"], n["i"], n["h"])
    parts = [part("frame", fixed=True, O=at["O"], B=at["B"])]
    for layer, (name, (one, two)) in enumerate(_LEG_BARS.items()):
        bar = part(name, **{one: at[one], two: at[two]})
        parts.append(Part(id=name, points=bar.points, layer=layer,
                          outline=Bar(width_mm=10.0 + layer % 3)))
    pins = []
    for place in "OMBCDEFG":
        refs = ["frame." + place] if place in "OB" else []
        refs += [f"{name}.{place}" for name, ends in _LEG_BARS.items() if place in ends]
        pins.append(Pin(id=place, at=tuple(refs)))
    fields: dict[str, object] = {
        "parts": tuple(parts), "pins": tuple(pins),
        "drive": Drive(pin="O", part="crank", rpm=rpm, drawn_deg=drawn_deg),
    }
    return Sketch(**(fields | more))


def geared_pair(rpm: float = 45.0, **more: object) -> Sketch:
    """Two geared cranks (24 to 24 teeth) and two rods that meet in a weight."""
    a, b = -30 + 0j, 30 + 0j
    u, v = a + 18 * cmath.exp(0.7j), b + 22 * cmath.exp(2.1j)
    p = meet(u, v, 80, 70)
    parts = (
        part("frame", fixed=True, A=a, B=b),
        part("left", mass(0.15, a + 3 - 2j, 60.0), A=a, U=u),
        part("right", mass(0.18, b - 2 + 4j, 75.0), B=b, V=v),
        part("rod", mass(0.1, (u + p) / 2 + 1j, 55.0), U=u, P=p),
        part("bow", mass(0.3, 0.3 * v + 0.7 * p, 150.0), V=v, P=p),
    )
    fields: dict[str, object] = {
        "parts": parts,
        "pins": (Pin(id="a", at=("frame.A", "left.A")), Pin(id="b", at=("frame.B", "right.B")),
                 Pin(id="u", at=("left.U", "rod.U")), Pin(id="v", at=("right.V", "bow.V")),
                 Pin(id="p", at=("rod.P", "bow.P"))),
        "meshes": (Mesh(id="teeth", a="left.A", b="right.B", teeth_a=24, teeth_b=24),),
        "drive": Drive(pin="a", part="left", rpm=rpm, drawn_deg=0.0),
    }
    return Sketch(**(fields | more))


def slotted_lever(rpm: float = 50.0, **more: object) -> Sketch:
    """A crank's pin in the slot of a lever (quick return), a torque and a force on it."""
    o, q = 0j, -70j
    a = 30 * cmath.exp(0.5j)
    along = (a - q) / abs(a - q)
    parts = (
        part("frame", fixed=True, O=o, Q=q),
        part("crank", mass(0.1, 0.5 * a, 20.0), O=o, A=a),
        part("lever", mass(0.3, q + 60 * along + 2, 400.0), Q=q, N=q + 30 * along,
             F=q + 120 * along),
    )
    fields: dict[str, object] = {
        "parts": parts,
        "pins": (Pin(id="o", at=("frame.O", "crank.O")),
                 Pin(id="q", at=("frame.Q", "lever.Q"))),
        "slots": (PinInSlot(id="slot", point="crank.A", slot=("lever.N", "lever.F")),),
        "drive": Drive(pin="o", part="crank", rpm=rpm, drawn_deg=15.0),
        "torques": (Torque(id="brake", part="lever", torque_nmm=-40.0),),
        "forces": (Force(id="push", at="lever.F", fx_n=0.4, fy_n=-0.2,
                         turns_with_part=True),),
    }
    return Sketch(**(fields | more))


def locked_shaft(rpm: float = 30.0, **more: object) -> Sketch:
    """A crank whose far arm is made fast to its disc on one shaft; the arm drives a
    rocker, with a coil spring at its foot."""
    o, q, a = 0j, 90 + 10j, 30 * cmath.exp(1.2j)
    b = meet(a, q, 85, 50)
    disc = Part(id="disc", points=(Point(id="O", x=0.0, y=0.0), Point(id="H", x=0.0, y=-25.0)),
                outline=Disc(radius_mm=32.0, centre="O"), layer=1)
    parts = (
        part("frame", fixed=True, O=o, Q=q), disc, part("arm", O=o, A=a),
        part("rod", A=a, B=b), part("rocker", Q=q, B=b, W=b + 20j),
    )
    fields: dict[str, object] = {
        "parts": parts,
        "pins": (Pin(id="o", at=("frame.O", "disc.O", "arm.O")),
                 Pin(id="a", at=("arm.A", "rod.A")), Pin(id="b", at=("rod.B", "rocker.B")),
                 Pin(id="q", at=("rocker.Q", "frame.Q"), diameter_mm=5.0)),
        "locks": (Lock(id="glue", parts=("disc", "arm"), pin="o"),),
        "drive": Drive(pin="o", part="disc", rpm=rpm),
        "torsion_springs": (TorsionSpring(id="coil", pin="q", a="frame", b="rocker",
                                          rate_nmm_per_deg=1.5, free_deg=12.0),),
        "gravity": Gravity(direction_deg=-80.0),
    }
    return Sketch(**(fields | more))


def swinging_block(rpm: float = 55.0, **more: object) -> Sketch:
    """A block on the crank pin slides along a swinging lever."""
    o, q = 0j, 10 - 75j
    a = 28 * cmath.exp(0.9j)
    along = (a - q) / abs(a - q)
    parts = (
        part("frame", fixed=True, O=o, Q=q),
        part("crank", mass(0.1, 0.5 * a, 20.0), O=o, A=a),
        part("block", mass(0.15, a + 4 - 3j, 25.0), A=a),
        part("lever", mass(0.25, q + 70 * along + 3, 350.0), Q=q, N=q + 30 * along,
             F=q + 125 * along),
    )
    fields: dict[str, object] = {
        "parts": parts,
        "pins": (Pin(id="o", at=("frame.O", "crank.O")),
                 Pin(id="a", at=("crank.A", "block.A")),
                 Pin(id="q", at=("lever.Q", "frame.Q"))),
        "slides": (Slide(id="way", point="block.A", along=("lever.N", "lever.F")),),
        "drive": Drive(pin="o", part="crank", rpm=rpm, drawn_deg=25.0),
    }
    return Sketch(**(fields | more))


def plate_on_three(rpm: float = 35.0, **more: object) -> Sketch:
    """A plate held by three links, one from the crank: no two bodies of the four can be
    solved before the rest."""
    o, r, s = 0j, 90 - 20j, -60 - 40j
    a = 12 * cmath.exp(0.3j)
    x, y, z = 30 + 60j, 75 + 55j, -15 + 70j
    parts = (
        part("frame", fixed=True, O=o, R=r, S=s),
        part("crank", mass(0.05, 0.5 * a, 3.0), O=o, A=a),
        part("push", mass(0.1, (a + x) / 2 + 1, 40.0), A=a, X=x),
        part("plate", mass(0.5, (x + y + z) / 3 + 5j, 500.0), X=x, Y=y, Z=z),
        part("right", mass(0.1, (r + y) / 2, 60.0), R=r, Y=y),
        part("left", mass(0.12, (s + z) / 2 + 2j, 90.0), S=s, Z=z),
    )
    fields: dict[str, object] = {
        "parts": parts,
        "pins": (Pin(id="o", at=("frame.O", "crank.O")), Pin(id="a", at=("crank.A", "push.A")),
                 Pin(id="x", at=("push.X", "plate.X")), Pin(id="y", at=("plate.Y", "right.Y")),
                 Pin(id="z", at=("plate.Z", "left.Z")), Pin(id="r", at=("right.R", "frame.R")),
                 Pin(id="s", at=("left.S", "frame.S"))),
        "drive": Drive(pin="o", part="crank", rpm=rpm, drawn_deg=math.degrees(0.3)),
    }
    return Sketch(**(fields | more))


#: Mechanisms that every general law of effort is tried on.
MAKES = [four_bar, slider_crank, slotted_lever, geared_pair, locked_shaft, walking_leg,
         swinging_block, plate_on_three]


#: Forces, moments and places (N, k) of a joint's parts.
Loads = dict[str, tuple[np.ndarray, np.ndarray, np.ndarray]]


def unbalanced(turn: Turn, loads: Loads, torque: np.ndarray) -> float:
    """Largest force or moment (per 100 mm) that no part balances, N: Newton's and Euler's
    laws written out part by part. `torque` (N,) N·mm acts on the crank."""
    sketch, speed = turn.sketch, rates(turn)
    omega, alpha = crank_motion(turn)
    g = sketch.gravity.g_m_s2 * cmath.exp(1j * math.radians(sketch.gravity.direction_deg))
    worst = 0.0
    for each in sketch.parts:
        if each.fixed:
            continue
        row, weighs = turn.row(each.id), mass_of(each)
        place = turn.place(each.id, weighs.centre)
        arm = turn.rotation[row] * weighs.centre
        moving = (1j * speed.spin2[row] - speed.spin[row] ** 2) * arm + speed.shift2[row]
        rate = 1j * speed.spin[row] * arm + speed.shift1[row]
        force = weighs.kg * (g - 1e-3 * (moving * omega**2 + rate * alpha))
        moment = -1e-3 * weighs.inertia_kgmm2 * (speed.spin2[row] * omega**2
                                                 + speed.spin[row] * alpha)

        def push(at: np.ndarray, f: np.ndarray, place: np.ndarray = place) -> np.ndarray:
            return ((at - place).conj() * f).imag

        for joint, names in owners(sketch).items():
            for k, name in enumerate(names):
                if name == each.id:
                    f, twist, at = (each[:, k] for each in loads[joint])
                    force, moment = force + f, moment + push(at, f) + twist
        for spring in sketch.springs:
            for one, two in ((spring.a, spring.b), (spring.b, spring.a)):
                if part_of(one) == each.id:
                    a, b = (turn.path(ref) @ np.array([1, 1j]) for ref in (one, two))
                    pull = spring.initial_tension_n + spring.rate_n_per_mm * (
                        abs(b - a) - spring.free_length_mm)
                    with np.errstate(invalid="ignore"):  # steps not reached
                        f = pull * (b - a) / abs(b - a)
                    force, moment = force + f, moment + push(a, f)
        for coil in sketch.torsion_springs:
            wound = np.degrees(turn.angle_rad[:, turn.row(coil.b)]
                               - turn.angle_rad[:, turn.row(coil.a)]) - coil.free_deg
            for name, sign in ((coil.b, -1.0), (coil.a, 1.0)):
                if name == each.id:
                    moment = moment + sign * coil.rate_nmm_per_deg * wound
        for load in sketch.forces:
            if part_of(load.at) == each.id:
                turned = turn.rotation[row] if load.turns_with_part else 1.0
                f = turned * complex(load.fx_n, load.fy_n)
                at = turn.path(load.at) @ np.array([1, 1j])
                force, moment = force + f, moment + push(at, f)
        for twist in sketch.torques:
            if twist.part == each.id:
                moment = moment + twist.torque_nmm
        if sketch.drive.part == each.id:
            moment = moment + torque
        worst = max(worst, np.nanmax(np.abs(force)), np.nanmax(np.abs(moment)) / 100)
    return worst
