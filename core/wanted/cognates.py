"""Other mechanisms whose tracer draws the very same path as a four-bar's coupler point.

Every four-bar coupler curve is drawn by three four-bars (the Roberts–Chebyshev theorem)
and by geared five-bars with gears of ratio one. Derivation, with a = A − O2, b = B − A,
c = B − O4, d = O4 − O2 and the tracer P = A + k·b: since a + b = d + c, multiplying the
loop by k or by k − 1 gives the loops of the others. See e.g. A. S. Hall, *Kinematics and
Linkage Design*, 1961 (from memory); the identity itself is tested to 1e-9.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class FourBar:
    """A four-bar in one pose, places x + iy mm: fixed pivots `o2` (of the link driven)
    and `o4`, moving pins `a` and `b`, tracer `p` on the coupler."""

    o2: complex
    o4: complex
    a: complex
    b: complex
    p: complex

    @property
    def ratio(self) -> complex:
        """k, the tracer's place on the coupler: P = A + k (B − A)."""
        return (self.p - self.a) / (self.b - self.a)


@dataclass(frozen=True)
class FiveBar:
    """A five-bar in one pose whose cranks turn alike (gears 1 : 1 with an idler, or a
    belt): fixed pivots `o2`, `o5`, crank pins `a`, `c`, and the tracer `p` where the two
    rods meet. Places x + iy mm."""

    o2: complex
    o5: complex
    a: complex
    c: complex
    p: complex


def third_pivot(bar: FourBar) -> complex:
    """The third fixed pivot of the theorem: O3 − O2 = k (O4 − O2)."""
    return bar.o2 + bar.ratio * (bar.o4 - bar.o2)


def cognates(bar: FourBar) -> tuple[FourBar, FourBar]:
    """The two other four-bars through the same tracer path, in the pose of `bar`.

    The first has its driven link at O3; that link turns as the crank of `bar` does, so
    the timing stays as well. The second stands on O2 and O3; its link at O2 turns as the
    coupler of `bar`, so it goes all round only when that does.

    Raises ZeroDivisionError when A and B coincide.
    """
    k = bar.ratio
    crank, coupler, rocker = bar.a - bar.o2, bar.b - bar.a, bar.b - bar.o4
    o3 = third_pivot(bar)
    timed = FourBar(o2=o3, o4=bar.o4, a=o3 + (1 - k) * crank,
                    b=bar.o4 + (k - 1) * coupler, p=bar.p)
    other = FourBar(o2=bar.o2, o4=o3, a=bar.o2 + k * coupler, b=o3 + k * rocker, p=bar.p)
    return timed, other


def five_bar(bar: FourBar) -> FiveBar:
    """The geared five-bar with cranks of equal turn through the same path, in the pose
    of `bar`: the crank of `bar` itself and the one of its first cognate. Same timing.

    Raises ZeroDivisionError when A and B coincide.
    """
    timed, _ = cognates(bar)
    return FiveBar(o2=bar.o2, o5=timed.o2, a=bar.a, c=timed.a, p=bar.p)
