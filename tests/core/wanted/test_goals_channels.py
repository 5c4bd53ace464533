"""What must be observed of a mechanism for its wishes."""

from __future__ import annotations

import numpy as np

from core.model import (
    Knot,
    Tick,
    WantedAngle,
    WantedDwell,
    WantedPath,
    WantedPose,
    WantedRatio,
    WantedStroke,
    WantedSwing,
)
from core.wanted.goals import Dense, Seen, goals

LOOP = ((0.0, 0.0), (30.0, 0.0), (20.0, 20.0))
KNOTS = (Knot(crank_deg=0, angle_deg=0), Knot(crank_deg=180, angle_deg=40))
POSE = WantedPose(id="p", crank_deg=0, x=0, y=0, angle_deg=0)


def test_wishes_of_one_thing_share_a_channel() -> None:
    compiled = goals([
        WantedPath(id="path", point="rod.P", through=LOOP),
        WantedStroke(id="stroke", point="rod.P", start=(0, 0), end=(9, 0)),
        WantedAngle(id="angle", part="rod", knots=KNOTS),
        WantedSwing(id="swing", part="rod", from_deg=0, to_deg=9),
        WantedAngle(id="line", part="rod", line=("rod.A", "rod.P"), knots=KNOTS),
        WantedPose(id="pose", at="rod.A", toward="rod.P", crank_deg=0, x=0, y=0,
                   angle_deg=0)])
    assert [(one.kind, one.ref, one.line, one.of) for one in compiled.channels] == [
        ("point", "rod.P", (), ("path", "stroke")),
        ("angle", "rod", (), ("angle", "swing")),
        ("angle", "rod", ("rod.A", "rod.P"), ("line", "pose")),
        ("point", "rod.A", (), ("pose",))]
    for number in range(4):
        assert compiled.samples_of(number).size
    assert sum(compiled.samples_of(k).size for k in range(4)) == compiled.samples


def test_wishes_of_nothing_are_each_of_something_else_but_for_poses() -> None:
    compiled = goals([
        WantedPath(id="one", through=LOOP), WantedPath(id="two", through=LOOP), POSE,
        WantedPose(id="q", crank_deg=90, x=5, y=0, angle_deg=10),
        WantedAngle(id="angle", knots=KNOTS)])
    assert [(one.kind, one.ref, one.of) for one in compiled.channels] == [
        ("point", "", ("one",)), ("point", "", ("two",)), ("point", "", ("p", "q")),
        ("angle", "", ("p", "q")), ("angle", "", ("angle",))]


def test_a_wish_of_nothing_keeps_its_channel_in_every_turn_of_a_cycle() -> None:
    compiled = goals([WantedDwell(id="rest", from_deg=10, to_deg=100), POSE], turns=3)
    assert [(one.kind, one.of) for one in compiled.channels] == [
        ("angle", ("rest",)), ("point", ("p",)), ("angle", ("p",))]


def test_a_time_ratio_of_what_rests_is_poor_but_finite() -> None:
    """Both its extremes come at one instant."""
    compiled = goals([WantedRatio(id="ratio", part="r", ratio=1.5)])
    crank = np.linspace(0, 2 * np.pi, 90, endpoint=False)
    instants = compiled.match(Dense(crank, (np.zeros((1, 90)),), np.ones((1, 90), bool),
                                    2 * np.pi))
    none = np.zeros((1, compiled.samples), complex)
    r, jacobian = compiled.residuals(instants, Seen(none, none, np.zeros((*none.shape, 2))))
    assert jacobian is not None
    assert np.isfinite(r).all()
    assert np.isfinite(jacobian).all()
    assert np.abs(r).max() > 100


def test_the_sum_of_squares_is_the_mean_of_each_wish_by_its_weight() -> None:
    """Every error of one tolerance makes each wish its weight."""
    wishes = [
        WantedPath(id="a", point="r.P", through=LOOP, curve="places", weight=2.0, ticks=tuple(
            Tick(at=k, crank_deg=90 * k) for k in range(3))),
        WantedAngle(id="b", part="r", line=("r.A", "r.P"), knots=KNOTS, weight=3.0),
        WantedSwing(id="c", part="r", line=("r.A", "r.P"), from_deg=0, to_deg=9, weight=5.0),
        WantedStroke(id="d", point="r.P", start=(0, 0), end=(9, 0), weight=7.0),
        WantedDwell(id="e", part="r", from_deg=0, to_deg=9, weight=11.0)]
    compiled = goals(wishes)
    assert compiled.weight == 28.0
    tolerances = {"a": 1.0, "b": np.radians(2), "c": np.radians(2), "d": 1.0,
                  "e": np.radians(1)}
    for share in compiled.shares:
        wish = wishes[share.wish]
        rows = np.arange(share.rows.start, share.rows.stop)
        # One row for each error; the first of two of a place, whose other is 0.
        first = rows[np.unique(compiled.row_sample[rows], return_index=True)[1]]
        total = ((tolerances[wish.id] * compiled.row_scale[first]) ** 2).sum()
        np.testing.assert_allclose(total, wish.weight)
        np.testing.assert_allclose((compiled.row_worth[first] ** 2).sum(), wish.weight)


def test_samples_are_as_many_as_asked() -> None:
    closed, piece = (WantedPath(id="w", point="r.P", through=LOOP, closed=way)
                     for way in (True, False))
    assert goals([closed]).free.sum() == 64
    assert goals([closed], fineness=32).free.sum() == 32
    assert goals([piece]).free.sum() == 33
    # Between every other pair of samples the trace is held to the curve.
    assert goals([closed]).samples == 64 + 33
    assert goals([WantedPath(id="w", point="r.P", through=LOOP, curve="places")]).samples == 3
    assert goals([WantedRatio(id="w", part="r", ratio=2.0)]).rows == 1
    many = WantedPath(id="w", point="r.P", through=tuple(
        (float(np.cos(t)), float(np.sin(t))) for t in np.linspace(0, 6.2, 100)))
    assert goals([many]).free.sum() == 200
