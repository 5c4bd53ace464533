"""Pinch places: known by geometry, and against finger discs put between moving outlines."""

from __future__ import annotations

import cmath
import math

import numpy as np
import pytest
import shapely
from faulty import four_bar
from msgspec.structs import replace
from numpy.typing import NDArray

from app.bench.leg import walking_legs
from core.files import load
from core.model import Bar, Disc, Drive, Guard, Hinge, Part, Pin, Plate, Point, Polygon, Sketch
from core.model.edits import rename
from core.motion import Turn, solve_turn
from core.space import gaps, outline_of, rigid_groups
from core.space.pinch import FINGER, Pinch, pinches

Floats = NDArray[np.float64]


def bar(name: str, layer: int, a: complex, b: complex, width: float = 10.0,
        **more: object) -> Part:
    return Part(id=name, layer=layer, outline=Bar(width_mm=width), points=(
        Point(id="a", x=a.real, y=a.imag), Point(id="b", x=b.real, y=b.imag)), **more)


def sweeping(drive: Drive | None = None, layer: int = 2, away: int = 1) -> Sketch:
    """A bar of 100 mm cranked about the origin over a fixed bar along x from 40 to 120 mm."""
    lever = bar("lever", layer, 0j, cmath.rect(100, math.radians(90)))
    post = replace(bar("post", layer - away, 40 + 0j, 120 + 0j), fixed=True)
    hub = Part(id="hub", fixed=True, layer=layer + 1, outline=Disc(radius_mm=6),
               points=(Point(id="o", x=0, y=0),))
    return Sketch(parts=(lever, post, hub), pins=(Pin(id="O", at=("hub.o", "lever.a")),),
                  drive=drive or Drive(pin="O", part="lever", drawn_deg=90.0))


def between(found: tuple[Pinch, ...], a: str, b: str) -> Pinch:
    return next(one for one in found if {one.a, one.b} == {a, b})


def test_a_bar_swept_over_another_shears_where_their_edges_meet() -> None:
    one = between(pinches(solve_turn(sweeping())), "lever", "post")
    assert one.kind == "shear"
    assert one.smallest_mm == 0.0
    assert one.widest_mm > FINGER.safe_mm
    assert not one.backwards
    # The lever comes from below, its leading edge 5 mm before its line.
    assert math.degrees(2 * math.pi - one.shut_rad) == pytest.approx(
        math.degrees(math.asin(10 / one.place.real)), abs=4)
    assert 35 <= one.place.real <= 125
    assert -5.5 < one.place.imag < 0.0
    assert one.turn_per_mm == pytest.approx(1 / abs(one.place), rel=0.35)


def test_cranked_the_other_way_it_shears_at_the_other_edge() -> None:
    drive = Drive(pin="O", part="lever", drawn_deg=90.0, rpm=-20.0)
    one = between(pinches(solve_turn(sweeping(drive))), "lever", "post")
    assert not one.backwards
    assert 0.0 < one.shut_rad < math.radians(20)
    assert 0.0 < one.place.imag < 5.5


def test_a_rocking_lever_shears_whichever_way_it_goes() -> None:
    drive = Drive(pin="O", part="lever", kind="rock", drawn_deg=90.0, from_deg=-90.0,
                  to_deg=120.0)
    one = between(pinches(solve_turn(sweeping(drive))), "lever", "post")
    assert not one.backwards
    assert one.smallest_mm == 0.0
    marks = [one.at(math.radians(deg)) for deg in range(-90, 121, 2)]
    lit = [deg for deg, mark in zip(range(-90, 121, 2), marks, strict=True) if mark]
    assert min(lit) < 0 < max(lit)
    assert -90 not in lit  # its other end, where nothing is
    assert 120 not in lit
    assert one.cycle_rad == math.inf


def test_parts_with_a_layer_between_them_are_no_scissors() -> None:
    far = sweeping(away=2, layer=3)
    between_them = replace(bar("filler", 2, 200 + 0j, 260 + 0j), fixed=True)
    turn = solve_turn(replace(far, parts=(*far.parts, between_them)))
    assert not [one for one in pinches(turn) if {one.a, one.b} == {"lever", "post"}]
    # An empty layer is none: nothing lies there to keep them apart.
    assert [one for one in pinches(solve_turn(far)) if {one.a, one.b} == {"lever", "post"}]


def test_a_round_wheel_beside_a_post_draws_in_and_does_not_pinch() -> None:
    wheel = Part(id="wheel", layer=1, outline=Disc(radius_mm=30, centre="o"),
                 points=(Point(id="o", x=0, y=0),))
    post = Part(id="post", fixed=True, layer=1, outline=Disc(radius_mm=10), points=(
        Point(id="p", x=45, y=0),))
    hub = Part(id="hub", fixed=True, layer=0, outline=Disc(radius_mm=6),
               points=(Point(id="o", x=0, y=0),))
    sketch = Sketch(parts=(wheel, post, hub), pins=(Pin(id="O", at=("hub.o", "wheel.o")),),
                    drive=Drive(pin="O", part="wheel"))
    assert pinches(solve_turn(sketch)) == ()


def test_a_finger_that_fits_in_a_notch_of_a_free_outline_is_caught_there() -> None:
    """The lever shuts a notch 20 mm wide and 20 mm deep in a plate like a lid."""
    plate = Polygon(outer=((40, -60), (120, -60), (120, -10), (90, -10), (90, -30), (70, -30),
                           (70, -10), (40, -10)))
    sketch = sweeping()
    notched = replace(sketch.parts[1], outline=plate)
    found = pinches(solve_turn(replace(sketch, parts=(sketch.parts[0], notched,
                                                      sketch.parts[2]))))
    assert between(found, "lever", "post").smallest_mm == 0.0


def test_panels_on_a_hinge_shut_like_a_mouth() -> None:
    sketch = sweeping(Drive(pin="O", part="lever", kind="rock", drawn_deg=90.0,
                            from_deg=20.0, to_deg=120.0))
    flap = replace(sketch.parts[1], points=(Point(id="o", x=0, y=0), Point(id="b", x=120, y=0)))
    hinge = Pin(id="O", at=("post.o", "lever.a"), hinge=Hinge())
    one = between(pinches(solve_turn(replace(sketch, parts=(sketch.parts[0], flap),
                                             pins=(hinge,)))), "lever", "post")
    assert one.kind == "hinge"
    # The crotch, where the edges meet 5 mm off both lines, moves out to 28 mm at 20°.
    assert one.smallest_mm == 0.0
    assert 5 / math.tan(math.radians(60)) < abs(one.place) < 5 / math.sin(math.radians(10)) + 3
    children = replace(sketch, parts=(sketch.parts[0], flap), pins=(hinge,), for_children=True)
    assert between(pinches(solve_turn(children)), "lever", "post").rule.name == "toy hinge"


@pytest.mark.parametrize("why", ["guarded", "accepted"])
def test_what_was_decided_about_two_parts_is_known(why: str) -> None:
    sketch = replace(sweeping(), guards=(Guard(id="g", a="post", b="lever", why=why),))
    assert between(pinches(solve_turn(sketch)), "lever", "post").guarded == why


def test_what_pinches_does_not_depend_on_the_order_of_parts() -> None:
    sketch = four_bar((60, 30, 100, 80), 40.0, layers=(0, 1, 1, 2))
    mixed = replace(sketch, parts=sketch.parts[::-1], pins=sketch.pins[::-1])
    one, other = ([(p.a, p.b, round(p.smallest_mm, 6), round(p.shut_rad, 6))
                   for p in pinches(solve_turn(each))] for each in (sketch, mixed))
    assert one == other


def test_steps_that_are_not_reached_are_no_trouble() -> None:
    turn = solve_turn(four_bar((100, 70, 60, 60), 20.0, layers=(0, 1, 2, 1)))
    assert not turn.reached.all()
    for one in pinches(turn, gaps(turn)):
        assert math.isfinite(one.smallest_mm)
        assert math.isfinite(one.shut_rad)


def test_nothing_pinches_in_a_sketch_of_nothing() -> None:
    assert pinches(solve_turn(replace(sweeping(), parts=sweeping().parts[::2]))) == ()


# -- against finger discs ----------------------------------------------------------


class Outlines:
    """Outlines as polygons, and their edges sampled every 3 mm, by shapely alone."""

    def __init__(self, turn: Turn, name: str) -> None:
        self.row = turn.row(name)
        self.shape = outline_of(turn.sketch.part(name))
        shapely.prepare(self.shape)
        self.middle = complex(self.shape.centroid.x, self.shape.centroid.y)
        self.reach = shapely.hausdorff_distance(self.shape, self.shape.centroid)
        ring = shapely.segmentize(self.shape.exterior.simplify(0.02), 3.0)
        at = shapely.get_coordinates(ring) @ np.array([1, 1j])
        step = np.diff(at)
        keep = np.abs(step) > 1e-9
        ahead = (step / np.abs(step))[keep]
        outward = -1j if ring.is_ccw else 1j
        self.place, self.normal = (at[:-1] + step / 2)[keep], outward * ahead

    def away(self, at: NDArray[np.complex128]) -> tuple[Floats, NDArray[np.complex128]]:
        """Distances from the outline (0 inside) and the ways from it."""
        points = shapely.points(at.real, at.imag)
        lines = shapely.shortest_line(self.shape, points)
        ends = shapely.get_coordinates(lines).reshape(-1, 2, 2) @ np.array([1, 1j])
        return np.abs(ends[:, 1] - ends[:, 0]), ends[:, 1] - ends[:, 0]


def squeezed(turn: Turn, on: Outlines, other: Outlines, thick: float, by: float,
             nip_deg: float) -> bool:
    """Whether a disc that rests on one outline is touched by the other, from within an
    angle of straight across, and then closed on by so much, whichever it rests on."""
    back = turn.rotation[other.row].conj()
    seen = back * turn.rotation[on.row]
    off = back * (turn.shift[on.row] - turn.shift[other.row])
    rest = on.place + on.normal * thick / 2
    edge = on.place[:, None] * seen + off
    centre = rest[:, None] * seen + off
    near = np.abs(centre - other.middle) < other.reach + thick
    clear = np.full(centre.shape, np.inf)
    clear[near], ways = other.away(centre[near])
    across = np.zeros(centre.shape, complex)
    across[near] = ways
    touch = (clear[:, :-1] > thick / 2) & (clear[:, 1:] <= thick / 2) & (clear[:, 1:] > 0)
    normal = on.normal[:, None] * seen
    size = np.where(np.abs(across) > 0, np.abs(across), 1.0)
    cosine = -(normal * across.conj()).real / size
    touch &= cosine[:, 1:] > math.cos(math.radians(nip_deg))
    for row, step in np.random.default_rng(0).permutation(np.argwhere(touch)):
        steps = (step + 1 + np.arange(40)) % clear.shape[1]
        gap = np.full(steps.size, np.inf)
        gap[:], way = other.away(edge[row, steps])
        # Both must close: the other's edge moves towards this one along its normal too.
        speed = np.diff(edge[row, np.append(steps[0] - 1, steps)])
        both = (speed * normal[row, steps].conj()).real > 0.05 * np.abs(speed)
        straight = np.where(gap > 0, -(normal[row, steps] * way.conj()).real / np.where(
            gap > 0, gap, 1.0), 1.0) > math.cos(math.radians(nip_deg))
        shrinks = np.diff(gap, prepend=np.inf) < 0
        goes = both & straight & shrinks
        last = int(np.argmin(goes)) if not goes.all() else goes.size
        if last and gap[:last].min() <= thick - by:
            return True
    return False


def random_sketch(rng: np.random.Generator) -> Sketch:
    """A four-bar that goes round, its parts of any shape in a few layers."""
    while True:
        lengths = tuple(float(x) for x in rng.uniform((60, 20, 50, 50), (120, 40, 120, 120)))
        short, *_, long = sorted(lengths)
        if short == lengths[1] and short + long < sum(lengths) - short - long - 5:
            break
    layers = tuple(int(x) for x in rng.integers(0, 3, 4))
    sketch = four_bar(lengths, float(rng.uniform(0, 360)), layers=layers)
    shapes = (Bar(width_mm=float(rng.uniform(6, 20))), Plate(margin_mm=8.0),
              Disc(radius_mm=float(rng.uniform(12, 35))), None)
    return replace(sketch, parts=tuple(
        replace(part, outline=shapes[int(rng.integers(len(shapes)))])
        for part in sketch.parts))


@pytest.mark.parametrize("seed", range(6))
def test_fingers_put_between_moving_outlines_are_caught_where_told_and_nowhere_else(
        seed: int) -> None:
    """Discs of several sizes, each 3 mm of edge and each 2° of crank, by shapely alone. A
    disc closed on by 4 mm within 45° of straight across must be told; what is told must
    close on some disc by 1 mm within 70°."""
    sketch = random_sketch(np.random.default_rng(seed))
    turn = solve_turn(sketch, steps=180)
    assert turn.reached.all()
    told = {(one.a, one.b): one for one in pinches(turn) if not one.backwards}
    any_way = {(one.a, one.b) for one in pinches(turn)}
    edges = {part.id: Outlines(turn, part.id) for part in sketch.parts}
    held, layer = rigid_groups(sketch), {p.id: p.layer or 0 for p in sketch.parts}
    rank = sorted(set(layer.values()))
    seen = 0
    for a in sorted(edges):
        for b in sorted(edges):
            apart = abs(rank.index(layer[a]) - rank.index(layer[b]))
            if a >= b or held[a] == held[b] or apart > 1:
                continue
            ways = ((edges[a], edges[b]), (edges[b], edges[a]))
            if any(squeezed(turn, *way, thick, 4.0, 45.0) for thick in (12.0, 20.0)
                   for way in ways):
                assert (a, b) in any_way, (a, b)
                seen += 1
            if (a, b) in told:
                one = told[a, b]
                sizes = np.linspace(one.smallest_mm + 1.5, min(one.widest_mm, 25.0) - 0.2, 3)
                assert any(squeezed(turn, *way, thick, 1.0, 70.0) for thick in sizes
                           for way in ways), (a, b, one.smallest_mm, one.widest_mm)
                seen += 1
    assert seen or not told


@pytest.mark.parametrize("sketch", [walking_legs(1), load("assets/demos/night-moth.json")])
def test_the_names_of_parts_change_nothing(sketch: Sketch) -> None:
    """What sorts first is looked at first; both ways the same is told."""
    names = sorted(part.id for part in sketch.parts)
    other = {name: f"q{len(names) - k:02}" for k, name in enumerate(names)}
    turned = sketch
    for name in names:
        turned = rename(turned, name, other[name])
    found = [{frozenset(other.get(end, end) for end in (one.a, one.b)):
              (one.smallest_mm, one.widest_mm) for one in pinches(turn, gaps(turn))}
             for turn in (solve_turn(sketch), solve_turn(turned))]
    assert found[0].keys() == found[1].keys()
    for pair, told in found[0].items():
        assert told == pytest.approx(found[1][pair], abs=1e-6)
