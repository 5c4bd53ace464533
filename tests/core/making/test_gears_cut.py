"""What a bit can cut, and the smallest pair that can be made: held against gears laid over
each other while they turn, and against trying every pair."""

from __future__ import annotations

import math

import numpy as np
import pytest
from shapely import Polygon, affinity

from core.errors import SketchError
from core.making.gear_cutting import cut_roots_mm, entry_bit_mm, fillet_bit_mm, flank_bit_mm
from core.making.gear_search import FEWEST_TEETH, smallest_pair, smallest_pairs
from core.making.gears import MODULES, Gear, GearPair


@pytest.mark.parametrize(("bit", "module"), [(1.5875, 2.09), (3.175, 4.18), (6.35, 8.36)])
def test_module_from_which_a_bit_leaves_the_standard_fillet(bit: float, module: float) -> None:
    """Worked out from ISO 53's 0.38 m."""
    assert bit <= fillet_bit_mm(module + 0.005)
    assert bit > fillet_bit_mm(module - 0.005)


@pytest.mark.parametrize(("teeth", "widest"), [
    (12, 1.31), (16, 1.25), (20, 1.20), (24, 1.14), (40, 0.92)])
def test_widest_bit_that_gets_down_to_the_base_circle(teeth: int, widest: float) -> None:
    """Worked out; a rack's space is 0.66 modules wide at its root."""
    assert entry_bit_mm(Gear(teeth, 1.0)) == pytest.approx(widest, abs=0.006)
    assert entry_bit_mm(Gear(4000, 1.0)) == pytest.approx(0.66, abs=0.005)


@pytest.mark.parametrize("teeth", [9, 17, 40])
def test_a_bit_that_touches_both_flanks_at_a_radius_touches_nothing_else(teeth: int) -> None:
    gear = Gear(teeth, 3.0, shift=0.2)
    for radius in np.linspace(gear.base_mm * 1.002, gear.tip_mm, 5):
        bit = float(flank_bit_mm(teeth, 3.0, gear.angle_rad, 0.2, radius))
        angle = math.acos(gear.base_mm / radius)
        half = math.pi / teeth - gear.thickness_mm(radius) / (2 * radius)
        middle = gear.base_mm / math.cos(half + angle)
        radii = np.linspace(gear.base_mm, gear.tip_mm * 1.1, 4001)
        flank = radii * np.exp(1j * (math.pi / teeth - np.array(
            [gear.thickness_mm(r) / (2 * r) for r in radii])))
        away = np.abs(flank - middle)
        assert away.min() == pytest.approx(bit / 2, abs=1e-5)
        assert radii[away.argmin()] == pytest.approx(radius, abs=0.02)


def outline(gear: Gear, root: float, bit: float) -> Polygon:
    """The gear as the bit leaves it, first space along +x: blank less what the bit clears."""
    radii = np.linspace(max(gear.base_mm, root), gear.tip_mm, 120)
    angle = np.pi / gear.teeth - np.array([gear.thickness_mm(r) / (2 * r) for r in radii])
    flank = radii * np.exp(1j * angle)
    beyond = flank[-1] + 20 * gear.module_mm * (flank[-1] - flank[-2]) / abs(
        flank[-1] - flank[-2])
    side = np.concatenate(([root * np.exp(1j * angle[0])], flank, [beyond]))
    floor = root * np.exp(1j * np.linspace(-angle[0], angle[0], 20))
    around = np.concatenate((floor, side, side[::-1].conj()))
    space = Polygon(np.column_stack([around.real, around.imag]))
    cleared = space.buffer(-bit / 2, quad_segs=32).buffer(bit / 2, quad_segs=32)
    ring = gear.tip_mm * np.exp(1j * np.linspace(0, 2 * np.pi, 2000, endpoint=False))
    blank = Polygon(np.column_stack([ring.real, ring.imag]))
    for k in range(gear.teeth):
        blank = blank.difference(affinity.rotate(cleared, 360 * k / gear.teeth, (0, 0)))
    return blank


def deepest_overlap(pair: GearPair, roots: tuple[float, float], bit: float) -> float:
    """Largest depth, mm, to which the cut gears enter each other while they turn a pitch."""
    one, two = outline(pair.a, roots[0], bit), outline(pair.b, roots[1], bit)
    deepest = 0.0
    for share in np.linspace(-0.5, 0.5, 25):
        # A space of a along +x when share is 0, and a tooth of b along −x from its centre.
        turned = affinity.rotate(one, 360 * share / pair.a.teeth, (0, 0))
        mate = affinity.rotate(two, 180 + (0.5 - share) * 360 / pair.b.teeth, (0, 0))
        both = turned.intersection(affinity.translate(mate, pair.centre_mm))
        for piece in getattr(both, "geoms", [both]):
            if piece.area > 0:
                deepest = max(deepest, 2 * piece.area / piece.length)
    return deepest


@pytest.mark.parametrize(("ratio", "bit"), [(1.0, 3.175), (1.5, 3.175), (3.0, 1.5875)])
def test_gears_a_bit_has_cut_turn_without_entering_each_other(
    ratio: float, bit: float
) -> None:
    found = smallest_pair(ratio, 200.0, bit_mm=bit)
    assert found is not None
    assert deepest_overlap(found.pair, found.roots_mm, bit) < 0.006 * found.pair.a.module_mm


def test_gears_cut_with_too_thick_a_bit_enter_each_other() -> None:
    found = smallest_pair(1.5, 200.0, bit_mm=3.175)
    assert found is not None
    assert cut_roots_mm(found.pair, 4.5) is None
    assert deepest_overlap(found.pair, found.roots_mm, 4.5) > 0.02 * found.pair.a.module_mm


def test_a_shallow_root_is_cut_deeper_for_the_mates_tips() -> None:
    pair = GearPair(Gear(20, 3.0, dedendum=1.02), Gear(30, 3.0, dedendum=1.02))
    roots = cut_roots_mm(pair, 2.0)
    assert roots is not None
    assert roots[0] < pair.a.root_mm
    assert deepest_overlap(pair, roots, 2.0) < 0.006 * 3.0


def by_trying(ratio: float, most: float, largest: float, modules: tuple[float, ...],
              shifted: bool) -> float:
    """Larger diameter over the tips of the smallest pair, by looking at every one."""
    best = math.inf
    for module in modules:
        for za in range(FEWEST_TEETH, int(largest / module)):
            for zb in range(math.ceil(ratio * za - 1e-9), math.floor(most * za + 1e-9) + 1):
                if zb < FEWEST_TEETH or zb > largest / module:
                    continue
                under = Gear(za, module).least_shift, Gear(zb, module).least_shift
                x = (max(under[0], -max(under[1], 0.0)), max(under[1], -max(under[0], 0.0)))
                a, b = (Gear(z, module, shift=s if shifted else 0.0)
                        for z, s in zip((za, zb), x, strict=True))
                pair = GearPair(a, b)
                if (not a.undercut and not b.undercut and not any(pair.interferes)
                        and min(a.tip_land_mm, b.tip_land_mm) >= 0.4 * module
                        and min(pair.clearances_mm) >= 0.1 * module
                        and pair.contact_ratio >= 1.2):
                    best = min(best, 2 * max(a.tip_mm, b.tip_mm))
    return best


@pytest.mark.parametrize("shifted", [True, False])
@pytest.mark.parametrize(("ratio", "most", "modules"), [
    (1.0, 1.1, (2.0, 2.5)), (2.5, 3.0, (1.5, 2.0)), (0.4, 0.5, (2.0,))])
def test_no_pair_is_smaller_than_the_smallest(
    ratio: float, most: float, modules: tuple[float, ...], shifted: bool
) -> None:
    found = smallest_pairs(ratio, 120.0, most=most, modules=modules, shifted=shifted)
    assert found[0].largest_mm == pytest.approx(
        by_trying(ratio, most, 120.0, modules, shifted), abs=1e-9)


def test_what_is_found_is_what_was_asked_for() -> None:
    for bit in (None, 3.175):
        found = smallest_pairs(2.2, 150.0, bit_mm=bit, play_mm=0.2, top=20)
        assert len(found) == 20
        sizes = [f.largest_mm for f in found]
        assert sizes == sorted(sizes)
        for f in found:
            pair = f.pair
            assert 2.2 - 1e-9 <= pair.ratio <= 2.75 + 1e-9
            assert pair.play_mm == pytest.approx(0.2, abs=1e-6)
            assert pair.contact_ratio >= 1.2
            assert pair.a.module_mm in MODULES
            assert not any((pair.a.undercut, pair.b.undercut, *pair.interferes))
            assert f.largest_mm <= 150.0
            assert f.fillet == (bit is not None and bit <= fillet_bit_mm(pair.a.module_mm))


def test_a_step_up_is_the_step_down_the_other_way_round() -> None:
    down, up = smallest_pair(2.0, 200.0, most=2.0), smallest_pair(0.5, 200.0, most=0.5)
    assert down is not None
    assert up is not None
    assert (up.pair.a.teeth, up.pair.b.teeth) == (down.pair.b.teeth, down.pair.a.teeth)


def test_no_room_no_pair() -> None:
    assert smallest_pair(3.0, 10.0) is None
    assert smallest_pair(5.0, 200.0, bit_mm=6.35) is None


@pytest.mark.parametrize("wrong", [
    {"ratio": 0.0}, {"ratio": math.nan}, {"largest_mm": -1.0}, {"most": 0.5},
    {"modules": (0.0,)}])
def test_a_search_for_nonsense_is_refused(wrong: dict) -> None:
    with pytest.raises(SketchError):
        smallest_pair(**{"ratio": 2.0, "largest_mm": 100.0, **wrong})
