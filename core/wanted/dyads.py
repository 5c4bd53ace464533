"""Two links through three poses in closed form: seeds for wished poses.

A *dyad* is a link `w` from a fixed pivot to a moving pin and a vector `z` from that pin to
the reference place of the body. From the first pose to pose j the link turns by β_j, the
body by α_j, and its place moves by δ_j:

    w (e^{iβ_j} − 1) + z (e^{iα_j} − 1) = δ_j.

With three poses and both β chosen these are two linear equations (standard-form dyad of
G. N. Sandor and A. G. Erdman, *Advanced Mechanism Design*, 1984; R. L. Norton, *Design of
Machinery*, chapter 5; both from memory, checked by an example). Chosen pins instead of
angles: the fixed pivot is the centre of the circle through the pin's three places.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

Complexes = NDArray[np.complex128]
Floats = NDArray[np.float64]


def dyad(places: ArrayLike, turns_rad: ArrayLike, link_rad: ArrayLike
         ) -> tuple[Complexes, Complexes]:
    """Link and body vectors, in the first pose, of dyads through three poses.

    Parameters
    ----------
    places : (3,) complex mm, the reference place of the body.
    turns_rad : (3,) its angle, counter-clockwise; only differences count.
    link_rad : (..., 3) the link's angle in the poses; only differences count.

    Returns
    -------
    w, z : (...) complex mm. The pin is at ``places[0] − z``, the fixed pivot at
        ``places[0] − z − w``. NaN where the equations have no single solution.
    """
    place = np.asarray(places, dtype=np.complex128)
    turn = np.exp(1j * np.asarray(turns_rad, dtype=np.float64))
    link = np.exp(1j * np.asarray(link_rad, dtype=np.float64))
    moved = place[1:] - place[0]
    body = turn[1:] / turn[0] - 1
    swung = link[..., 1:] / link[..., :1] - 1
    bottom = swung[..., 0] * body[1] - swung[..., 1] * body[0]
    with np.errstate(divide="ignore", invalid="ignore"):
        bottom = np.where(np.abs(bottom) > 1e-12, bottom, np.nan)
        w = (moved[0] * body[1] - moved[1] * body[0]) / bottom
        z = (swung[..., 0] * moved[1] - swung[..., 1] * moved[0]) / bottom
    return w, z


def pins_in_poses(places: ArrayLike, turns_rad: ArrayLike, pins: ArrayLike) -> Complexes:
    """Where pins of the body, given by their places (...) in the first pose, are in every
    pose: (..., K) complex mm. `places`, `turns_rad` (K,) as of :func:`dyad`."""
    place = np.asarray(places, dtype=np.complex128)
    turn = np.exp(1j * np.asarray(turns_rad, dtype=np.float64))
    pin = np.asarray(pins, dtype=np.complex128)[..., None]
    moved: Complexes = place + (pin - place[0]) * turn / turn[0]
    return moved


def centres(three: ArrayLike) -> Complexes:
    """Centres (...) of the circles through three places (..., 3), complex mm; NaN where
    the three lie on a line."""
    place = np.asarray(three, dtype=np.complex128)
    b, c = place[..., 1] - place[..., 0], place[..., 2] - place[..., 0]
    cross = (b.conj() * c).imag
    with np.errstate(divide="ignore", invalid="ignore"):
        cross = np.where(np.abs(cross) > 1e-12 * np.abs(b * c), cross, np.nan)
        centre: Complexes = place[..., 0] + (
            1j * (b * np.abs(c) ** 2 - c * np.abs(b) ** 2) / (2 * cross))
    return centre


def fixed_pivots(places: ArrayLike, turns_rad: ArrayLike, pins: ArrayLike) -> Complexes:
    """The fixed pivots (...) on which links carry `pins` (...) of the body through its
    three poses; NaN where the pin goes straight (a slide would do)."""
    return centres(pins_in_poses(places, turns_rad, pins))


def pins_of(places: ArrayLike, turns_rad: ArrayLike, pivots: ArrayLike) -> Complexes:
    """The pins (...), by their places in the first pose, which links from the fixed
    `pivots` (...) carry through three poses: the circle seen from the body (kinematic
    inversion). NaN where there is none."""
    place = np.asarray(places, dtype=np.complex128)
    turn = np.exp(1j * np.asarray(turns_rad, dtype=np.float64))
    pivot = np.asarray(pivots, dtype=np.complex128)[..., None]
    return centres(place[0] + (pivot - place) * turn[0] / turn)
