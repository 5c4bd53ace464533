"""Makes the atlas: ``python -m core.wanted.atlas.build [FOLDER] [--share X] [--family ID]``.

The same version of the program makes the same atlas. By default everything goes into
``assets/atlas``; a share of 0.1 keeps a tenth of each family, for trying things out.
Families are sampled evenly in shape: of four times as many mechanisms as are kept, those
in crowded corners are thinned out.
"""

from __future__ import annotations

import argparse
import sys
import zlib
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from core.errors import FileError
from core.files import make_folder
from core.files.arrays import write_arrays
from core.wanted.atlas.shape import Complexes, Floats, evenly, harmonics, scaled, signature
from core.wanted.atlas.shelf import FOLDER, Shelf, packed
from core.wanted.engine import Mechanisms, joined, moved, run
from core.wanted.families import FAMILIES, Family

#: Mechanisms kept of each family (others: `_OTHERS`), the most useful having the most.
COUNTS = {"four-bar": 16000, "slider-crank": 4000, "slotted-lever": 1500,
          "quick-return-slide": 3000, "panel-chain-crank": 4000, "panel-chain-frame": 4000}
_OTHERS = {"geared": 2600, "six": 4500}
#: Harmonics kept of a path by arc length, by the crank, and of an angle.
SHAPE, TIMED, ANGLE = 7, 6, 5
#: Crank steps in a turn, places along a path.
_STEPS, _PLACES = 96, 96
#: Parameters larger than this many times the path make a mechanism of no use.
_LARGEST_PARAMETER = 16.0
_POOL = 4
_AT_ONCE = 2000
_TRANSMISSION_DEG = 20.0
_SEED = 20250

Ints = NDArray[np.intp]


def build(family: Family, count: int, seed: int = _SEED) -> Shelf:
    """A shelf of `count` mechanisms of a family (fewer when few are of use)."""
    rng = np.random.default_rng([seed, zlib.crc32(family.id.encode())])
    parts = [_seen(family, family.sample(rng, _AT_ONCE, _TRANSMISSION_DEG))
             for _ in range(-(-_POOL * count // _AT_ONCE))]
    axes = {"shape": 0, "timed": 0, "mean": 0, "angles": 1, "gains": 1}
    whole = Shelf(joined([part.mechanisms for part in parts]),
                  **{name: np.concatenate([getattr(part, name) for part in parts], axis=axis)
                     for name, axis in axes.items()})
    return _some(whole, _spread(signature(whole.shape), count, rng))


def _seen(family: Family, mechanisms: Mechanisms) -> Shelf:
    """What mechanisms do, those of no use left out, moved to place and size."""
    turns = family.recipe.turns
    crank = 2 * np.pi * np.arange(_STEPS * turns) / _STEPS
    done = run(family.recipe, mechanisms, crank, derive=False)
    path = done.point(family.tracer)
    even = evenly(path, _PLACES * turns)
    size = np.sqrt(np.sum(np.abs(harmonics(even, SHAPE)) ** 2, axis=1))
    middle = even.mean(axis=1)
    size = np.where(size > 0, size, 1e-12)
    placed = moved(family.recipe, mechanisms, (1 / size).astype(complex), -middle / size)
    use = (done.reached.all(axis=1) & np.isfinite(placed.params).all(axis=1)
           & (np.abs(placed.params).max(axis=1) < _LARGEST_PARAMETER))
    about = (path - middle[:, None]) / size[:, None]
    angles, gains = zip(*(_angle(done.angle(body)) for body in family.swinging), strict=True)
    shelf = Shelf(placed, scaled(harmonics(even, SHAPE)), harmonics(about, TIMED),
                  about.mean(axis=1), np.stack(angles), np.stack(gains))
    return _some(shelf, np.flatnonzero(use))


def _angle(angle: Floats) -> tuple[Complexes, NDArray[np.int8]]:
    """Coefficients of angles (M, N) over the cycle, and the whole turns left out of them."""
    count = angle.shape[1]
    closed = np.unwrap(np.concatenate([angle, angle[:, :1]], axis=1), axis=1)
    gain = np.round((closed[:, -1] - closed[:, 0]) / (2 * np.pi))
    swing = closed[:, :-1] - 2 * np.pi * gain[:, None] * np.arange(count) / count
    return (np.fft.rfft(swing, axis=1)[:, 1:ANGLE + 1] / count), gain.astype(np.int8)


def _some(shelf: Shelf, rows: Ints) -> Shelf:
    return Shelf(shelf.mechanisms[rows], shelf.shape[rows], shelf.timed[rows],
                 shelf.mean[rows], shelf.angles[:, rows], shelf.gains[:, rows])


def _spread(signatures: Floats, count: int, rng: np.random.Generator
            ) -> Ints:
    """Rows of `count` of them, drawn by lot with the better chances the further the
    neighbours are, in random order."""
    from scipy.spatial import cKDTree

    if len(signatures) <= count:
        return rng.permutation(len(signatures))
    near = cKDTree(signatures).query(signatures, k=8)[0][:, -1]
    chance = near / near.sum()
    return rng.choice(len(signatures), count, replace=False, p=chance)


def kept(family: str) -> int:
    """How many mechanisms of a family the atlas keeps."""
    return COUNTS.get(family) or _OTHERS[family.partition("-")[0]]


def main(argv: Sequence[str] | None = None) -> int:
    """Build and write into the folder, which is made if need be; the exit code."""
    parser = argparse.ArgumentParser(prog="python -m core.wanted.atlas.build",
                                     description=__doc__.splitlines()[0])
    parser.add_argument("folder", nargs="?", default=f"assets/{FOLDER}")
    parser.add_argument("--share", type=float, default=1.0)
    parser.add_argument("--family", action="append", choices=sorted(FAMILIES), default=[])
    given = parser.parse_args(argv)
    try:
        return _write(given.folder, given.family or list(FAMILIES), given.share)
    except FileError as error:
        sys.stderr.write(f"{error}\n")
        return 2


def _write(folder: str, families: Sequence[str], share: float) -> int:
    """Build a share of some families, write and tell them; 0."""
    make_folder(folder)
    total = 0
    for name in families:
        shelf = build(FAMILIES[name], max(int(share * kept(name)), 20))
        size = write_arrays(f"{folder}/{name}.npz", packed(name, shelf))
        total += size
        sys.stdout.write(f"{name:<44}{len(shelf):>7}{size / 1000:>9.0f} kB\n")
        sys.stdout.flush()
    sys.stdout.write(f"{'altogether':<51}{total / 1000:>9.0f} kB\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
