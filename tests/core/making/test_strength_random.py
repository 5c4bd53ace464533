"""Strength of mechanisms grown at random: sound whatever comes, and the same however the
sketch is turned, stacked or named."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
import pytest
from grown import layered, moved
from msgspec.structs import replace

from core.effort import effort
from core.making.strength import Check, strength
from core.model import Force, Gravity, Sketch
from core.motion import solve_turn


def sketches(count: int = 14) -> Iterator[tuple[int, Sketch]]:
    """Grown mechanisms in up to five layers, a force on one of their parts."""
    for seed in range(count):
        rng = np.random.default_rng(1000 + seed)
        sketch = layered(rng, seed)
        last = sketch.parts[-1]
        load = Force(id="pull on it", at=f"{last.id}.{last.points[0].id}",
                     fx_n=float(rng.normal(0, 5)), fy_n=float(rng.normal(0, 5)),
                     turns_with_part=True)
        yield seed, replace(sketch, forces=(load,))


def checks(sketch: Sketch, friction: bool = False) -> dict[tuple[str, str], Check]:
    turn = solve_turn(sketch, steps=90)
    found = strength(turn, effort(turn), friction=friction).checks
    return {(one.kind, one.thing): one for one in found}


def test_every_check_is_a_sound_number_at_a_place_of_the_turn() -> None:
    seen = set()
    for seed, sketch in sketches(30):
        for (kind, thing), one in checks(sketch, friction=True).items():
            seen.add(kind)
            assert math.isfinite(one.value), (seed, kind, thing)
            assert one.value > 0.0, (seed, kind, thing)
            assert 0.0 < one.gives[0] <= one.gives[1], (seed, kind, thing)
            assert math.isfinite(one.crank_rad), (seed, kind, thing)
            assert one.source, (seed, kind, thing)
            assert one.formula, (seed, kind, thing)
            assert one.text.startswith(thing)
    assert {"rod-bending", "rod-shear", "bearing", "tear-out", "link-stress", "rod-torsion",
            "link-buckling", "wag", "tooth"} <= seen


def test_a_sketch_that_is_turned_about_bears_the_same() -> None:
    for seed, sketch in sketches():
        sketch = replace(sketch, gravity=Gravity(g_m_s2=0.0))
        grained = replace(sketch, parts=tuple(
            replace(part, grain_deg=20.0) for part in sketch.parts))
        way = complex(math.cos(0.7), math.sin(0.7))
        turned = moved(grained, way, 30 - 50j)
        turned = replace(turned, forces=tuple(
            replace(one, fx_n=push.real, fy_n=push.imag) for one in sketch.forces
            for push in [way * complex(one.fx_n, one.fy_n)]), parts=tuple(
            replace(part, grain_deg=20.0 + math.degrees(0.7), layer=old.layer,
                    thickness_mm=old.thickness_mm)
            for part, old in zip(turned.parts, grained.parts, strict=True)))
        plain, after = checks(grained), checks(turned)
        assert plain.keys() == after.keys()
        for key, one in plain.items():
            close = 0.05 if key[0] == "tear-out" else 1e-3  # the edge is looked for along rays
            assert after[key].value == pytest.approx(one.value, rel=close), (seed, key)
            assert after[key].gives == pytest.approx(one.gives, rel=close), (seed, key)


def test_a_stack_seen_from_behind_bears_the_same() -> None:
    """Parts lie on the layer below, so thicknesses are made even for this."""
    for seed, sketch in sketches():
        flat = replace(sketch, parts=tuple(
            replace(part, thickness_mm=6.0) for part in sketch.parts))
        behind = replace(flat, parts=tuple(
            replace(part, layer=9 - sketch.layer_of(part.id)) for part in flat.parts))
        plain, after = checks(flat), checks(behind)
        assert plain.keys() == after.keys()
        for key, one in plain.items():
            if sketch.drive.pin in one.joints or sketch.drive.pin in key[1]:
                continue  # the hand stays in front where the frame does not say
            assert after[key].value == pytest.approx(one.value, rel=1e-6), (seed, key)


def test_twice_the_load_is_twice_the_stress_without_weight() -> None:
    for seed, sketch in sketches():
        still = replace(sketch, gravity=Gravity(g_m_s2=0.0),
                        drive=replace(sketch.drive, rpm=1e-9))
        twice = replace(still, forces=tuple(
            replace(force, fx_n=2 * force.fx_n, fy_n=2 * force.fy_n)
            for force in still.forces), springs=(), torsion_springs=(), torques=())
        once = replace(still, springs=(), torsion_springs=(), torques=())
        plain, after = checks(once), checks(twice)
        for key, one in plain.items():
            if not one.soft:
                assert after[key].value == pytest.approx(2 * one.value, rel=1e-6), (seed, key)
