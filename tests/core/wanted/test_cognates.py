"""Cognates draw the same path, all round."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from core.wanted.cognates import FourBar, cognates, five_bar, third_pivot


def at(crank_rad: float, links: tuple[float, float, float, float], tracer: complex) -> FourBar:
    """A four-bar standing on 0 and `d`, upper branch, tracer in coupler axes."""
    d, a, b, c = links
    pin = a * np.exp(1j * crank_rad)
    across = d - pin
    cos = (b * b + abs(across) ** 2 - c * c) / (2 * b * abs(across))
    along = across / abs(across) * complex(cos, np.sqrt(1 - cos * cos))
    return FourBar(o2=0j, o4=complex(d), a=pin, b=pin + b * along, p=pin + along * tracer)


def sizes(bar: FourBar) -> NDArray[np.float64]:
    """Everything about a four-bar that must not change while it turns."""
    return np.array([bar.o2.real, bar.o2.imag, bar.o4.real, bar.o4.imag, abs(bar.a - bar.o2),
                     abs(bar.b - bar.a), abs(bar.b - bar.o4), bar.ratio.real, bar.ratio.imag])


LINKS, TRACER = (100.0, 40.0, 120.0, 80.0), 60 + 50j


def test_lengths_of_cognates_stay_while_their_tracer_follows_the_same_path() -> None:
    """Roberts–Chebyshev: O3 = O2 + k (O4 − O2); the lengths are our own calculation."""
    start = at(0.0, LINKS, TRACER)
    assert third_pivot(start) == pytest.approx(50 + 41.6667j, abs=1e-4)
    timed, other = cognates(start)
    assert sizes(timed)[4:7] == pytest.approx([26.0341656, 52.0683313, 78.1024968], abs=1e-6)
    assert sizes(other)[4:7] == pytest.approx([78.1024968, 26.0341656, 52.0683313], abs=1e-6)
    for crank in np.linspace(0.1, 6.2, 25):
        bar = at(crank, LINKS, TRACER)
        for first, now in zip(cognates(start), cognates(bar), strict=True):
            assert sizes(now) == pytest.approx(sizes(first), abs=1e-9)
            assert now.p == bar.p


def test_the_first_cognate_and_the_five_bar_keep_the_timing() -> None:
    start = at(0.0, LINKS, TRACER)
    for crank in np.linspace(0.1, 6.2, 25):
        bar = at(crank, LINKS, TRACER)
        timed, first = cognates(bar)[0], cognates(start)[0]
        turned = (timed.a - timed.o2) / (first.a - first.o2)
        assert turned == pytest.approx(np.exp(1j * crank), abs=1e-9)
        five, five_start = five_bar(bar), five_bar(start)
        assert five.c == pytest.approx(timed.a)
        assert (five.c - five.o5) / (five_start.c - five_start.o5) == pytest.approx(turned)
        assert abs(five.p - five.c) == pytest.approx(abs(five_start.p - five_start.c))
        assert abs(five.p - five.a) == pytest.approx(abs(five_start.p - five_start.a))


def test_the_cognates_of_a_cognate_are_the_other_two() -> None:
    bar = at(0.7, LINKS, TRACER)
    timed, other = cognates(bar)
    back, third = cognates(timed)
    other_way_round = FourBar(o2=other.o4, o4=other.o2, a=other.b, b=other.a, p=other.p)
    assert sizes(third) == pytest.approx(sizes(other_way_round), abs=1e-9)
    assert sizes(back) == pytest.approx(sizes(bar), abs=1e-9)


def test_a_coupler_without_length_has_no_cognates() -> None:
    with pytest.raises(ZeroDivisionError):
        cognates(FourBar(o2=0j, o4=10 + 0j, a=1 + 0j, b=1 + 0j, p=2 + 0j))
