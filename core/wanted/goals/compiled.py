"""The goals: wishes compiled once, then held against any mechanisms."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from core.model.wanted import WantedMotion
from core.wanted.goals.compile import draft_of
from core.wanted.goals.dense import Dense, Floats, Instants, Ints, Seen
from core.wanted.goals.matching import match
from core.wanted.goals.plan import FREE, TIMED, Tables, floats, indices, mask
from core.wanted.goals.residuals import advance, residuals


class Goals(Tables):
    """Wishes as K samples and R rows, independent of any mechanism.

    The use: observe the channels of M mechanisms over a cycle (`Dense`), `match` for the
    instants, observe value, slope and derivatives just there (`Seen`), take `residuals`,
    step the parameters, `advance` the instants, observe again; and match anew now and then.
    """

    @property
    def samples(self) -> int:
        """K."""
        return int(self.channel.size)

    @property
    def rows(self) -> int:
        """R."""
        return int(self.row_sample.size)

    def samples_of(self, channel: int) -> Ints:
        """Indices of the samples of a channel."""
        return np.flatnonzero(self.channel == channel)

    def match(self, dense: Dense, exact: bool | None = None) -> Instants:
        """The instants at which M mechanisms meet the wishes best.

        Samples of a path without timing rise in the order of travel, once round at most;
        the common offset is the best of all; instants between the steps are found by
        interpolation. Samples nothing reached is near enough for are NaN.

        Parameters
        ----------
        exact : whether the order of samples along a cyclic trace must be the best of all
            (branch and bound), or of the most promising starts; None: for one mechanism only.
        """
        exact = dense.count == 1 if exact is None else exact
        return match(self, dense, None if exact else 2)

    def residuals(self, instants: Instants, seen: Seen) -> tuple[Floats, Floats | None]:
        """Errors in tolerances, weighted, with all that is free eliminated.

        The sum of squares of a row of `r` is Σ weight · mean (error / tolerance)² over the
        wishes. The signs of rows that belong to samples with free instants are arbitrary
        but fit their derivatives. A Gauss–Newton step by `jacobian` is that of the whole
        problem with instants, offset and constants as unknowns.

        Returns
        -------
        r : (M, R); a row whose instant is not reached counts 10 000 tolerances.
        jacobian : (M, R, P), or None where `seen` has no derivatives.
        """
        return residuals(self, instants, seen)

    def advance(self, instants: Instants, seen: Seen, step: Floats | None = None
                ) -> Instants:
        """The instants moved to where they suit best after the parameters have moved.

        Parameters
        ----------
        seen : at `instants`, before the step.
        step : (M, P) of the parameters; None: they stay, and the instants are improved.
        """
        return advance(self, instants, seen, step)

    def error(self, r: Floats) -> Floats:
        """(M,) root mean square error in tolerances, over all wishes by their weights, of
        rows (M, R)."""
        mean: Floats = np.sqrt((r * r).sum(axis=-1) / self.weight)
        return mean


def goals(wishes: Sequence[WantedMotion], *, sense: int = 1, start_free: bool = True,
          fineness: int = 64, turns: int = 1) -> Goals:
    """Wishes compiled, in their order.

    Parameters
    ----------
    sense : +1 where the crank is driven counter-clockwise (rising readings), −1 otherwise.
    start_free : whether one common offset of the crank's reading is free for all timed
        wishes together.
    fineness : samples of a closed curve, and of a turn of a curve of angles; half as many
        of an open curve.
    turns : turns of the crank in the cycle: what is tied to crank angles must hold in each.
    """
    sense = 1 if sense >= 0 else -1
    draft = draft_of(wishes, sense, fineness, turns)
    kinds, row_scale = draft.kind, floats(draft.row_scale)
    group = indices(draft.row_group)
    groups = np.where(group == np.arange(draft.groups)[:, None], row_scale, 0.0)
    worth = np.zeros(row_scale.size)
    for share in draft.shares:
        worth[share.rows] = math.sqrt(max(wishes[share.wish].weight, 0.0)
                                      / max(share.count, 1))
    channel = indices(draft.channel)
    angle = np.array([one.kind == "angle" for one in draft.channels], bool)
    return Goals(
        wishes=tuple(wishes), channels=tuple(draft.channels), sense=sense,
        start_free=start_free, channel=channel,
        angles=angle[channel] if channel.size else np.zeros(0, bool),
        timed=mask(kinds, TIMED), free=mask(kinds, FREE),
        reading_rad=floats(draft.reading), target=np.array(draft.target, np.complex128),
        row_sample=indices(draft.row_sample),
        row_way=np.array(draft.row_way, np.complex128), row_scale=row_scale,
        row_group=group, row_worth=worth, groups=groups, runs=tuple(draft.runs),
        extremes=tuple(draft.extremes), ratios=tuple(draft.ratios),
        shares=tuple(draft.shares),
        weight=float(sum(wish.weight for wish in wishes)) or 1.0)


