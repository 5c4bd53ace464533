"""Teeth of gears bent by the mesh, after Lewis."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from core.making.strength.case import Case
from core.making.strength.check import Check, worst
from core.materials import Figures, breaking_over, safety_number
from core.model import Mesh, part_of
from core.motion.turn import Floats

#: Lewis form factor of full-depth teeth at 20°, by number of teeth: J. E. Shigley,
#: *Mechanical Engineering Design*, table 14-2, from memory; below 12 teeth extrapolated.
_TEETH = np.array([8, 10, 12, 13, 14, 15, 16, 17, 18, 19, 20, 21, 22, 24, 26, 28, 30, 34, 38,
                   43, 50, 60, 75, 100, 150, 300, 400, 1e9])
_FORM = np.array([.160, .201, .245, .261, .277, .290, .296, .303, .309, .314, .322, .328, .331,
                  .337, .346, .353, .359, .371, .384, .397, .409, .422, .435, .447, .460, .472,
                  .480, .485])
_LEWIS = "Lewis 1892, form factor as in Shigley's table 14-2 for 20° teeth, from memory"
_FORMULA = ("tangential force / (width of the thinner wheel · module · form factor), one tooth"
            " bearing all; a wooden tooth is as strong as the weakest way of its grain: an"
            " estimate")
_ANGLES = np.linspace(0.0, np.pi / 2, 7)


def form_factor(teeth: float) -> float:
    """Lewis form factor Y, a plain number, of a 20° full-depth tooth: Shigley's table (from
    memory), by 1/teeth between its rows."""
    return float(np.interp(-1.0 / max(teeth, 1.0), -1.0 / _TEETH, _FORM))


def shifted_factor(teeth: float, shift: float, pressure_angle_deg: float = 20.0) -> float:
    """Form factor of a tooth shifted by so many modules: by its thickness at the reference
    circle, (π/2 + 2 x tan α) to π/2, which is about how the tooth form factor of strength
    standards goes (20 teeth: a quarter stouter for x = 0.5; from memory); thinner teeth by
    the square, as a beam, to be on the safe side."""
    stout = 1.0 + 4.0 * shift * np.tan(np.radians(pressure_angle_deg)) / np.pi
    return form_factor(teeth) * float(stout if stout > 1.0 else max(stout, 0.1) ** 2)


def tooth_checks(case: Case) -> Iterator[Check]:
    """Each gear pair's weaker wheel, and the steps of the handle."""
    parts = {part.id for part in case.sketch.parts}
    for mesh in case.sketch.meshes:
        if {part_of(mesh.a), part_of(mesh.b)} <= parts:
            yield from _mesh(case, mesh)
    yield from _steps(case)


def _mesh(case: Case, mesh: Mesh) -> Iterator[Check]:
    sketch = case.sketch
    apart = abs(sketch.place(mesh.a) - sketch.place(mesh.b))
    radii = mesh.pitch_radii(apart)
    wheels = [case.part(part_of(ref)) for ref in (mesh.a, mesh.b)]
    face = min(wheel.thickness_mm for wheel in wheels)
    if not min(*radii, face) > 0.0:
        return
    module = 2.0 * radii[0] / mesh.teeth_a
    push = np.abs(case.joint(mesh.id)[1][:, 0]) / radii[0]
    found = [_one(case, push, face, module, form_factor(teeth), wheel.material)
             for teeth, wheel in zip((mesh.teeth_a, mesh.teeth_b), wheels, strict=True)]
    step, value, ends, gives, safe = max(found, key=lambda one: one[1] / max(one[2][0], 1e-9))
    k = next(k for k, one in enumerate(found) if one[1] == value)
    if step >= 0:
        names = (wheels[k].id, wheels[1 - k].id)
        yield Check("tooth", f"Teeth of {names[0]}", names, (mesh.id,), value, ends, safe,
                    "MPa", case.crank_rad(step), _FORMULA, f"{_LEWIS}; {gives.source}",
                    "practice" if gives.trust == "practice" else "from memory", size_mm=face)


def _one(case: Case, push: Floats, face: float, module: float, form: float,
         material_id: str) -> tuple[int, float, tuple[float, float], Figures,
                                    tuple[float, float]]:
    material = case.material(material_id)
    every = breaking_over(material, "bending", face, _ANGLES)
    weakest = Figures(every.low.min(), every.high.min(), every.source, every.trust)
    stress = push / (face * module * form)
    step, value, low, high = worst(stress, weakest)
    safe = safety_number(material.stuff)
    return step, value, (low, high), weakest, (safe.low, safe.high)


def _steps(case: Case) -> Iterator[Check]:
    """Gears between the handle and the crank; from the crank outwards the torque falls by
    each ratio. Losses are left out: the teeth nearer the hand bear a little more."""
    torque = np.abs(case.torque_nmm)
    steps = case.sketch.handle.steps
    for number in range(len(steps), 0, -1):
        step = steps[number - 1]
        torque_here, torque = torque, torque / (step.ratio * step.efficiency[0])
        if step.kind != "gears" or step.module_mm is None:
            continue
        push = torque_here / (0.5 * step.driven * step.module_mm)
        form = min(shifted_factor(teeth, shift, step.pressure_angle_deg) for teeth, shift in
                   zip((step.driver, step.driven), step.shift, strict=True))
        at, value, ends, gives, safe = _one(case, push, step.face_mm, step.module_mm, form,
                                            step.material)
        if at >= 0:
            drive = case.sketch.drive
            yield Check("tooth", f"Teeth of step {number} of the handle",
                        (drive.part,) if drive else (), (drive.pin,) if drive else (), value,
                        ends, safe, "MPa", case.crank_rad(at), _FORMULA,
                        f"{_LEWIS}; {gives.source}",
                        "practice" if gives.trust == "practice" else "from memory",
                        size_mm=step.face_mm)
