"""Locks of mechanisms grown at random: sound whatever comes, and the same however the sketch
is turned."""

from __future__ import annotations

import cmath
import math
from collections.abc import Iterator

import numpy as np
import pytest
from grown import layered, moved
from msgspec.structs import replace

from core.effort import effort, hand
from core.findings.locks import lock_findings
from core.making.locks import Locks, locks_of
from core.model import LOCK_KINDS, Gravity, Lock, Sketch, edits, part_of
from core.motion import solve_turn


def sketches(count: int = 12) -> Iterator[tuple[int, Sketch]]:
    """Grown mechanisms in up to five layers; a part is locked to a fresh one on its pin."""
    for seed in range(count):
        rng = np.random.default_rng(2000 + seed)
        sketch = layered(rng, seed)
        pin = sketch.pins[int(rng.integers(len(sketch.pins)))]
        part = sketch.part(part_of(pin.at[-1]))
        if not part.fixed:
            sketch = edits.add(sketch, "locks", Lock(
                id="fast here", parts=(part.id,), pin=pin.id,
                kind=str(rng.choice(LOCK_KINDS))))
        yield seed, sketch


def worked(sketch: Sketch) -> Locks | None:
    turn = solve_turn(sketch, steps=90)
    strain = effort(turn)
    return locks_of(turn, strain, hand(turn, strain))


@pytest.mark.parametrize(("seed", "sketch"), list(sketches()), ids=str)
def test_whatever_comes_every_hold_has_sound_numbers_and_words(seed: int,
                                                               sketch: Sketch) -> None:
    locks = worked(sketch)
    if locks is None:
        return
    assert len(locks.checks) == len(locks.holds)
    for check in locks.checks:
        assert 0.0 <= check.bears.low <= check.bears.high < math.inf
        low, high = check.through.use_nmm
        assert 0.0 <= low <= high < math.inf
        assert check.through.jam_nmm is None or 0.0 < check.through.jam_nmm < math.inf
    for found in lock_findings(locks):
        assert found.text.endswith(".")
        assert found.mend.endswith(".")
        assert "nan" not in found.text
        for mend in found.edits:
            after = worked(mend.apply(sketch))
            assert after is not None
            assert not any(one.code == found.code and set(one.parts) & set(found.parts)
                           for one in lock_findings(after, mends=False))


@pytest.mark.parametrize("seed", [0, 3, 5])
def test_turning_the_whole_sketch_changes_nothing(seed: int) -> None:
    sketch = dict(sketches())[seed]
    angle = 0.7
    turned = moved(sketch, cmath.rect(1.0, angle), complex(30, -20))
    turned = replace(turned, parts=tuple(
        replace(part, layer=old.layer, thickness_mm=old.thickness_mm)
        for part, old in zip(turned.parts, sketch.parts, strict=True)), gravity=Gravity(
        g_m_s2=sketch.gravity.g_m_s2,
        direction_deg=sketch.gravity.direction_deg + math.degrees(angle)))
    one, other = worked(sketch), worked(turned)
    assert (one is None) == (other is None)
    if one is None or other is None:
        return
    for a, b in zip(one.checks, other.checks, strict=True):
        assert a.through.use_nmm == pytest.approx(b.through.use_nmm, rel=1e-5, abs=1e-6)
        assert a.through.jam_nmm == pytest.approx(b.through.jam_nmm, rel=1e-6)
