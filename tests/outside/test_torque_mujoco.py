"""Positions, torque and pin reactions against MuJoCo.

Source: MuJoCo, a general-purpose multibody library (Apache-2.0, E. Todorov, T. Erez, Y.
Tassa, IROS 2012), run here: calculated, no printed figures. Masses and sizes are invented.

The mechanism is built there as an open tree of hinges (and sliders), in metres. Poses are
set from our turn, speeds and accelerations from our rates; MuJoCo's own inverse dynamics
gives the torque every joint of the open tree would need. Closing the loops by forces at
the cut pins, with the Jacobians MuJoCo computes there, leaves one unknown more: the crank's
torque. Nothing of our own mechanics enters.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import mujoco
import numpy as np
import pytest
from numpy.typing import NDArray
from weighted import four_bar, geared_pair, slider_crank, walking_leg

from core.effort import effort, mass_of
from core.model import Sketch, split_ref
from core.motion import crank_motion, rates, solve_turn

MM = 1e-3


@dataclass(frozen=True)
class Tree:
    """How the loops are opened. `hang`: part -> (parent, own point of the pin, or a
    slide's own point with "slide"). `cuts`: pairs of point references that coincide.
    `gears`: (part a, part b, ratio) with ω_a + ratio·ω_b = 0."""

    hang: dict[str, tuple[str, str]]
    cuts: tuple[tuple[str, str], ...]
    slides: dict[str, complex] = field(default_factory=dict)
    gears: tuple[tuple[str, str, float], ...] = ()


TREES = {
    four_bar: Tree({"crank": ("frame", "O"), "coupler": ("crank", "A"),
                    "rocker": ("frame", "Q")}, (("coupler.B", "rocker.B"),)),
    slider_crank: Tree({"crank": ("frame", "O"), "rod": ("crank", "A"),
                        "block": ("frame", "B")}, (("rod.B", "block.B"),),
                       slides={"block": 1 + 0j}),
    geared_pair: Tree({"left": ("frame", "A"), "right": ("frame", "B"),
                       "rod": ("left", "U"), "bow": ("right", "V")},
                      (("rod.P", "bow.P"),), gears=(("left", "right", 1.0),)),
    walking_leg: Tree({"crank": ("frame", "O"), "j": ("crank", "M"), "k": ("crank", "M"),
                       "b": ("frame", "B"), "d": ("frame", "B"), "c": ("frame", "B"),
                       "e": ("b", "C"), "f": ("d", "D"), "g": ("c", "E"), "h": ("f", "F"),
                       "i": ("c", "E")},
                      (("j.C", "b.C"), ("e.D", "d.D"), ("k.E", "c.E"), ("g.F", "f.F"),
                       ("h.G", "i.G"))),
}


def drawn(sketch: Sketch, ref: str) -> complex:
    point = sketch.point(ref)
    return complex(point.x, point.y)


def vector(z: complex) -> str:
    return f"{z.real * MM:.17g} {z.imag * MM:.17g} 0"


def build(sketch: Sketch, tree: Tree) -> mujoco.MjModel:
    """The open tree in the drawn pose, every body's frame at its joint."""
    children: dict[str, list[str]] = {}
    for name, (parent, _) in tree.hang.items():
        children.setdefault(parent, []).append(name)

    def body(name: str, origin: complex) -> str:
        at = drawn(sketch, f"{name}.{tree.hang[name][1]}")
        mass = mass_of(sketch.part(name))
        turn = mass.inertia_kgmm2 * MM**2
        if name in tree.slides:
            axis = vector(tree.slides[name] / MM)
            joint = f'<joint name="{name}" type="slide" axis="{axis}"/>'
        else:
            joint = f'<joint name="{name}" type="hinge" axis="0 0 1"/>'
        inner = "".join(body(child, at) for child in children.get(name, []))
        return (f'<body name="{name}" pos="{vector(at - origin)}">{joint}'
                f'<inertial pos="{vector(mass.centre - at)}" mass="{mass.kg:.17g}"'
                f' diaginertia="{turn:.17g} {turn:.17g} {turn:.17g}"/>{inner}</body>')

    world = "".join(body(child, 0j) for child in children["frame"])
    g = sketch.gravity
    down = g.g_m_s2 * np.exp(1j * math.radians(g.direction_deg))
    springs, sites = "", ""
    for spring in sketch.springs:
        # Pull = tension + rate·(length − free): a spring with a shorter free length.
        free = (spring.free_length_mm - spring.initial_tension_n / spring.rate_n_per_mm) * MM
        ends = []
        for ref in (spring.a, spring.b):
            ends.append(f'<site site="{ref}"/>')
        springs += (f'<spatial stiffness="{spring.rate_n_per_mm / MM:.17g}"'
                    f' springlength="{free:.17g}">{"".join(ends)}</spatial>')
        for ref in (spring.a, spring.b):
            part, _ = split_ref(ref)
            if part == "frame":
                sites += f'<site name="{ref}" pos="{vector(drawn(sketch, ref))}"/>'
            else:
                own = drawn(sketch, f"{part}.{tree.hang[part][1]}")
                at = vector(drawn(sketch, ref) - own)
                world = world.replace(f'<joint name="{part}"',
                                      f'<site name="{ref}" pos="{at}"/><joint name="{part}"')
    tendon = f"<tendon>{springs}</tendon>" if springs else ""
    return mujoco.MjModel.from_xml_string(
        f'<mujoco><compiler angle="radian"/><option gravity="{down.real:.17g}'
        f' {down.imag:.17g} 0"><flag constraint="disable"/></option>'
        f"<worldbody>{sites}{world}</worldbody>{tendon}</mujoco>")


def jacobian(model: mujoco.MjModel, data: mujoco.MjData, part: str,
             at: complex) -> NDArray[np.float64]:
    """(2, nv) velocity of a place of a body by the joint speeds; frame: none."""
    full = np.zeros((3, model.nv))
    if part != "frame":
        place = np.array([at.real * MM, at.imag * MM, 0.0])
        mujoco.mj_jac(model, data, full, None, place, model.body(part).id)
    return full[:2]


@pytest.mark.parametrize("make", TREES, ids=lambda make: make.__name__)
@pytest.mark.parametrize("rpm", [120.0, -75.0])
def test_torque_and_cut_pin_reactions_agree_with_mujoco(make: object, rpm: float) -> None:
    sketch, tree = make(rpm=rpm), TREES[make]
    turn = solve_turn(sketch, steps=36)
    speed = rates(turn)
    found = effort(turn, speed)
    omega, alpha = crank_motion(turn)
    model = build(sketch, tree)
    data = mujoco.MjData(model)
    names = list(tree.hang)
    ours, theirs, force_ours, force_theirs = [], [], [], []
    for step in range(turn.crank_rad.size):
        for name in names:
            parent = tree.hang[name][0]
            at, above = turn.row(name), turn.row(parent)
            if name in tree.slides:
                axis = tree.slides[name].conjugate() * MM
                state = [(axis * z).real for z in (
                    turn.shift[at, step], speed.shift1[at, step], speed.shift2[at, step])]
            else:
                state = [turn.angle_rad[step, at] - turn.angle_rad[step, above],
                         speed.spin[at, step] - speed.spin[above, step],
                         speed.spin2[at, step] - speed.spin2[above, step]]
            data.joint(name).qpos = state[0]
            data.joint(name).qvel = state[1] * omega[step]
            data.joint(name).qacc = state[2] * omega[step] ** 2 + state[1] * alpha[step]
        mujoco.mj_inverse(model, data)
        needed = data.qfrc_inverse.copy()
        for name in names:  # the body's frame there is at its hinge, or rides on its slide
            theirs_at = data.body(name).xpos[:2]
            ours_at = turn.path(f"{name}.{tree.hang[name][1]}")[step] * MM
            assert np.abs(theirs_at - ours_at).max() < 1e-12
        columns = [np.eye(model.nv)[model.joint("crank" if "crank" in names else "left").id]]
        for one, two in tree.cuts:
            places = [complex(*turn.path(ref)[step]) for ref in (one, two)]
            assert abs(places[0] - places[1]) < 1e-8
            parts = [split_ref(ref)[0] for ref in (one, two)]
            rows = [jacobian(model, data, part, place)
                    for part, place in zip(parts, places, strict=True)]
            columns += list(rows[0] - rows[1])
        for a, b, ratio in tree.gears:
            row = np.zeros(model.nv)
            row[model.joint(a).id], row[model.joint(b).id] = 1.0, ratio
            columns.append(row)
        matrix = np.array(columns).T
        assert matrix.shape == (model.nv, model.nv)
        solved = np.linalg.solve(matrix, needed)
        ours.append(found.torque_nmm[step] * math.copysign(1.0, rpm))
        theirs.append(solved[0] / MM)
        for k, (one, _) in enumerate(tree.cuts):
            pin = next(p for p in sketch.pins if one in p.at)
            place = pin.at.index(one)
            force_theirs.append(complex(solved[1 + 2 * k], solved[2 + 2 * k]))
            force_ours.append(found.reactions[pin.id][step, place])
    scale = np.abs(theirs).max()
    assert scale > 1.0
    assert np.abs(np.array(ours) - np.array(theirs)).max() <= 1e-6 * scale
    scale = np.abs(force_theirs).max()
    assert np.abs(np.array(force_ours) - np.array(force_theirs)).max() <= 1e-6 * scale
