"""Rods: twisted, bent, sheared, wound up."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from core.making.rods import RodLoad
from core.making.strength.beam import Beam
from core.making.strength.case import USUAL_PLAY, Case
from core.making.strength.check import Check, CheckKind, worst
from core.materials import Figure, safety_number
from core.motion.turn import Floats

_BOOK = "textbook, round shafts"
#: Twist between the hand and the last part that is felt as softness; practice.
_SOFT_DEG = Figure(1.0, 2.0, "common practice, no source: a degree or two of twist is felt",
                   "practice")
#: Torque along a rod below which it counts as none, N·mm.
_NO_TORQUE = 0.05


@dataclass(frozen=True)
class Strained:
    """What a rod bears over the turn: `moment` and `shear` (N, J) at the sections of its
    beam, `torque` (N, J) the greater of both sides, all without sign; `force` (N, K) what
    each station bears, `couple` (N,) what a single support bears besides, N·mm."""

    load: RodLoad
    beam: Beam
    moment: Floats
    shear: Floats
    torque: Floats
    force: Floats
    couple: Floats


def strained(load: RodLoad, of: Beam) -> Strained:
    """A rod's loads as bending moments and so on; the push of the hand is taken the worst
    way, along whatever else bends the rod."""
    force, push = load.force_n, load.push_n[:, None]
    passed = np.abs(load.passed_nmm)
    return Strained(
        load, of,
        np.abs(force @ of.moment) + push * np.abs(of.hand_moment),
        np.abs(force @ of.shear) + push * np.abs(of.hand_shear),
        np.maximum(passed[:, of.below], passed[:, of.above]),
        np.abs(force @ of.share) + push * np.abs(of.hand_share),
        np.abs(force @ of.couple) + load.push_n * abs(of.hand_couple))


def rod_checks(case: Case, rod: Strained, jam_nmm: float | None) -> Iterator[Check]:
    """The checks of one rod; `jam_nmm` is the torque at its crank when something blocks."""
    of = rod.load.rod
    d, name = of.diameter_mm, of.material
    material, pull, shear = (case.material(name), case.bears(name, "bending"),
                             case.bears(name, "shear"))
    per_moment, per_torque = 32.0 / (math.pi * d**3), 16.0 / (math.pi * d**3)
    sigma, tau = per_moment * rod.moment, per_torque * rod.torque
    twisted = rod.torque.max(axis=1, initial=0.0)
    if np.nanmax(twisted, initial=0.0) > _NO_TORQUE:
        yield from _told(case, rod, "rod-torsion", per_torque * twisted, shear, 3.0,
                         "shear stress = 16 · torque / (π · diameter³)")
        yield from _wound(case, rod)
    both = np.sqrt(sigma**2 + 3.0 * tau**2).max(axis=1)
    yield from _told(case, rod, "rod-bending", both, pull, 3.0,
                     "√(bending² + 3 · shear²), bending = 32 · moment / (π · diameter³),"
                     f" shear = 16 · torque / (π · diameter³). {of.assumed}")
    yield from _told(case, rod, "rod-shear",
                     4.0 / (math.pi * d**2) * rod.shear.max(axis=1), shear, 2.0,
                     "greatest cross force along the rod / (π · diameter² / 4); the rod is"
                     f" sheared on {'both sides' if len(of.supports) > 1 else 'one side'}")
    yield from _askew(case, rod)
    if jam_nmm is not None and of.grip_mm is not None and jam_nmm > 0.0:
        safe = safety_number(material.stuff)
        yield Check("rod-jam", _name(rod), of.parts, of.joints,
                    per_torque * jam_nmm, (shear.low, shear.high), (safe.low, safe.high), "MPa",
                    case.crank_rad(int(np.nanargmax(np.nan_to_num(case.torque_nmm)))),
                    "16 · torque / (π · diameter³), the hand at its limit while a part is"
                    " blocked", f"{_BOOK}; {shear.source}; {safe.source}", shear.trust,
                    size_mm=d, power=3.0)


def _name(rod: Strained) -> str:
    return f"Rod of {rod.load.rod.id}"


def _told(case: Case, rod: Strained, kind: CheckKind, stress: Floats, gives: Figure,
          power: float, formula: str) -> Iterator[Check]:
    step, value, low, high = worst(stress, gives)
    if step < 0:
        return
    safe = safety_number(case.material(rod.load.rod.material).stuff)
    yield Check(kind, _name(rod), rod.load.rod.parts, rod.load.rod.joints, value, (low, high),
                (safe.low, safe.high), "MPa", case.crank_rad(step), formula,
                f"{_BOOK}; {gives.source}; {safe.source}", gives.trust,
                size_mm=rod.load.rod.diameter_mm, power=power)


def _wound(case: Case, rod: Strained) -> Iterator[Check]:
    """How far the rod winds up between its ends: Σ torque · length / (G · polar moment)."""
    load, d = rod.load, rod.load.rod.diameter_mm
    middles = [station.middle_mm for station in load.rod.stations]
    grip = load.rod.grip_mm
    first = middles[0] if grip is None else min(grip, middles[0])
    last = middles[-1] if grip is None else max(grip, middles[-1])
    lengths = np.diff([first, *middles, last])
    rigid = case.bears(load.rod.material, "shear-modulus")
    polar = math.pi * d**4 / 32.0
    twist = np.degrees(np.abs(load.passed_nmm @ lengths) / (rigid.low * polar))
    step, value, low, high = worst(twist, _SOFT_DEG)
    if step >= 0:
        yield Check("rod-twist", _name(rod), load.rod.parts, load.rod.joints, value,
                    (low, high), (1.0, 1.0), "°", case.crank_rad(step),
                    "torque · length / (shear modulus · π · diameter⁴ / 32), summed along"
                    " the rod", f"{_BOOK}; {rigid.source}; {_SOFT_DEG.source}", rigid.trust,
                    size_mm=d, power=4.0, soft=True)


def _askew(case: Case, rod: Strained) -> Iterator[Check]:
    """Where the bent rod stands most askew in a bore that turns on it, against the tilt for
    which the bore has play."""
    of = rod.load.rod
    stiff = case.bears(of.material, "elastic")
    inertia = math.pi * of.diameter_mm**4 / 64.0
    play, known = case.play(of)
    found = []
    for k, station in enumerate(of.stations):
        if not station.held and station.length_mm > 0.0:
            slope = np.degrees(np.abs(rod.load.force_n @ rod.beam.slope[:, k])
                               / (stiff.low * inertia))
            free = math.degrees(play / station.length_mm)
            step, value, _, _ = worst(slope, free)
            if step >= 0:
                found.append((value / max(free, 1e-12), step, value, free, station.part))
    if found:
        _, step, value, free, part = max(found)
        yield Check("rod-slope", f"Rod of {of.id} in {part}", of.parts, of.joints, value,
                    (free, free), (1.0, 1.0), "°", case.crank_rad(step),
                    "moment / (modulus · π · diameter⁴ / 64), summed along the rod, against"
                    " play / length of the bore: beyond that the bore rubs at its edges",
                    f"{_BOOK}; {stiff.source}; {'' if known else USUAL_PLAY}".rstrip("; "),
                    stiff.trust if known else "practice", size_mm=of.diameter_mm, power=4.0,
                    soft=True)
