"""Cognates of a found four-bar as mechanisms of their families."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from core.wanted.cognates import FourBar, cognates, five_bar
from core.wanted.engine import Mechanisms, named, run
from core.wanted.families import FAMILIES

#: A cognate with a link this much longer than the mechanism it comes from is of no use.
_TOO_LONG = 6.0


def kin_of(mechanism: Mechanisms, *, timed: bool) -> Iterator[tuple[str, Mechanisms]]:
    """The cognates of one four-bar that a crank can drive, with ids of their families: one
    with the same timing, the geared five-bar, and, unless the wish is `timed`, the one
    whose crank turns as the coupler does (where that goes round)."""
    bar = _placed(mechanism)
    try:
        same, other = cognates(bar)
        five = five_bar(bar)
    except ZeroDivisionError:
        return
    longest = _TOO_LONG * _longest(bar)
    for cognate in (same,) if timed else (same, other):
        if _longest(cognate) < longest:
            yield "four-bar", _four_bar(cognate)
    if max(abs(five.o5 - five.o2), abs(five.p - five.a), abs(five.p - five.c)) < longest:
        yield "geared-five-bar-1", _five_bar(five.o2, five.o5, five.a, five.c, five.p)


def _longest(bar: FourBar) -> float:
    return max(abs(bar.o4 - bar.o2), abs(bar.b - bar.a), abs(bar.p - bar.a),
               abs(bar.b - bar.o4))


def _placed(mechanism: Mechanisms) -> FourBar:
    """The four-bar at crank angle 0."""
    done = run(FAMILIES["four-bar"].recipe, mechanism, np.zeros(1), derive=False)
    o2, o4, a, b, p = (complex(done.point(name)[0, 0])
                       for name in ("shaft", "pivot", "throw", "elbow", "tip"))
    return FourBar(o2=o2, o4=o4, a=a, b=b, p=p)


def _four_bar(bar: FourBar) -> Mechanisms:
    coupler = bar.b - bar.a
    tip = (bar.p - bar.a) * coupler.conjugate() / abs(coupler)
    return named(FAMILIES["four-bar"].recipe, {
        "shaft.x": bar.o2.real, "shaft.y": bar.o2.imag, "pivot.x": bar.o4.real,
        "pivot.y": bar.o4.imag, "crank": abs(bar.a - bar.o2), "coupler": abs(coupler),
        "rocker": abs(bar.b - bar.o4), "tip.u": tip.real, "tip.v": tip.imag},
        [_side(bar.a, bar.o4, bar.b)])


def _five_bar(o2: complex, o5: complex, a: complex, c: complex, p: complex) -> Mechanisms:
    return named(FAMILIES["geared-five-bar-1"].recipe, {
        "shaft.x": o2.real, "shaft.y": o2.imag, "pivot.x": o5.real, "pivot.y": o5.imag,
        "crank": abs(a - o2), "second crank": abs(c - o5),
        "second crank.phase": float(np.angle((c - o5) / (a - o2))),
        "coupler": abs(p - a), "second coupler": abs(p - c),
        "tip.u": abs(p - a), "tip.v": 0.0}, [_side(a, c, p)])


def _side(start: complex, end: complex, pin: complex) -> int:
    return 1 if ((end - start).conjugate() * (pin - start)).imag >= 0 else -1
