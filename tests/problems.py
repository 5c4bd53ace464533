"""Published path problems as wishes, the printed best mechanisms, and a judge of its own.

Targets and bounds of P1 to P6 are from memory, those of P7 were read; where each comes from
stands beside it. The best squared-error sums were calculated independently of this program
by several thousand starts of a general least-squares routine; they are not proven to be the
smallest. Figures that papers report are from memory and only informative.

Places are written in the units of the papers. A sketch has them in mm, `scale` mm to a
unit, so that a mechanism of the sketch is one a maker could cut; the judge gives its sums
back in the papers' units.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from linkages import four_bar
from msgspec.structs import replace
from numpy.typing import NDArray

from app.bench.eighteen import EIGHTEEN, GOOD_SUM, UNIT_MM
from core.model import FitRules, LengthRule, Sketch, Tick, WantedAngle, WantedPath, Zone
from core.model.edits import change
from core.model.wanted import Knot
from core.motion import pose_at, solve_turn
from core.motion.turn import Turn

TRACER = "coupler.P"
#: Both ends of every link of a four-bar as :func:`linkages.four_bar` names them.
LINKS = ("frame.O", "frame.Q", "crank.O", "crank.A", "coupler.A", "coupler.B", "rocker.B",
         "rocker.Q")


@dataclass(frozen=True)
class PathProblem:
    """A published path problem: places in order and, where given, crank angles (degrees).

    `bound` is the squared-error sum a solution may have, `best` the smallest one known to
    us for a crank that goes round. `links` are the bounds of the four lengths, `box` the
    half width of the square the fixed pivots and, with it, all pivots have to keep to.
    `printed` is the best mechanism as ground, crank, coupler and rocker length, the tracer
    along and left of the coupler, the direction of the ground and the crank's pivot; its
    digits give `printed_sum`, or `best` where that is None.
    """

    id: str
    places: tuple[complex, ...]
    best: float
    bound: float
    scale: float
    crank_deg: tuple[float, ...] = ()
    at_origin: bool = False
    start_free: bool = True
    any_order: bool = False
    either_way: bool = False
    links: tuple[float, float] | None = None
    box: float | None = None
    printed: tuple[float, ...] = ()
    printed_start_deg: float = 0.0
    printed_sum: float | None = None

    def wish(self, point: str = TRACER) -> WantedPath:
        """The places as a wish. Its tolerance is one part in 200 of the size of the figure,
        as a maker would have it, or one in a million where the problem can be met exactly:
        a search that is within its tolerance by far has no reason to go on."""
        size = max(abs(one - other) for one in self.places for other in self.places)
        share = 1e-6 if self.best < 1e-20 else 5e-3
        return WantedPath(
            id="places", point=point, curve="places", closed=False,
            through=tuple((place.real * self.scale, place.imag * self.scale)
                          for place in self.places),
            ticks=tuple(Tick(at=float(k), crank_deg=at)
                        for k, at in enumerate(self.crank_deg)),
            tolerance_mm=self.scale * size * share,
            any_order=self.any_order, either_way=self.either_way)

    def asked_of(self, sketch: Sketch) -> Sketch:
        """A four-bar with this problem's wish, bounds and zones, nothing else asked."""
        sketch = self.asked(sketch, TRACER)
        if self.at_origin:
            sketch = change(sketch, "parts", "frame", points=tuple(
                replace(point, locked=point.id == "O")
                for point in sketch.part("frame").points))
            # The crank's reading is its direction; without this wish only changes count.
            reading = WantedAngle(
                id="reading", part="crank", line=("crank.O", "crank.A"), curve="places",
                knots=(Knot(crank_deg=self.crank_deg[0], angle_deg=self.crank_deg[0]),),
                closed=False, tolerance_deg=1e-4)
            sketch = replace(sketch, wanted=(*sketch.wanted, reading))
        if self.links is not None:
            low, high = (each * self.scale for each in self.links)
            sketch = replace(sketch, length_rules=(
                LengthRule(id="links", ends=LINKS, shortest_mm=low, longest_mm=high),))
        return sketch

    def asked(self, sketch: Sketch, point: str = "") -> Sketch:
        """A sketch with this problem's wish (attached to `point`) and zones."""
        zones = []
        if self.at_origin:
            far = 1000 * self.scale
            zones.append(Zone(id="axis", corners=((-far, 0.0), (far, 0.0))))
        if self.box is not None:
            half = self.box * self.scale
            zones.append(Zone(id="box", corners=((-half, -half), (half, -half),
                                                 (half, half), (-half, half))))
        return replace(sketch, wanted=(self.wish(point),), zones=tuple(zones), fit=FitRules(
            start_free=self.start_free and bool(self.crank_deg), transmission_deg=0.0,
            longest_mm=None if self.links is None else self.links[1] * self.scale))


def printed_sketch(problem: PathProblem) -> Sketch:
    """The printed best mechanism, drawn so that the crank's reading is the problem's (or,
    without timing, its direction)."""
    ground, crank, coupler, rocker, along, left, tilt, x, y = problem.printed
    s = problem.scale
    start = math.degrees(tilt) + problem.printed_start_deg
    upright = four_bar(ground * s, crank * s, coupler * s, rocker * s,
                       start - math.degrees(tilt), point=complex(along, left) * s)
    turn, shift = complex(math.cos(tilt), math.sin(tilt)), complex(x, y) * s

    def put(at: complex) -> complex:
        return at * turn + shift

    parts = tuple(replace(part, points=tuple(
        replace(point, x=put(point.place).real, y=put(point.place).imag)
        for point in part.points)) for part in upright.parts)
    reading = problem.crank_deg[0] if problem.crank_deg else start
    assert upright.drive is not None
    return problem.asked_of(replace(
        upright, parts=parts, drive=replace(upright.drive, drawn_deg=reading)))


def cold_four_bar(problem: PathProblem, seed: int) -> Sketch:
    """A four-bar that goes round but knows nothing of the solution.

    Drawn by lot (numpy's default generator on `seed`): lengths until the crank is the
    shortest, goes round and never has the rocker within 20° of the coupler; a crank pivot
    within one size of the places' middle, and the rest as large as the places are wide,
    more or less. What a maker would draw beside the wished places, roughly.
    """
    rng = np.random.default_rng([seed, *map(ord, problem.id)])
    places = np.array(problem.places) * problem.scale
    middle = places.mean()
    size = float(np.abs(places - middle).max())
    crank = size * rng.uniform(0.4, 1.0)
    while True:
        ground, coupler, rocker = crank * rng.uniform(1.2, 4.0, 3)
        if _least_transmission_deg(ground, crank, coupler, rocker) > 20.0:
            break
    point = complex(*rng.uniform(-1.0, 1.5, 2)) * coupler
    start, tilt = rng.uniform(0, 360), rng.uniform(0, 2 * np.pi)
    pivot = middle + size * complex(*rng.uniform(-1.0, 1.0, 2))
    if problem.at_origin:
        pivot, tilt = 0j, 0.0
        start = problem.crank_deg[0]
    if problem.box is not None:
        half = 0.5 * problem.box * problem.scale
        pivot = complex(np.clip(pivot.real, -half, half), np.clip(pivot.imag, -half, half))
    upright = four_bar(ground, crank, coupler, rocker, float(start), point=point)
    turn = np.exp(1j * tilt)
    parts = tuple(replace(part, points=tuple(
        replace(each, x=float((each.place * turn + pivot).real),
                y=float((each.place * turn + pivot).imag))
        for each in part.points)) for part in upright.parts)
    reading = problem.crank_deg[0] if problem.crank_deg else 0.0
    assert upright.drive is not None
    return problem.asked_of(replace(
        upright, parts=parts, drive=replace(upright.drive, drawn_deg=float(reading))))


def _least_transmission_deg(ground: float, crank: float, coupler: float,
                            rocker: float) -> float:
    """The smallest angle between coupler and rocker of a four-bar, 0 where it locks."""
    cosines = [(coupler**2 + rocker**2 - (ground + way * crank) ** 2) / (2 * coupler * rocker)
               for way in (-1, 1)]
    if max(map(abs, cosines)) >= 1 or crank >= min(ground, coupler, rocker):
        return 0.0
    angles = [math.degrees(math.acos(each)) for each in cosines]
    return min(min(angle, 180 - angle) for angle in angles)


@dataclass(frozen=True)
class Verdict:
    """What the judge found: the squared-error sum in the paper's units, the crank angles
    (rad, the sketch's reading) at which each place is met, how far it is missed (K, in the
    paper's units), and whether the crank goes all round and all comes back with it."""

    total: float
    crank_rad: NDArray[np.float64]
    apart: NDArray[np.complex128]
    goes_round: bool


def judge(problem: PathProblem, sketch: Sketch, point: str = TRACER) -> Verdict:
    """The squared-error sum of a sketch's point against the problem's places.

    Written without the measures of the program's own fit: only the solved turn is asked.
    Timed places are compared at their readings. Untimed ones may be met anywhere in one
    cycle but, unless the problem lets the order go, one after the other: the best such
    choice among 720 steps by dynamic programming over every start, then among ever finer
    steps beside it.
    """
    targets = np.array(problem.places) * problem.scale
    turn = solve_turn(sketch, steps=720)
    if problem.crank_deg:
        crank = np.radians(problem.crank_deg)
    else:
        assert sketch.drive is not None
        sense = -1 if sketch.drive.rpm < 0 else 1
        crank = min((_met_at(turn, point, targets, way, problem.any_order)
                     for way in ((1, -1) if problem.either_way else (sense,))),
                    key=lambda found: float(_squares(turn, point, targets, found).sum()))
    made = pose_at(turn, crank).path(point) @ np.array([1, 1j])
    total = float(_squares(turn, point, targets, crank).sum()) / problem.scale**2
    return Verdict(total if np.isfinite(total) else math.inf, crank,
                   (made - targets) / problem.scale,
                   bool(turn.reached.all() and not turn.limits and turn.crank_turns == 1))


def _squares(turn: Turn, point: str, targets: NDArray[np.complex128],
             crank: NDArray[np.float64]) -> NDArray[np.float64]:
    made = pose_at(turn, crank).path(point) @ np.array([1, 1j])
    return np.abs(made - targets) ** 2


def _met_at(turn: Turn, point: str, targets: NDArray[np.complex128], way: int,
            any_order: bool) -> NDArray[np.float64]:
    """Crank angles (K) at which the targets are met best, one after the other turning in
    the direction `way`, or each by itself."""
    path = turn.path(point) @ np.array([1, 1j])
    cost = np.nan_to_num(np.abs(path - targets[:, None]) ** 2, nan=1e30)[:, ::way]
    cycle = 2 * np.pi * turn.crank_turns
    angles = turn.crank_rad[::way] + (cycle if way < 0 else 0.0)
    steps = len(angles)
    start = 0 if any_order else _best_start(cost)
    angles = np.concatenate([angles, angles + way * cycle])[start:start + steps]
    met = angles[_choice(np.roll(cost, -start, axis=1), any_order)]
    width = cycle / steps
    while width > 1e-15:
        fine = way * np.sort(way * (met[:, None] + width * np.linspace(-1, 1, 41)).ravel())
        pose = pose_at(turn, fine).path(point) @ np.array([1, 1j])
        cost = np.nan_to_num(np.abs(pose - targets[:, None]) ** 2, nan=1e30)
        far = np.abs(fine - met[:, None]) > 1.01 * width
        met = fine[_choice(np.where(far, 1e30, cost), any_order)]
        width *= 0.1
    return met


def _best_start(cost: NDArray[np.float64]) -> int:
    """The step of a cycle (of every fourth one) at which to begin, so that the places (K, N
    costs) met in order within one cycle from there have the smallest sum."""
    steps = cost.shape[1]
    starts = np.arange(0, steps, 4)
    shifted = (starts[:, None] + np.arange(steps)) % steps
    sums = cost[0][shifted]
    for own in cost[1:]:
        sums = own[shifted] + np.minimum.accumulate(sums, axis=1)
    return int(starts[np.argmin(sums.min(axis=1))])


def _choice(cost: NDArray[np.float64], any_order: bool) -> NDArray[np.intp]:
    """Of N steps one for each of K places (K, N costs), not falling, of the smallest sum;
    or for each by itself."""
    if any_order:
        return np.argmin(cost, axis=1)
    sums = [cost[0]]
    for own in cost[1:]:
        sums.append(own + np.minimum.accumulate(sums[-1]))
    found = np.empty(len(cost), dtype=np.intp)
    last = cost.shape[1]
    for k in range(len(cost) - 1, -1, -1):
        found[k] = np.argmin(sums[k][:last])
        last = int(found[k]) + 1
    return found


P1 = PathProblem(
    "six on a line",
    # Targets and bounds from memory (literature on optimal four-bar synthesis since 2002):
    # links up to 60, pivots within ±60. Reported sums, from memory: .026 (2002), .1227
    # (2009). That it can be met exactly was calculated.
    places=tuple(complex(20, y) for y in (20, 25, 30, 35, 40, 45)), best=4e-28, bound=1e-12,
    scale=1.0, links=(0.0, 60.0), box=60.0, either_way=True,
    printed=(27.24498841, 8.57903162, 25.67965612, 33.39022133, 40.74777512, 6.33130513,
             1.03859388, 51.73020152, 11.12079102))

P2 = PathProblem(
    "five timed",
    # From memory. Crank pivot at the origin, fixed pivots on the x axis, links up to 50, the
    # crank's direction given. The best sum was calculated; no reported figure is trusted.
    places=(3 + 3j, 2.759 + 3.363j, 2.372 + 3.663j, 1.890 + 3.862j, 1.355 + 3.943j),
    crank_deg=(30.0, 45.0, 60.0, 75.0, 90.0), best=7.41575e-7, bound=1.01 * 7.41575e-7,
    scale=20.0, at_origin=True, start_free=False, links=(0.0, 50.0),
    printed=(3.66972848, 1.99781214, 3.99631588, 2.70488596, 1.67204625, 1.68013222, 0, 0, 0),
    printed_start_deg=30.0)

P3 = PathProblem(
    "eighteen timed",
    # From memory: S. Kunjur and S. Krishnamurty (1997), eighteen places at every 20° of the
    # crank, its first angle free, links up to 50. Reported sums, from memory: .043 (1997)
    # and about .0109 (2010). The best was calculated.
    places=EIGHTEEN,
    crank_deg=tuple(20.0 * k for k in range(18)), best=.00902888, bound=GOOD_SUM, scale=UNIT_MM,
    links=(0.0, 50.0),
    printed=(1.0539434, .42387499, .91424978, .59891689, .37059734, .39934663, .28482452,
             .2676555, .15464959), printed_start_deg=math.degrees(.89156))

P4 = PathProblem(
    "semicircle timed",
    # From memory (S. K. Acharyya and M. Mandal, 2009): six places on a half circle at every
    # 30° of the crank; links from 5 to 50. Their reported 2.349649 does not agree with
    # the bounds as remembered. They count the crank's angle from the ground line; so counted
    # the best sum is 2.58036, calculated, and with the crank's zero free, as a wish in a
    # sketch has it, .471609, the best of many fits.
    places=(0j, 1.9098 + 5.8779j, 6.9098 + 9.5106j, 13.09 + 9.5106j, 18.09 + 5.8779j, 20 + 0j),
    crank_deg=(30.0, 60.0, 90.0, 120.0, 150.0, 180.0), best=.471609, bound=.4763, scale=5.0,
    links=(5.0, 50.0),
    printed=(50, 5, 7.03104636, 48.1341834, 16.9766876, 12.9521365, .0428245965, 12.1974947,
             -15.9982024), printed_start_deg=30.0, printed_sum=2.58036)

P6 = PathProblem(
    "leaf",
    # From memory: twenty-five places round a leaf, without timing. The twenty-second
    # goes back a little: a slip of ours or of the literature, left as remembered. The best
    # sum was calculated for any four-bar; its crank locks by a hair (Grashof's sum is .008
    # too long). Near that one, with a crank that goes round by .01 of that sum the best is
    # .0374, with .05 it is .0390, by a general least-squares routine. Fit has since found
    # cranks that go round at .03345.
    places=tuple(complex(x, y) for x, y in (
        (7.03, 5.99), (6.95, 5.45), (6.77, 5.03), (6.4, 4.6), (5.91, 4.03), (5.43, 3.56),
        (4.93, 2.94), (4.67, 2.6), (4.38, 2.2), (4.04, 1.67), (3.76, 1.22), (3.76, 1.97),
        (3.76, 2.78), (3.76, 3.56), (3.76, 4.34), (3.76, 4.91), (3.76, 5.47), (3.8, 5.98),
        (4.07, 6.4), (4.53, 6.75), (5.07, 6.85), (5.05, 6.84), (5.89, 6.83), (6.41, 6.8),
        (6.92, 6.58))),
    best=.03345, bound=.0390, scale=10.0, either_way=True,
    printed=(16.09788878, 1.79145978, 6.44049739, 11.44125973, 8.65630121, 4.76924747,
             5.36145964, -4.31200966, 3.78310819), printed_sum=.0343)

P7 = PathProblem(
    "nine places",
    # Read: the example of a numerical library after C. W. Wampler, A. P. Morgan and A. J.
    # Sommese, "Complete solution of the nine-point path synthesis problem for four-bar
    # linkages" (1992). It asks for places alone, neither timing nor order. A search of our own
    # in its polynomial form found some forty real four-bars through all nine places. In a
    # few of them and their cognates all nine can be met without taking the coupler off and
    # putting it on the other way, in another order and with a crank that rocks just short of
    # locking; no crank that goes round is known to draw all nine. What one can draw comes
    # near without end: the bound is a distance of one part in 50 000 of the figure.
    places=(.8961867 - .09802917j, 1.2156535 - 1.187491j, 1.5151435 - .85449808j,
            1.6754775 - .48768058j, 1.713869 - .30099232j, 1.7215236 + .03269953j,
            1.6642029 + .33241088j, 1.4984171 + .74435576j, 1.3011834 + .92153806j),
    best=0.0, bound=3e-8, scale=50.0, any_order=True)

PROBLEMS = (P1, P2, P3, P4, P6, P7)
