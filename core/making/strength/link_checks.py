"""Parts pulled, pressed and bent in their plane, and slender ones that buckle."""

from __future__ import annotations

import cmath
import math
from collections.abc import Iterator
from operator import attrgetter

import numpy as np

from core.effort.frames import cross
from core.effort.masses import mass_of
from core.making.strength.case import Case, Push, remainder
from core.making.strength.check import Check, worst
from core.making.strength.limbs import Cuts, cuts_of
from core.materials import Figure, Kind, safety_number
from core.model import Part
from core.motion.turn import Complexes, Floats
from core.space.grain import grain_of

_BOOK = "textbook, straight bars; wood beside the bore counts, the bore does not"
_BUCKLE = "Euler, and Johnson's parabola for stout ones"


def link_checks(case: Case, part: Part, pushes: list[Push]) -> Iterator[Check]:
    """The checks of one part; its own weight and inertia act at its centre of mass."""
    if len(pushes) < 2 or not part.thickness_mm > 0.0 or not case.sound(part.id):
        return
    centre = mass_of(part, case.sketch.materials).centre
    weight, couple = remainder(pushes, centre)
    anchors = (*(push.anchor for push in pushes), centre)
    cuts = cuts_of(part, anchors, case.bores.get(part.id, ()))
    if cuts is None:
        return
    forces: Complexes = np.stack([*(push.force for push in pushes), weight], axis=1)
    about = np.stack([*(push.moment + cross(push.place, push.force) for push in pushes),
                      couple + cross(np.asarray(centre), weight)], axis=1)
    on_side = forces @ cuts.side.astype(np.complex128)
    pull: Floats = -(on_side * cuts.way.conj()).real
    bent = np.abs(about @ cuts.side - cross(cuts.place, on_side))
    yield from _strained(case, part, cuts, pull, bent)
    yield from _buckled(case, part, cuts, pull)


def _strained(case: Case, part: Part, cuts: Cuts, pull: Floats,
              bent: Floats) -> Iterator[Check]:
    material = case.material(part.material)
    grain = grain_of(part)
    angles = np.angle(cuts.way).round(4)
    figures = [_figures(case, part, angle - grain) for angle in angles.tolist()]
    ends = np.array([[[end(figure) for figure in each] for each in figures]
                     for end in (attrgetter("low"), attrgetter("high"))])
    along, bending = np.abs(pull) / cuts.area, bent / cuts.bend
    used = []
    for end in ends:
        axial = np.where(pull > 0.0, end[:, 0], end[:, 1])
        used.append(along / axial + bending / end[:, 2])
    share = np.where(np.isfinite(used[0]), used[0], -np.inf)
    step, j = np.unravel_index(int(np.argmax(share)), share.shape)
    stress = float(along[step, j] + bending[step, j])
    if not share[step, j] > 0.0:
        return
    safe = safety_number(material.stuff)
    mostly = int(np.argmax([along[step, j] if pull[step, j] > 0 else 0.0,
                            along[step, j] if pull[step, j] <= 0 else 0.0,
                            bending[step, j]]))
    figure = figures[j][mostly]
    yield Check(
        "neck" if cuts.short[j] and material.stuff == "wood" else "link-stress", part.id,
        (part.id,), (), stress,
        (stress / float(used[0][step, j]), stress / float(used[1][step, j])),
        (safe.low, safe.high), "MPa", case.crank_rad(int(step)),
        "force / net section + moment / net section modulus, each against its strength at the"
        " angle of the limb to the grain", f"{_BOOK}; {figure.source}; {safe.source}",
        figure.trust, power=2.0 if mostly == 2 else 1.0,
        # A wider bar loses a smaller share to the bore: bending gains more than the square.
        size_mm=float((cuts.width if mostly == 2 else cuts.wood)[j]))


def _figures(case: Case, part: Part, angle_rad: float) -> list[Figure]:
    """What a limb bears in tension, compression and bending, at its angle to the grain."""
    kinds: tuple[Kind, ...] = ("tension", "compression", "bending")
    return [case.bears(part.material, kind, part.thickness_mm, angle_rad) for kind in kinds]


def _buckled(case: Case, part: Part, cuts: Cuts, pull: Floats) -> Iterator[Check]:
    """Pinned at both ends, the load central, the thinner way out."""
    material, grain = case.material(part.material), grain_of(part)
    found = []
    for limb in dict.fromkeys(cuts.limb.tolist()):
        j = int(np.flatnonzero(cuts.limb == limb)[0])
        along = np.flatnonzero((cuts.limb == limb) & (cuts.way == cuts.way[j]))  # no necks
        angle = cmath.phase(complex(cuts.way[j])) - grain
        width, length, thick = float(cuts.whole[j]), float(cuts.length[j]), part.thickness_mm
        thin = min(width, thick)
        kind: Kind = "elastic-flat" if thick <= width else "elastic"
        stiff = case.bears(part.material, kind, thick, angle)
        crush = case.bears(part.material, "compression", thick, angle)
        ends = [_critical(length / (thin / math.sqrt(12.0)), e, c) * width * thick
                for e, c in ((stiff.low, crush.low), (stiff.high, crush.high))]
        gives = Figure(ends[0], ends[1], f"{stiff.source}; {crush.source}", stiff.trust)
        # Where most presses on it: by its own weight one end may be pulled, the other not.
        step, value, low, high = worst(np.max(-pull[:, along], axis=1), gives)
        if step >= 0:
            found.append((value / low, step, value, (low, high), gives, thin))
    if not found:
        return
    _, step, value, ends_n, gives, thin = max(found, key=lambda one: one[0])
    safe = safety_number(material.stuff)
    yield Check("link-buckling", part.id, (part.id,), (), value, ends_n,
                (safe.low, safe.high), "N", case.crank_rad(step),
                "π² · modulus · second moment / length² of a long strut, pinned at both ends;"
                " strength · (1 − strength · slenderness² / (4 π² modulus)) of a stout one",
                f"{_BUCKLE}; {gives.source}; {safe.source}", gives.trust, size_mm=thin,
                power=3.0)


def _critical(slender: float, elastic: float, crushing: float) -> float:
    """Stress at which a strut of a slenderness (length / radius of gyration) fails, MPa."""
    turning = math.sqrt(2.0 * math.pi**2 * elastic / crushing)
    if slender >= turning:
        return math.pi**2 * elastic / slender**2
    return crushing * (1.0 - crushing * slender**2 / (4.0 * math.pi**2 * elastic))

