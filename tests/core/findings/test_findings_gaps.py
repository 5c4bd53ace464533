"""Findings about gaps: provoked, and cured by moving to a layer that was really tried."""

from __future__ import annotations

import cmath
import itertools
import math

import numpy as np
import pytest
from faulty import codes, four_bar, lone_crank, mended, only, part, slotted
from msgspec.structs import replace

from core.errors import EditError
from core.model import Disc, Lock, Pin
from core.space import gaps
from core.study import study


def gap_codes(done) -> set[str]:
    return codes(done) & {"overlap", "narrow-gap", "pin-in-the-way", "no-hole"}


def test_levers_on_one_pin_in_one_layer_collide_and_one_is_moved_away() -> None:
    sketch = four_bar(layers=(0, 2, 2, 1))
    found = only(study(sketch), "overlap")
    assert found.grade == "fault"
    assert found.parts == ("coupler", "crank")
    assert "both are on pin A" in found.text
    assert found.value < -15
    assert (found.limit, found.unit) == (1.0, "mm")
    for number in range(len(found.edits)):
        assert gap_codes(study(found.edits[number].apply(sketch))) == set()


def test_a_pin_that_a_lever_sweeps_over_is_named_and_cured() -> None:
    # A lamp stands on a rod within reach of the crank, one layer above it.
    lamp = part("lamp", 2, fixed=True, outline=Disc(radius_mm=9), c=30j)
    base = part("base", 0, fixed=True, o=0j, p=30j)
    sketch = lone_crank(0.01, pins=(Pin(id="O", at=("base.o", "crank.o")),
                                    Pin(id="L", at=("base.p", "lamp.c"))))
    sketch = replace(sketch, parts=(base, lamp, sketch.part("crank")))
    found = only(study(sketch), "pin-in-the-way")
    assert found.grade == "fault"
    assert found.joints == ("L",)
    assert "crank and pin L collide in layer 1" in found.text
    assert found.crank_deg == pytest.approx(90.0, abs=1e-3)
    assert found.value == pytest.approx(-8 - 3)
    assert found.edits
    assert found.mend.startswith(found.edits[0].label)
    assert gap_codes(mended(sketch, "pin-in-the-way")) == set()


def test_pins_of_one_shaft_count_as_one_and_carry_all_their_parts() -> None:
    # Two more levers about the crank's shaft, each on a pin of its own; a post in the way
    # of all three pins is told once.
    sketch = lone_crank(0.01)
    extra = [part(f"arm{i}", 2 + i, o=0j, a=-40 + 0j) for i in range(2)]
    pins = (*sketch.pins, *(Pin(id=f"P{i}", at=("base.o", f"arm{i}.o")) for i in range(2)))
    locks = tuple(Lock(id=f"L{i}", parts=("crank", f"arm{i}")) for i in range(2))
    whole = replace(sketch, parts=(*sketch.parts, *extra), pins=pins, locks=locks)
    assert gap_codes(study(whole)) == set()
    post = part("post", 1, fixed=True, outline=Disc(radius_mm=5, centre="c"), c=6j, d=0.5j)
    found = [one for one in study(replace(whole, parts=(*whole.parts, post))).findings
             if one.code == "no-hole"]
    assert len(found) == 1


def test_a_gap_below_the_wanted_one_is_a_warning_with_its_angle() -> None:
    sketch = four_bar()
    post = part("post", 2, fixed=True, outline=Disc(radius_mm=5), c=-43.6 + 0j)
    near = replace(sketch, parts=(*sketch.parts, post))
    found = only(study(near), "narrow-gap")
    assert found.grade == "warning"
    assert found.parts == ("crank", "post")
    # The crank's tip is 30 + 8 mm from its pin, the post's edge 43.6 − 5.
    assert found.value == pytest.approx(0.6, abs=1e-6)
    assert found.crank_deg == pytest.approx(180.0, abs=0.01)
    assert "0.6 mm" in found.text
    assert "1 mm is wanted" in found.text
    assert gap_codes(study(replace(near, gap_mm=0.5))) == set()
    assert gap_codes(mended(near, "narrow-gap")) == set()


def test_a_gap_of_exactly_what_is_wanted_is_enough() -> None:
    sketch = four_bar()
    for wanted in (1.0, 0.0):
        post = part("post", 2, fixed=True, outline=Disc(radius_mm=5), c=-43.0 - wanted + 0j)
        near = replace(sketch, parts=(*sketch.parts, post), gap_mm=wanted)
        assert gap_codes(study(near)) == set()


def test_a_pin_called_pin_is_not_called_pin_twice() -> None:
    sketch = four_bar(layers=(0, 2, 2, 1))
    pins = tuple(replace(pin, id="pin 2") if pin.id == "A" else pin for pin in sketch.pins)
    assert "on pin 2, and collide" in only(study(replace(sketch, pins=pins)), "overlap").text


def test_inches_are_spoken_in_an_inch_sketch() -> None:
    post = part("post", 2, fixed=True, outline=Disc(radius_mm=5), c=-43.6 + 0j)
    sketch = four_bar(units="in")
    found = only(study(replace(sketch, parts=(*sketch.parts, post))), "narrow-gap")
    assert " in " in found.text
    assert "mm" not in found.text


def test_a_pin_through_a_part_without_a_hole_is_cured_by_drilling_it() -> None:
    sketch = four_bar()
    pad = part("pad", 1, fixed=True, outline=Disc(radius_mm=12, centre="c"), c=0j, d=0.5 + 0j)
    padded = replace(sketch, parts=(*sketch.parts, pad))
    found = only(study(padded), "no-hole")
    assert found.grade == "warning"
    assert found.joints == ("O",)
    cured = mended(padded, "no-hole")
    assert gap_codes(cured) == set()
    assert len(cured.sketch.pins[0].at) == 3
    assert cured.turn.reached.all()


def test_locked_parts_that_overlap_in_one_layer_are_told_apart_from_collisions() -> None:
    sketch = four_bar()
    fin = part("fin", 1, outline=Disc(radius_mm=6), c=100 + 30j)
    sketch = replace(sketch, parts=(*sketch.parts, fin),
                     locks=(Lock(id="L", parts=("rocker", "fin")),))
    rocker = sketch.part("rocker").points[1]
    middle = replace(fin.points[0], x=(100 + rocker.x) / 2, y=rocker.y / 2)
    into = replace(fin, points=(middle,))
    done = study(replace(sketch, parts=(*sketch.parts[:-1], into)))
    assert "are one body" in only(done, "overlap").text
    assert only(done, "overlap").crank_deg is None


def test_a_slot_pin_through_a_pad_on_its_own_lever_needs_a_hole_there() -> None:
    # The rider sits two layers from the slotted bar, a pad locked to it lies between.
    sketch = slotted()
    done = study(sketch)
    found = only(done, "no-hole")
    assert found.joints == ("S",)
    assert found.edits == ()
    assert found.mend.startswith("Drill pad there")
    assert done.turn.reached.all()


def test_findings_are_the_same_whatever_order_parts_and_pins_are_in() -> None:
    sketch = four_bar((60, 30, 100, 80), 40.0, layers=(0, 1, 1, 2))
    said = []
    for order in itertools.islice(itertools.permutations(range(4)), 0, 24, 5):
        mixed = replace(sketch, parts=tuple(sketch.parts[i] for i in order),
                        pins=tuple(sketch.pins[i] for i in order))
        said.append([(one.code, one.grade, one.text, one.parts, one.joints, one.mend,
                      [edit.label for edit in one.edits]) for one in study(mixed).findings])
    assert len(said[0]) >= 2
    assert all(one == said[0] for one in said)


@pytest.mark.parametrize("seed", range(8))
def test_every_move_offered_frees_the_part_it_moves(seed: int) -> None:
    rng = np.random.default_rng(seed)
    layers = tuple(int(k) for k in rng.integers(0, 3, 4))
    lengths = (100.0, float(rng.uniform(20, 45)), float(rng.uniform(95, 120)),
               float(rng.uniform(70, 90)))
    sketch = four_bar(lengths, 40.0, layers=layers)
    offered = 0
    for found in study(sketch).findings:
        if found.code not in ("overlap", "narrow-gap", "pin-in-the-way"):
            continue
        for edit in found.edits:
            offered += 1
            moved = edit.apply(sketch)
            (part_id,) = [each.id for each in sketch.parts if edit.label.startswith(
                f"Move {each.id} to ")]
            left = [gap for gap in gaps(study(moved).turn, about=frozenset({part_id})).pairs
                    if gap.smallest_mm < sketch.gap_mm]
            assert left == []
    assert offered or gap_codes(study(sketch)) == set() or len(set(layers)) < 3


def test_a_mend_whose_part_is_gone_says_so() -> None:
    sketch = four_bar()
    pad = part("pad", 1, fixed=True, outline=Disc(radius_mm=12, centre="c"), c=0j, d=0.5 + 0j)
    padded = replace(sketch, parts=(*sketch.parts, pad))
    edit = only(study(padded), "no-hole").edits[0]
    with pytest.raises(EditError, match="no longer there"):
        edit.apply(sketch)


def test_nothing_is_sought_while_dragging() -> None:
    sketch = four_bar(layers=(0, 2, 2, 1))
    found = only(study(sketch, refine=False), "overlap")
    assert found.edits == ()
    assert found.mend


def test_loose_parts_do_not_collide_where_they_happen_to_be_drawn() -> None:
    sketch = four_bar()
    leaf = part("leaf", 2, a=-20 + 0j, b=30 + 0j)
    done = study(replace(sketch, parts=(*sketch.parts, leaf)))
    assert gap_codes(done) == set()
    assert "loose" in codes(done)


def test_a_pin_needs_no_second_hole_in_its_own_parts() -> None:
    sketch = four_bar()
    shaft = replace(sketch, pins=(*sketch.pins, Pin(id="O2", at=("base.o", "crank.o"))))
    assert gap_codes(study(shaft)) == set()


def test_no_part_is_moved_to_the_layer_it_lies_in() -> None:
    # The crank passes the post half a millimetre off, half way between two of 24 steps.
    at = 63.5 * cmath.exp(1j * math.radians(7.5))
    post = part("post", 1, fixed=True, outline=Disc(radius_mm=5), p=at)
    sketch = lone_crank(0.1)
    sketch = replace(sketch, parts=(*sketch.parts, post))
    found = only(study(sketch, steps=24), "narrow-gap")
    assert found.edits
    assert all(edit.apply(sketch) != sketch for edit in found.edits)
