"""How often `find` comes near: ``python -m app.bench.finding [--count N] [--svg OUT]``.

Wishes are paths of random mechanisms of every family, drawn by another lot than the atlas,
each searched for by its own family and, with ``--all``, by all of them together. Told is
the largest distance of the best proposal from the wish as a share of the wish's size. With
``--drawn FILE …`` the wishes are curves from files instead (shapes no mechanism made),
searched for by each family alone.
"""

from __future__ import annotations

import argparse
import sys
import zlib
from collections.abc import Iterable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from multiprocessing import get_context
from pathlib import Path

import numpy as np

from app.finding import path_wish
from core.files import write_bytes
from core.model import FitRules, Sketch, WantedPath
from core.wanted.engine import moved, run
from core.wanted.families import FAMILIES
from core.wanted.find import find

#: Shares of the size asked about, per cent.
SHARES = (0.1, 0.2, 0.5, 1.0, 2.0, 5.0)
#: Wishes are so large, mm, have so many handles for a turn, and a tolerance of one per cent.
SIZE_MM, HANDLES, TOLERANCE = 100.0, 24, 0.01
_SEED = 9001


@dataclass(frozen=True)
class Trial:
    """A wish, where it comes from, and the families that search (none: all)."""

    source: str
    wish: WantedPath
    families: tuple[str, ...]
    seed: int


def random_wish(family: str, number: int) -> WantedPath:
    """The path of the random mechanism of that number: the same each time."""
    own = FAMILIES[family]
    rng = np.random.default_rng([_SEED, number, zlib.crc32(family.encode())])
    mechanism = own.sample(rng, 1)
    turns = own.recipe.turns
    handles = 2 * np.pi * np.arange(HANDLES * turns) / HANDLES
    path = run(own.recipe, mechanism, handles, derive=False).point(own.tracer)[0]
    size = max(np.ptp(path.real), np.ptp(path.imag))
    turn = SIZE_MM / size * np.exp(2j * np.pi * rng.random())
    placed = moved(own.recipe, mechanism, turn, -turn * path.mean())
    # Turned along with the mechanism, the crank meets the same places a little later.
    path = run(own.recipe, placed, handles, derive=False).point(own.tracer)[0]
    return WantedPath(id="path", tolerance_mm=TOLERANCE * SIZE_MM, either_way=True,
                      through=tuple((float(z.real), float(z.imag)) for z in path))


def share(trial: Trial) -> float:
    """The largest distance of the best proposal, as a share of the wish's size; infinite
    when there is none."""
    sketch = Sketch(wanted=(trial.wish,), fit=FitRules(transmission_deg=20.0))
    found = find(sketch, seed=trial.seed, top=4, families=trial.families or None)
    x, y = np.array(trial.wish.through).T
    return min((one.worst_mm for one in found.proposals), default=np.inf) / float(
        max(np.ptp(x), np.ptp(y)))


def trials(count: int, families: Sequence[str], together: bool) -> Iterator[Trial]:
    """`count` random wishes, as many of each family."""
    for number in range(count):
        name = families[number % len(families)]
        yield Trial(name, random_wish(name, number // len(families)),
                    () if together else (name,), number)


def drawn(paths: Iterable[str], families: Sequence[str]) -> Iterator[Trial]:
    """Every curve for every family."""
    for path in paths:
        wish = path_wish(path)
        for name in families:
            yield Trial(f"{Path(path).stem}: {name}", wish, (name,), 0)


def together(shares: dict[str, list[float]]) -> list[float]:
    """All shares of all sources."""
    return [value for values in shares.values() for value in values]


def table(shares: dict[str, list[float]]) -> str:
    """How many come within each share, per cent, and the median, by source."""
    head = f"{'':<44}{'wishes':>7}" + "".join(f"{f'≤ {at:g} %':>9}" for at in SHARES)
    lines = [f"{head}{'median %':>10}"]
    for name, values in [*shares.items(), ("all", together(shares))]:
        got = np.array(values)
        within = "".join(f"{100 * np.mean(got <= at / 100):>9.0f}" for at in SHARES)
        lines.append(f"{name:<44}{len(got):>7}{within}{100 * np.median(got):>10.2g}")
    return "\n".join(lines)


def picture(shares: dict[str, list[float]]) -> str:
    """The curves as SVG: share of wishes (up) that come within a share of the size
    (across, logarithmic), a thin line for each family and a bold one for all."""
    wide, high, left, foot = 560.0, 300.0, 46.0, 34.0
    low, top = np.log10(0.02), np.log10(10.0)

    def line(values: Sequence[float], style: str) -> str:
        got = np.sort(100 * np.array(values))
        at = np.clip((np.log10(np.maximum(got, 1e-9)) - low) / (top - low), 0, 1)
        part = np.arange(1, len(got) + 1) / len(got)
        x, y = left + at * (wide - left), (high - foot) * (1 - part) + 4
        steps = " ".join(f"{a:.1f},{b:.1f}" for a, b in zip(x, y, strict=True))
        return f'<polyline fill="none" {style} points="{steps}"/>'

    marks = "".join(
        f'<text x="{left + (np.log10(at) - low) / (top - low) * (wide - left):.1f}" '
        f'y="{high - 14:.1f}" text-anchor="middle">{at:g} %</text>'
        for at in (0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0))
    sides = "".join(f'<text x="{left - 6:.1f}" y="{(high - foot) * (1 - p / 100) + 8:.1f}" '
                    f'text-anchor="end">{p} %</text>' for p in (0, 25, 50, 75, 100))
    curves = "".join(line(values, 'stroke="#0072B2" stroke-width="0.6" opacity="0.5"')
                     for values in shares.values())
    whole = line(together(shares), 'stroke="#222" stroke-width="2.4"')
    return (f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {wide + 10:.0f} '
            f'{high:.0f}" font-size="11" font-family="sans-serif"><title>Wishes met within a '
            f'share of their size</title>{marks}{sides}{curves}{whole}</svg>\n')


def main(argv: Sequence[str] | None = None) -> int:
    """Measure and print; 0 whatever the figures are."""
    parser = argparse.ArgumentParser(prog="python -m app.bench.finding",
                                     description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--count", type=int, default=1000)
    parser.add_argument("--family", action="append", choices=sorted(FAMILIES), default=[])
    parser.add_argument("--all", action="store_true", help="let all families search")
    parser.add_argument("--drawn", nargs="+", default=[], metavar="FILE")
    parser.add_argument("--svg", metavar="OUT", help="write the curves as a picture")
    parser.add_argument("--processes", type=int, default=2)
    given = parser.parse_args(argv)
    families = given.family or list(FAMILIES)
    every = list(drawn(given.drawn, families) if given.drawn
                 else trials(given.count, families, given.all))
    shares: dict[str, list[float]] = {}
    pool = ProcessPoolExecutor(given.processes, get_context("spawn"))
    try:
        for trial, got in zip(every, pool.map(share, every), strict=True):
            shares.setdefault(trial.source, []).append(got)
            sys.stderr.write(".")
            sys.stderr.flush()
    except KeyboardInterrupt:  # tell what is known by then
        pool.shutdown(cancel_futures=True)
    print(f"\n{table(shares)}")
    if given.svg:
        write_bytes(given.svg, picture(shares).encode("utf-8"))
    return 0


if __name__ == "__main__":
    sys.exit(main())
