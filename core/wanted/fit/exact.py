"""Four-bars exactly through a few wished places, for a crank that may rock.

A four-bar through given places (`core.wanted.precision`) may meet some of them only when
taken apart and put together the other way. Of each that is found and its two cognates, which
draw the same curve, driven from either side, those are kept that meet all places put together
in one way; where the crank can then go in one swing, the fit sees itself.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import chain

import numpy as np
from numpy.typing import NDArray

from core.wanted.cognates import FourBar, cognates
from core.wanted.precision import FEWEST, MOST, Through, four_bars_through

Complexes = NDArray[np.complex128]

#: Random starts of a batch, and at most so many batches: with nine places one in some twenty
#: holds a four-bar that meets them in one assembly (a published problem, measured).
STARTS, BATCHES = 800, 32
#: Fewer places than that leave whole families of four-bars: a few starts find some.
FEW, FEW_STARTS, FEW_BATCHES = 8, 120, 3


def in_one_assembly(places: Complexes, random: np.random.Generator,
                    go_on: Callable[[], bool]) -> Iterator[FourBar]:
    """Four-bars through all places (K,), K from 3 to 9, that need not be taken apart
    between them, in the pose at the first; found as they are asked for. `go_on` is asked
    before each batch; False stops.
    """
    if not FEWEST <= len(places) <= MOST or np.abs(np.diff(places)).max() == 0.0:
        return
    few = len(places) < FEW
    for _ in range(FEW_BATCHES if few else BATCHES):
        if not go_on():
            return
        found = four_bars_through(places, seed=int(random.integers(1 << 31)),
                                  starts=FEW_STARTS if few else STARTS)
        for number in range(len(found)):
            yield from one_assembly(_along(found, number, places))


def one_assembly(bar: _Along) -> Iterator[FourBar]:
    """The four-bar and its cognates, driven from either side, as far as they meet all
    places put together in one way; in the pose at the first place."""
    for one in chain.from_iterable((each, _other_side(each)) for each in _kin(bar)):
        side = np.sign((np.conj(one.b - one.a) * (one.o4 - one.b)).imag)
        if abs(int(side.sum())) == len(side):
            yield FourBar(*(complex(each[0]) for each in (
                one.o2, one.o4, one.a, one.b, one.p)))


class _Along:
    """A four-bar in its poses at all places; (K,) complex each."""

    def __init__(self, o2: Complexes, o4: Complexes, a: Complexes, b: Complexes,
                 p: Complexes) -> None:
        self.o2, self.o4, self.a, self.b, self.p = o2, o4, a, b, p


def _along(through: Through, number: int, places: Complexes) -> _Along:
    spun, still = np.exp(1j * through.turn_rad[number]), np.ones(len(places))
    a, b = (places + spun * (pin[number] - places[0]) for pin in (through.a, through.b))
    return _Along(through.o2[number] * still, through.o4[number] * still, a, b, places)


def _other_side(bar: _Along) -> _Along:
    return _Along(bar.o4, bar.o2, bar.b, bar.a, bar.p)


def _kin(bar: _Along) -> Iterator[_Along]:
    yield bar
    poses = [cognates(FourBar(*map(complex, pose))) for pose in zip(
        bar.o2, bar.o4, bar.a, bar.b, bar.p, strict=True)]
    for which in (0, 1):
        kin = [pose[which] for pose in poses]
        yield _Along(*(np.array([getattr(each, name) for each in kin])
                       for name in ("o2", "o4", "a", "b", "p")))
