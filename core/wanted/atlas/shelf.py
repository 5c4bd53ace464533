"""The atlas as it is kept: for every family many mechanisms and what each does, in a few
bytes each.

Mechanisms are moved so that their tracer's path lies about 0 and has size 1 (by even arc
length, Σ|c_k|² = 1). Parameters are whole numbers of 16 bits between the least and the
largest of each, coefficients of 8 bits of the largest of each path: seeds for a descent
need no more.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from core.errors import FileError
from core.files.arrays import Arrays, shipped_arrays
from core.wanted.atlas.shape import Complexes, Floats, signature
from core.wanted.engine import Mechanisms
from core.wanted.families import FAMILIES

FOLDER = "atlas"


@dataclass(frozen=True)
class Shelf:
    """What the atlas has of one family.

    Attributes
    ----------
    mechanisms : M of them, tracer's path about 0 and of size 1.
    shape : (M, 2H) coefficients of the path by arc length, scaled.
    timed : (M, 2H) coefficients of the path by the share of the crank's cycle, not scaled;
        `mean` (M,) its mean over the crank, which lies off 0 where it lingers.
    angles : (B, M, H) coefficients k = 1 … H of the angle of each body that swings, by the
        share of the cycle, its whole turns left out.
    gains : (B, M) whole turns each makes in a cycle.
    """

    mechanisms: Mechanisms
    shape: Complexes
    timed: Complexes
    mean: Complexes
    angles: Complexes
    gains: NDArray[np.int8]

    def __len__(self) -> int:
        return len(self.mechanisms)

    @cached_property
    def tree(self) -> Any:
        """The signatures in a tree (scipy's cKDTree), planted when first asked for."""
        from scipy.spatial import cKDTree

        return cKDTree(signature(self.shape), balanced_tree=False, compact_nodes=False)


@lru_cache(maxsize=64)
def shelf(family: str) -> Shelf:
    """The shelf of a family; raises FileError when it is missing, damaged, or was made for
    other parameters than the family has now."""
    arrays = shipped_arrays(FOLDER, family)
    if fingerprint(family) != str(arrays.get("made for")):
        raise FileError("it was made by another version", f"{FOLDER}/{family}.npz",
                        "make it anew with python -m core.wanted.atlas.build")
    return unpacked(arrays)


def fingerprint(family: str) -> str:
    """What a shelf must agree with: the steps of the family's recipe and what is seen."""
    own = FAMILIES[family]
    return f"{own.recipe.steps!r} {own.tracer} {own.swinging}"


def packed(family: str, full: Shelf) -> Arrays:
    """The shelf of a family as small arrays."""
    params = full.mechanisms.params
    low, high = params.min(axis=0), params.max(axis=0)
    step = np.where(high > low, high - low, 1.0) / 65535
    arrays: Arrays = {
        "params": np.round((params - low) / step).astype(np.uint16),
        "low": low, "step": step,
        "signs": full.mechanisms.signs.astype(np.int8), "gains": full.gains,
        "mean": full.mean.astype(np.complex64),
        "made for": np.array(fingerprint(family)),
    }
    for name in ("shape", "timed", "angles"):
        values = getattr(full, name)
        both = np.stack([values.real, values.imag], axis=-1)
        size = np.maximum(np.abs(both).max(axis=(-1, -2), initial=0.0), 1e-12)
        arrays[name] = np.round(127 * both / size[..., None, None]).astype(np.int8)
        arrays[f"{name} size"] = size.astype(np.float32)
    return arrays


def unpacked(arrays: Arrays) -> Shelf:
    """The shelf that was packed, as near as its few bytes tell."""
    def coefficients(name: str) -> Complexes:
        both = arrays[name].astype(np.float32) * (
            arrays[f"{name} size"].astype(np.float32)[..., None, None] / np.float32(127))
        pairs: Complexes = np.ascontiguousarray(both).view(np.complex64)[..., 0]
        return pairs

    params: Floats = arrays["low"] + arrays["params"] * arrays["step"]
    return Shelf(Mechanisms(params, arrays["signs"].astype(np.int8)), coefficients("shape"),
                 coefficients("timed"), arrays["mean"], coefficients("angles"),
                 arrays["gains"].astype(np.int8))
