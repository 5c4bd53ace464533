"""Torque with friction against a solver of another kind.

Source: scipy.optimize (MINPACK's hybrid method, ``root``), a general-purpose library:
calculated here, no printed figures; masses and sizes are invented. Everything else is written
out anew: places by trigonometry, rates by differences of places, Newton's and Euler's laws of
every body with all reactions unknown at once, and friction as it acts where surfaces touch: a
moment μ r |F| against the turning at each pin; forces at both ends of a block; the flank of a
slot.
Nothing of ``core.motion`` or ``core.effort`` enters but what is compared.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import pytest
from msgspec.structs import replace
from scipy.optimize import root
from weighted import four_bar, slider_crank, slotted_lever

from core.effort import effort, friction_band
from core.effort.locking import locking
from core.model import Drive, Gravity, Mass, Part, Pin, Point, Polygon, Sketch
from core.motion import solve_turn

#: A body's place at a crank angle: (angle turned, place of a drawn place).
Pose = tuple[float, Callable[[complex], complex]]
Poses = Callable[[float], dict[str, Pose]]
PIN_RADIUS = 3.0
#: Half the length of the block in its guide, mm.
HALF = 18.0


def carried(a0: complex, b0: complex, a: complex, b: complex) -> Pose:
    """The body whose places a0, b0 have come to a, b."""
    turned = (b - a) / (b0 - a0)
    return cmath.phase(turned), lambda z: a + turned / abs(turned) * (z - a0)


def spot(sketch: Sketch, ref: str) -> complex:
    point = sketch.point(ref)
    return complex(point.x, point.y)


def meeting(a: complex, b: complex, ra: float, rb: float, left: bool) -> complex:
    """Where circles about a and b meet, left or right of the line from a to b."""
    d = abs(b - a)
    x = (ra**2 - rb**2 + d**2) / (2 * d)
    y = math.sqrt(ra**2 - x**2)
    return a + (b - a) / d * complex(x, y if left else -y)


def four_bar_poses(sketch: Sketch) -> Poses:
    o, a0, b0, q = (spot(sketch, r) for r in ("crank.O", "crank.A", "rocker.B", "rocker.Q"))
    left = ((q - a0).conjugate() * (b0 - a0)).imag > 0

    def poses(crank: float) -> dict[str, Pose]:
        a = o + abs(a0 - o) * cmath.exp(1j * (cmath.phase(a0 - o) + crank))
        b = meeting(a, q, abs(b0 - a0), abs(b0 - q), left)
        return {"crank": carried(o, a0, o, a), "coupler": carried(a0, b0, a, b),
                "rocker": carried(q, b0, q, b)}
    return poses


def slider_poses(sketch: Sketch) -> Poses:
    o, a0, b0 = (spot(sketch, r) for r in ("crank.O", "crank.A", "block.B"))

    def poses(crank: float) -> dict[str, Pose]:
        a = o + (a0 - o) * cmath.exp(1j * crank)
        b = complex(a.real + math.sqrt(abs(b0 - a0) ** 2 - (a.imag - b0.imag) ** 2), b0.imag)
        return {"crank": carried(o, a0, o, a), "rod": carried(a0, b0, a, b),
                "block": (0.0, lambda z: z + b - b0)}
    return poses


def lever_poses(sketch: Sketch) -> Poses:
    o, a0, q = (spot(sketch, r) for r in ("crank.O", "crank.A", "lever.Q"))

    def poses(crank: float) -> dict[str, Pose]:
        a = o + (a0 - o) * cmath.exp(1j * crank)
        return {"crank": carried(o, a0, o, a), "lever": carried(q, a0, q, a)}
    return poses


@dataclass
class State:
    """Bodies at one crank angle: what Newton and Euler want of them, and how they turn."""

    poses: dict[str, Pose]
    spin: dict[str, float]
    wants: dict[str, tuple[complex, float, complex]]  # force, moment about centre, centre

    def at(self, body: str, drawn: complex) -> complex:
        return drawn if body == "frame" else self.poses[body][1](drawn)


#: Weights of values at −3h … 3h for the first and second derivative (sixth order).
FIRST = np.array([-1, 9, -45, 0, 45, -9, 1]) / 60
SECOND = np.array([2, -27, 270, -490, 270, -27, 2]) / 180


def state(sketch: Sketch, poses: Poses, crank: float, omega: float) -> State:
    """The crank turns steadily at `omega`, rad/s; `crank` is counted from the drawn pose."""
    h = 0.01
    near = [poses(crank + k * h) for k in range(-3, 4)]
    spin, wants = {"frame": 0.0}, {}
    g = sketch.gravity.g_m_s2 * cmath.exp(1j * math.radians(sketch.gravity.direction_deg))
    for name in near[3]:
        angles = np.unwrap([each[name][0] for each in near])
        weighs = sketch.part(name).mass
        centres = np.array([each[name][1](complex(weighs.x, weighs.y)) for each in near])
        spin[name] = float(FIRST @ angles) / h
        swirl = SECOND @ angles / h**2 * omega**2
        push = SECOND @ centres / h**2 * omega**2 * 1e-3  # m/s²
        wants[name] = (weighs.mass_kg * (push - g), 1e-3 * weighs.inertia_kgmm2 * swirl,
                       centres[3])
    return State(near[3], spin, wants)


Acts = list[tuple[str, complex, complex, float]]  # body, force, place, moment


def missing(now: State, acts: Acts, torque: float) -> list[float]:
    """What Newton and Euler find amiss with these actions on the bodies and the torque."""
    left = []
    for body, (force, moment, centre) in now.wants.items():
        force, moment = -force, -moment + (torque if body == "crank" else 0.0)
        for name, f, place, couple in acts:
            if name == body:
                force += f
                moment += ((place - centre).conjugate() * f).imag + couple
        left += [force.real, force.imag, moment / 30]
    return left


def pin_acts(now: State, one: str, two: str, place: complex, force: complex,
             grip: float) -> Acts:
    """A pin's force on body `one` and its opposite on `two`; `grip` = μ r × sense."""
    rub = -grip * abs(force) * float(np.sign(now.spin[one] - now.spin[two]))
    return [(one, force, place, rub), (two, -force, place, -rub)]


def solved(guess: np.ndarray, amiss: Callable[[np.ndarray, float], list[float]]) -> np.ndarray:
    """Unknowns at full friction, followed from none."""
    for share in np.linspace(0, 1, 9):
        found = root(lambda x, share=share: amiss(x, share), guess, tol=1e-13)
        guess = found.x
    assert np.abs(amiss(guess, 1.0)).max() < 1e-8
    return guess


def four_bar_torque(sketch: Sketch, crank: float, omega: float, mu: float,
                    sense: float) -> float:
    now = state(sketch, four_bar_poses(sketch), crank, omega)
    joints = [("crank", "frame", "crank.O"), ("coupler", "crank", "crank.A"),
              ("coupler", "rocker", "rocker.B"), ("rocker", "frame", "rocker.Q")]

    def amiss(x: np.ndarray, share: float) -> list[float]:
        acts: Acts = []
        for k, (one, two, ref) in enumerate(joints):
            place = now.at(ref.split(".")[0], spot(sketch, ref))
            acts += pin_acts(now, one, two, place, complex(x[2 * k], x[2 * k + 1]),
                             share * mu * PIN_RADIUS * sense)
        return missing(now, acts, 30 * x[8])
    return 30 * solved(np.zeros(9), amiss)[8]


def slider_torque(sketch: Sketch, crank: float, omega: float, mu: float,
                  sense: float) -> float:
    now = state(sketch, slider_poses(sketch), crank, omega)
    b = now.at("block", spot(sketch, "block.B"))
    a = now.at("crank", spot(sketch, "crank.A"))
    ahead = slider_poses(sketch)(crank + 1e-5)["block"][1](0j) - now.at("block", 0j)

    def amiss(x: np.ndarray, share: float) -> list[float]:
        acts = (pin_acts(now, "crank", "frame", spot(sketch, "crank.O"), complex(*x[:2]),
                         share * mu * PIN_RADIUS * sense)
                + pin_acts(now, "rod", "crank", a, complex(*x[2:4]),
                           share * mu * PIN_RADIUS * sense)
                + pin_acts(now, "block", "rod", b, complex(*x[4:6]),
                           share * mu * PIN_RADIUS * sense))
        for end, normal in ((b + HALF, x[6]), (b - HALF, x[7])):
            # On the line of the point: a block's height does not matter to this model.
            drag = -share * mu * abs(normal) * sense * float(np.sign(ahead.real))
            acts.append(("block", complex(drag, normal), end, 0.0))
        return missing(now, acts, 30 * x[8])
    return 30 * solved(np.zeros(9), amiss)[8]


def lever_torque(sketch: Sketch, crank: float, omega: float, mu: float,
                 sense: float) -> float:
    now = state(sketch, lever_poses(sketch), crank, omega)
    o, q, a0 = (spot(sketch, r) for r in ("crank.O", "lever.Q", "crank.A"))
    a = now.at("crank", a0)
    along = (a - q) / abs(a - q)
    push = spot(sketch, "lever.F")
    turned = cmath.exp(1j * now.poses["lever"][0])
    for bearing in (1.0, -1.0):  # which flank bears: the one whose push comes out positive
        touch = a - PIN_RADIUS * bearing * 1j * along
        slip = (along.conjugate() * (1j * now.spin["crank"] * (touch - o)
                                     - 1j * now.spin["lever"] * (touch - q))).real * sense

        def amiss(x: np.ndarray, share: float, bearing: float = bearing,
                  touch: complex = touch, slip: float = slip) -> list[float]:
            grip = share * mu * PIN_RADIUS * sense
            force = x[4] * along * (1j * bearing - share * mu * float(np.sign(slip)))
            acts = (pin_acts(now, "crank", "frame", o, complex(*x[:2]), grip)
                    + pin_acts(now, "lever", "frame", q, complex(*x[2:4]), grip)
                    + [("crank", force, touch, 0.0), ("lever", -force, touch, 0.0)])
            load = sketch.forces[0]
            acts += [("lever", complex(load.fx_n, load.fy_n) * turned, now.at("lever", push),
                      sketch.torques[0].torque_nmm)]
            return missing(now, acts, 30 * x[5])
        x = solved(np.zeros(6), amiss)
        if x[4] >= 0:
            return 30 * x[5]
    raise AssertionError("neither flank bears")


def long_block(**more: object) -> Sketch:
    """A slider-crank whose block is 36 mm long, less than its guide."""
    made = slider_crank(**more)
    b = spot(made, "block.B")
    corners = tuple((b.real + x, b.imag + y)
                    for x, y in ((-HALF, -6), (HALF, -6), (HALF, 6), (-HALF, 6)))
    block = replace(made.part("block"), outline=Polygon(outer=corners))
    return replace(made, parts=tuple(block if p.id == "block" else p for p in made.parts))


CASES = {
    "four-bar": (four_bar, four_bar_torque, four_bar_poses,
                 (("coupler", "crank"), ("coupler", "rocker"), ("rocker", "frame"))),
    "slider-crank": (long_block, slider_torque, slider_poses, (("rod", "block"),)),
    "slotted lever": (slotted_lever, lever_torque, lever_poses, (("lever", "frame"),)),
}


@pytest.mark.parametrize("backwards", [False, True], ids=["forwards", "backwards"])
@pytest.mark.parametrize("name", CASES)
def test_torque_with_friction_is_what_a_general_solver_finds(
    name: str, backwards: bool
) -> None:
    make, torque, poses, rubs = CASES[name]
    sketch = make(rpm=70.0, friction=(0.15, 0.45), **(
        {"springs": ()} if name == "four-bar" else {}))
    turn = solve_turn(sketch, steps=24)
    band = friction_band(turn, backwards=backwards, tolerance=1e-10)
    sense = -1.0 if backwards else 1.0
    omega = 70.0 * 2 * math.pi / 60
    start = math.radians(sketch.drive.drawn_deg)
    scale = np.nanmax(np.abs(band.high_nmm))
    # Where a part stands still on its pin for an instant, friction there may be anything
    # between both senses: nothing to compare.
    placed = poses(sketch)
    spins = [state(sketch, placed, crank - start, omega).spin for crank in turn.crank_rad]
    rests = {k for k, spin in enumerate(spins) for one, two in rubs
             if abs(spin[one] - spin[two]) < 1e-6}
    for mu, ours in ((0.15, band.low_nmm), (0.45, band.high_nmm)):
        compared = 0
        for k, crank in enumerate(turn.crank_rad):
            if k in rests:
                continue
            theirs = sense * torque(sketch, crank - start, omega, mu, sense)
            assert ours[k] == pytest.approx(theirs, abs=1e-6 * scale), (mu, k)
            compared += 1
        assert compared >= 20
    if not backwards:
        assert effort(turn).torque_high_nmm == pytest.approx(band.high_nmm, abs=1e-4 * scale)


def thrown(dice: np.random.Generator) -> Sketch:
    """A crank-rocker with lengths, masses, pace and direction of gravity thrown by dice."""
    while True:
        a, b, c = dice.uniform((20, 60, 50), (60, 160, 150))
        short, *between, long = sorted((100.0, a, b, c))
        if short == a and short + long < sum(between) - 8:
            break
    drawn = float(dice.uniform(0, 2 * math.pi))
    at_a = a * cmath.exp(1j * drawn)
    at_b = meeting(at_a, 100 + 0j, b, c, bool(dice.integers(2)))

    def part(name: str, middle: complex | None, **places: complex) -> Part:
        weighs = None
        if middle is not None:
            spot = middle + complex(*dice.uniform(-30, 30, 2))
            weighs = Mass(mass_kg=float(dice.uniform(0.05, 1)), x=spot.real, y=spot.imag,
                          inertia_kgmm2=float(dice.uniform(20, 800)))
        return Part(id=name, fixed=middle is None, mass=weighs, points=tuple(
            Point(id=key, x=z.real, y=z.imag) for key, z in places.items()))

    return Sketch(
        parts=(part("frame", None, O=0j, Q=100 + 0j), part("crank", at_a / 2, O=0j, A=at_a),
               part("coupler", (at_a + at_b) / 2, A=at_a, B=at_b),
               part("rocker", (at_b + 100) / 2, Q=100 + 0j, B=at_b)),
        pins=(Pin(id="o", at=("frame.O", "crank.O")), Pin(id="a", at=("crank.A", "coupler.A")),
              Pin(id="b", at=("coupler.B", "rocker.B")),
              Pin(id="q", at=("rocker.Q", "frame.Q"))),
        drive=Drive(pin="o", part="crank", drawn_deg=math.degrees(drawn),
                    rpm=float(dice.choice((-1, 1)) * dice.uniform(5, 120))),
        friction=(0.1, 0.6), gravity=Gravity(direction_deg=float(dice.uniform(-180, 180))))


@pytest.mark.parametrize("seed", range(8))
def test_torque_of_four_bars_thrown_by_dice_is_what_a_general_solver_finds(seed: int) -> None:
    sketch = thrown(np.random.default_rng(seed))
    turn = solve_turn(sketch, steps=9)
    assert turn.reached.all()
    band = friction_band(turn, tolerance=1e-10)
    omega, start = sketch.drive.rpm * 2 * math.pi / 60, math.radians(sketch.drive.drawn_deg)
    sense, scale = math.copysign(1.0, omega), np.abs(band.high_nmm).max()
    for mu, ours in ((0.1, band.low_nmm), (0.6, band.high_nmm)):
        # With the crank along the frame the coupler stands still on the rocker's pin.
        for k in range(1, 9):
            theirs = sense * four_bar_torque(sketch, turn.crank_rad[k] - start, omega, mu,
                                             sense)
            assert ours[k] == pytest.approx(theirs, abs=1e-6 * scale), (mu, k)


def balanced(*how: object) -> bool:
    """Whether the general solver finds reactions and a torque."""
    try:
        four_bar_torque(*how)
    except AssertionError:
        return False
    return True


def test_just_below_the_friction_that_locks_there_is_a_torque_and_just_above_none() -> None:
    """Coefficients of 8 and more: the pins of this four-bar are thin for its size."""
    most = 10.0
    sketch = four_bar(rpm=2.0, friction=(0.5, most), springs=())
    turn = solve_turn(sketch, steps=24)
    share = locking(turn).share
    start, omega = math.radians(sketch.drive.drawn_deg), 2.0 * 2 * math.pi / 60
    steps = [k for k in np.flatnonzero(np.isfinite(share)) if k % 12]  # not at rest on a pin
    assert len(steps) >= 15
    for k in steps:
        crank = turn.crank_rad[k] - start
        assert balanced(sketch, crank, omega, 0.995 * most * share[k], 1.0), k
        assert not balanced(sketch, crank, omega, 1.005 * most * share[k], 1.0), k
