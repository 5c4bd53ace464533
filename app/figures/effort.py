"""The figures of docs/effort.md: a heron lifts its heavy head."""

from __future__ import annotations

import cmath
import math
from collections.abc import Callable

import numpy as np

from app.figures.lanes import Lane
from app.figures.linkage import draw_linkage, reach
from app.figures.plate import BRASS, FAINT, INK, WISH, Plate, Window
from core.effort import effort
from core.effort.hand import hand
from core.effort.states import states
from core.model import Bar, Drive, Handle, Part, Pin, Point, Sketch, Weight
from core.model import Plate as Board
from core.motion import Turn, solve_turn
from core.pleasant import Options, Proposal, WeightRules, advise

#: Fills of bands and stretches; hues far apart for all eyes (after Okabe and Ito).
_BAND, _AWAY, _HELD = "#ecd9b4", "#f1d6cf", "#d5e3ea"
_SKY, _GREEN, _RED = "#0072B2", "#009E73", "#B5482A"
_SHARES = (("gravity", "weight", _SKY, 150.0), ("inertia", "inertia", _GREEN, 62.0))


def heron() -> Sketch:
    """Crank 40, rod 145, neck lever 62 mm, and 190 mm farther on a head of 1.6 kg."""
    o, q = 0j, 150 + 10j
    a = 40 * cmath.exp(1j * math.radians(30))
    apart = abs(q - a)
    x = (145**2 - 62**2 + apart**2) / (2 * apart)
    b = a + (q - a) / apart * complex(x, math.sqrt(145**2 - x**2))
    head = q + 190 * cmath.exp(1j * math.radians(25))

    def points(**places: complex) -> tuple[Point, ...]:
        return tuple(Point(id=key, x=at.real, y=at.imag) for key, at in places.items())

    return Sketch(
        title="a heron lifts its head",
        parts=(Part(id="frame", fixed=True, layer=0, outline=Board(margin_mm=25.0),
                    points=points(O=o, Q=q, P=80 + 220j)),
               Part(id="crank", layer=1, points=points(O=o, A=a), outline=Bar(width_mm=24.0)),
               Part(id="rod", layer=2, points=points(A=a, B=b), outline=Bar(width_mm=16.0)),
               Part(id="neck", layer=1, points=points(B=b, Q=q, H=head), thickness_mm=12.0,
                    outline=Bar(width_mm=34.0), material="beech",
                    weights=(Weight(mass_kg=1.6, x=head.real, y=head.imag, diameter_mm=60.0,
                                    thickness_mm=60.0, made_of="carved head"),))),
        pins=(Pin(id="shaft", at=("frame.O", "crank.O"), diameter_mm=8.0),
              Pin(id="throw", at=("crank.A", "rod.A")),
              Pin(id="wrist", at=("rod.B", "neck.B")),
              Pin(id="root", at=("frame.Q", "neck.Q"), diameter_mm=8.0)),
        drive=Drive(pin="shaft", part="crank", rpm=20.0, drawn_deg=30.0),
        handle=Handle(radius_mm=60.0))


def lanes() -> str:
    """The heron, the torque with its shares, and what the hand feels."""
    turn = solve_turn(heron())
    found = effort(turn)
    feels = hand(turn, found)
    plate = Plate(800, 440)
    _mechanism(plate, turn, 10, 40, 230, 330)
    top = Lane(plate, 320, 40, 380, 160, -2.0, 2.0)
    top.shade(found.runaway, _AWAY)
    top.axes("Torque at the crank, N·m", (-2, -1, 0, 1, 2))
    top.band(turn.crank_rad, found.torque_low_nmm / 1e3, found.torque_high_nmm / 1e3, _BAND)
    for name, word, colour, deg in _SHARES:
        top.curve(turn.crank_rad, found.shares[name] / 1e3, colour, 1.4, "5 3")
        value = float(np.interp(math.radians(deg), turn.crank_rad, found.shares[name])) / 1e3
        plate.word(top.at(deg, value) + complex(6, -6), word, 11, colour)
    top.curve(turn.crank_rad, found.torque_nmm / 1e3)
    low = Lane(plate, 320, 260, 380, 140, -40.0, 40.0)
    low.shade(feels.over, _AWAY)
    low.axes("Push at the grip 60 mm out, N", (-40, -20, 0, 20, 40))
    low.band(turn.crank_rad, feels.force_low_n, feels.force_high_n, _BAND)
    low.curve(turn.crank_rad, feels.plain_n)
    for sign in (1.0, -1.0):
        low.level(sign * feels.limit_n, f"{feels.limit_n:g} N", _RED)
    plate.word(390j + 10, f"at most {feels.peak_n:.0f} N to push,", 13, FAINT)
    plate.word(408j + 10, f"{feels.hold_n:.0f} N to hold back", 13, FAINT)
    return plate.text()


def standing() -> str:
    """Where it stays when the handle is let go: as it is, and with a counterweight."""
    plate = Plate(800, 250)
    bare = heron()
    for left, title, sketch in ((60.0, "Let go, as it is", bare),
                                (460.0, "Let go, with the counterweight", _weighed().sketch)):
        turn = solve_turn(sketch)
        still = states(turn, effort(turn))
        far = 2.5 if sketch is bare else 0.4
        lane = Lane(plate, left, 50, 310, 150, -far, far)
        lane.shade(still.may_leave, _BAND)
        lane.shade(still.surely_leaves, _AWAY)
        lane.axes(f"{title}, N·m", np.linspace(-far, far, 5))
        lane.curve(turn.crank_rad, still.on_high_nmm / 1e3, INK, 1.8)
        lane.curve(turn.crank_rad, -still.off_high_nmm / 1e3, INK, 1.8, "5 4")
    plate.word(60 + 238j, "full: to push it on from rest; dashed: to let it back; most "
               "friction. Sand: it may set off by itself, red: it surely does.", 12, FAINT)
    return plate.text()


def _weighed() -> Proposal:
    rules = WeightRules(most=1, most_kg=2.0, parts=("neck",), sheets=(), washers=(),
                        rods=(("steel", 60.0), ("steel", 50.0)), tallest_mm=90.0)
    return advise(heron(), Options(kinds=("weights",), weights=rules)).proposals[0]


def weights() -> str:
    """The heron before and after a counterweight, with the proved bound."""
    return _before_after(_weighed())


def spring() -> str:
    """The heron before and after a spring."""
    return _before_after(advise(heron(), Options(kinds=("springs",))).proposals[0])


def _before_after(proposal: Proposal) -> str:
    plate = Plate(800, 330)
    _mechanism(plate, solve_turn(proposal.sketch), 10, 30, 250, 270, proposal)
    lane = Lane(plate, 340, 40, 360, 240, -2.0, 2.0)
    lane.axes("Torque at the crank, N·m", (-2, -1, 0, 1, 2))
    for each, fill, colour in ((proposal.before, _AWAY, FAINT), (proposal.after, _HELD, INK)):
        lane.band(each.crank_rad, each.low_nmm / 1e3, each.high_nmm / 1e3, fill)
        lane.curve(each.crank_rad, each.plain_nmm / 1e3, colour)
    for sign in (1.0, -1.0):
        lane.level(sign * proposal.bound_nmm / 1e3, "proved", WISH)
    plate.word(340 + 318j, f"at most {proposal.value_before / 1e3:.2f} N·m before, "
               f"{proposal.value_after / 1e3:.2f} N·m after", 13, FAINT)
    return plate.text()


def _mechanism(plate: Plate, turn: Turn, left: float, top: float, wide: float, tall: float,
               proposal: Proposal | None = None) -> None:
    sketch = turn.sketch
    drive = sketch.drive
    assert drive is not None
    weights = [(part, weight) for part in sketch.parts for weight in part.weights]
    extra = [complex(w.x, w.y) + w.diameter_mm / 2 * side for _, w in weights
             for side in (1, -1, 1j, -1j)]
    window = Window(plate, left, top, wide, tall, [*reach(turn), *extra])
    for spring in sketch.springs:
        ends = [sketch.place(ref) for ref in (spring.a, spring.b)]
        window.line(ends, colour=WISH, width=2.6, dash="2 3")
        for end in ends:
            window.dot(end, radius=3.0, colour=WISH)
    for part, weight in weights:
        pivot = next((p.place for p in part.points if p.id in ("Q", "O")), None)
        spot = complex(weight.x, weight.y)
        if proposal is not None and pivot is not None and not part.fixed:
            window.line([pivot, spot], colour=FAINT, width=5.0)
        window.dot(spot, radius=weight.diameter_mm / 2 * window.scale, colour=BRASS,
                   fill="#f3e6c8", width=2.0)
    draw_linkage(window, turn, math.radians(drive.drawn_deg))


FIGURES: dict[str, Callable[[], str]] = {
    "effort-lanes": lanes, "effort-standing": standing, "effort-weights": weights,
    "effort-spring": spring}
