"""Torque with friction against MuJoCo.

Source: MuJoCo, a general-purpose multibody library (Apache-2.0), run here: calculated, no
printed figures. It knows no friction that grows with the load of a hinge; so the moments
μ r |F| are put on its hinges from outside, with |F| the force that MuJoCo itself finds in each
hinge, and the two are repeated until neither changes. The tree is opened and closed as in
``test_torque_mujoco``; nothing of our reactions or of our friction enters.
"""

from __future__ import annotations

import math

import mujoco
import numpy as np
import pytest
from msgspec.structs import replace
from test_torque_mujoco import MM, TREES, build, jacobian
from weighted import four_bar, geared_pair

from core.effort import friction_band
from core.model import Sketch, split_ref
from core.motion import Turn, rates, solve_turn

RADIUS = 3.0 * MM


class Machine:
    """MuJoCo's tree of a sketch at one step of the turn, cranked steadily."""

    def __init__(self, sketch: Sketch, make: object) -> None:
        self.sketch, self.tree = sketch, TREES[make]
        self.model = build(sketch, self.tree)
        self.data = mujoco.MjData(self.model)

    def place(self, turn: Turn, speed: object, step: int, omega: float) -> None:
        for name, (parent, _) in self.tree.hang.items():
            at, above = turn.row(name), turn.row(parent)
            joint = self.data.joint(name)
            joint.qpos = turn.angle_rad[step, at] - turn.angle_rad[step, above]
            joint.qvel = (speed.spin[at, step] - speed.spin[above, step]) * omega
            joint.qacc = (speed.spin2[at, step] - speed.spin2[above, step]) * omega**2
        self.acc = self.data.qacc.copy()
        mujoco.mj_inverse(self.model, self.data)
        self.needed = self.data.qfrc_inverse.copy()

    def torque(self, turn: Turn, step: int, drive: str, mu: float, sense: float) -> float:
        """N·mm at the crank, counter-clockwise, with the coefficient `mu` everywhere."""
        names, model, data = list(self.tree.hang), self.model, self.data
        columns = [np.eye(model.nv)[model.joint(drive).id]]
        cuts = []
        for one, two in self.tree.cuts:
            place = complex(*turn.path(one)[step])
            parts = [split_ref(ref)[0] for ref in (one, two)]
            rows = [jacobian(model, data, part, place) for part in parts]
            columns += list(rows[0] - rows[1])
            turning = np.sign(sense) * self.turning(*parts)
            cuts.append((parts, place, turning))
        for a, b, ratio in self.tree.gears:
            row = np.zeros(model.nv)
            row[model.joint(a).id], row[model.joint(b).id] = 1.0, ratio
            columns.append(row)
        matrix = np.array(columns).T
        rub = np.zeros(model.nv)
        for _ in range(60):
            solved = np.linalg.solve(matrix, self.needed - rub)
            forces, cut_forces = self.hinge_forces(solved, cuts)
            fresh = np.zeros(model.nv)
            for name in names:
                dof = model.joint(name).id
                fresh[dof] -= mu * RADIUS * forces[name] * np.sign(
                    sense * data.joint(name).qvel[0])
            for (parts, _, turning), force in zip(cuts, cut_forces, strict=True):
                moment = -mu * RADIUS * abs(force) * turning
                for part, sign in zip(parts, (1.0, -1.0), strict=True):
                    fresh += sign * moment * self.spins(part)
            moved = np.abs(fresh - rub).max()
            rub = fresh
            if moved < 1e-13:
                break
        return float(np.linalg.solve(matrix, self.needed - rub)[0] / MM)

    def turning(self, one: str, two: str) -> float:
        """Sense in which `one` turns against `two` as they move now."""
        return float(np.sign((self.spins(one) - self.spins(two)) @ self.data.qvel))

    def spins(self, part: str) -> np.ndarray:
        """(nv,) turning of a body by the joint speeds."""
        turn = np.zeros((3, self.model.nv))
        if part != "frame":
            mujoco.mj_jacBody(self.model, self.data, None, turn, self.model.body(part).id)
        return turn[2]

    def hinge_forces(
        self, solved: np.ndarray, cuts: list
    ) -> tuple[dict[str, float], list[complex]]:
        """Size of the force, N, in every hinge of the tree, and forces in the cut pins, with
        the loops closed by these."""
        data, model = self.data, self.model
        data.xfrc_applied[:] = 0.0
        cut_forces = [complex(*solved[1 + 2 * k:3 + 2 * k]) for k in range(len(cuts))]
        for (parts, place, _), force in zip(cuts, cut_forces, strict=True):
            for part, sign in zip(parts, (1.0, -1.0), strict=True):
                if part == "frame":
                    continue
                body = model.body(part).id
                arm = place * MM - complex(*data.xipos[body][:2])
                push = sign * force
                data.xfrc_applied[body][:2] += (push.real, push.imag)
                data.xfrc_applied[body][5] += (arm.conjugate() * push).imag
        data.qacc[:] = self.acc
        mujoco.mj_rnePostConstraint(model, data)
        return ({name: float(np.hypot(*data.cfrc_int[model.body(name).id][3:5]))
                 for name in self.tree.hang}, cut_forces)


@pytest.mark.parametrize("backwards", [False, True], ids=["forwards", "backwards"])
@pytest.mark.parametrize("rpm", [100.0, -60.0])
def test_a_four_bars_torque_with_friction_agrees_with_mujoco(
    rpm: float, backwards: bool
) -> None:
    sketch = replace(four_bar(rpm=rpm), friction=(0.1, 0.35))
    turn = solve_turn(sketch, steps=24)
    speed, band = rates(turn), friction_band(turn, backwards=backwards, tolerance=1e-10)
    machine = Machine(sketch, four_bar)
    omega = rpm * 2 * math.pi / 60
    sense = math.copysign(1.0, rpm) * (-1.0 if backwards else 1.0)
    scale, compared = np.abs(band.high_nmm).max(), 0
    for step in range(turn.crank_rad.size):
        machine.place(turn, speed, step, omega)
        pairs = [("coupler", "crank"), ("coupler", "rocker"), ("rocker", "frame")]
        if min(abs((machine.spins(a) - machine.spins(b)) @ machine.data.qvel)
               for a, b in pairs) < 1e-6:
            continue  # a part at rest on its pin: friction may be anything
        for mu, ours in ((0.1, band.low_nmm), (0.35, band.high_nmm)):
            # Signs of turning follow MuJoCo's speeds, which are those of driving on.
            theirs = sense * machine.torque(turn, step, "crank", mu,
                                            -1.0 if backwards else 1.0)
            assert ours[step] == pytest.approx(theirs, abs=1e-6 * scale)
            compared += 1
    assert compared >= 40


def test_geared_wheels_without_squeeze_agree_with_mujoco() -> None:
    """Between wheels MuJoCo has a relation of angles and no teeth, hence neither sideways
    nor parting forces at their centres: compared is a pair without friction there."""
    sketch = replace(geared_pair(rpm=80.0), friction=(0.2, 0.4))
    sketch = replace(sketch, pins=tuple(
        replace(pin, friction=(0.0, 0.0)) if pin.id in "ab" else pin for pin in sketch.pins))
    turn = solve_turn(sketch, steps=24)
    speed, band = rates(turn), friction_band(turn, tolerance=1e-10)
    machine = Machine(sketch, geared_pair)
    plain = Machine.hinge_forces

    def without_wheels(
        self: Machine, solved: np.ndarray, cuts: list
    ) -> tuple[dict[str, float], list[complex]]:
        forces, cut = plain(self, solved, cuts)
        return forces | {"left": 0.0, "right": 0.0}, cut

    machine.hinge_forces = without_wheels.__get__(machine)
    scale, compared = np.abs(band.high_nmm).max(), 0
    for step in range(turn.crank_rad.size):
        machine.place(turn, speed, step, 80.0 * 2 * math.pi / 60)
        rubbing = [("rod", "left"), ("bow", "right"), ("rod", "bow")]
        if min(abs((machine.spins(a) - machine.spins(b)) @ machine.data.qvel)
               for a, b in rubbing) < 1e-6:
            continue
        for mu, ours in ((0.2, band.low_nmm), (0.4, band.high_nmm)):
            theirs = machine.torque(turn, step, "left", mu, 1.0)
            assert ours[step] == pytest.approx(theirs, abs=1e-6 * scale)
            compared += 1
    assert compared >= 40
