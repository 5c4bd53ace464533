"""Many mechanisms run at once: places against textbooks and the turn, derivatives against
differences."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from core.wanted.engine import Mechanisms, mirrored, moved, run
from core.wanted.engine.recipe import Dyad, SlideDyad
from core.wanted.families import FAMILIES

FAMILY = pytest.mark.parametrize("name", list(FAMILIES))
FOUR_BAR = FAMILIES["four-bar"]
SLIDER = FAMILIES["slider-crank"]


def one(name: str, signs: tuple[int, ...], **numbers: float) -> Mechanisms:
    """One mechanism, parameters by name with "_" for a full stop; what is left out is 0."""
    recipe = FAMILIES[name].recipe
    by_name = {key.replace("_", "."): value for key, value in numbers.items()}
    params = [by_name.get(own.name, 0.0) for own in recipe.parameters]
    return Mechanisms(np.array([params]), np.array([signs], np.int8))


def some(name: str, count: int = 12, seed: int = 5) -> Mechanisms:
    """Random ones of a family, brought to some size, place and turn."""
    rng = np.random.default_rng(seed)
    family = FAMILIES[name]
    turn = 25 * np.exp(1j * rng.uniform(-3, 3, count))
    shift = 80 * (rng.normal(size=count) + 1j * rng.normal(size=count))
    return moved(family.recipe, family.sample(rng, count), turn, shift)


def angles(name: str, count: int, steps: int = 9) -> NDArray[np.float64]:
    turns = FAMILIES[name].recipe.turns
    return np.random.default_rng(1).uniform(0, 2 * np.pi * turns, (count, steps))


def test_a_four_bar_is_where_the_textbook_says() -> None:
    """R. L. Norton, *Design of Machinery*, example 4-1 (from memory, recalculated)."""
    for sign, coupler, rocker in ((1, 20.298, 57.325), (-1, -60.978, -98.005)):
        made = run(FOUR_BAR.recipe, one("four-bar", (sign,), pivot_x=100, crank=40,
                                        coupler=120, rocker=80), np.radians([40.0]))
        assert np.degrees(made.angle("coupler"))[0, 0] == pytest.approx(coupler, abs=5e-4)
        assert np.degrees(made.angle("rocker"))[0, 0] == pytest.approx(rocker, abs=5e-4)


def test_a_four_bar_turns_as_fast_as_the_textbook_says() -> None:
    """Norton's example of chapter 6: 25 rad/s at the crank (from memory, recalculated)."""
    made = run(FOUR_BAR.recipe, one("four-bar", (1,), pivot_x=100, crank=40, coupler=120,
                                    rocker=80), np.radians([40.0]))
    speeds = [25 * float(made.angle_rates(body)[0][0, 0]) for body in ("coupler", "rocker")]
    assert speeds == pytest.approx([-4.121, 6.998], abs=5e-4)


def test_an_offset_slider_crank_is_where_the_textbook_says() -> None:
    """Norton, example 4-2: crank 40, rod 120, offset −20, 60°: 126.838 on one branch and
    −86.838 on the other (from memory, recalculated)."""
    for sign, x in ((1, 126.838), (-1, -86.838)):
        made = run(SLIDER.recipe, one("slider-crank", (sign,), crank=40, rod=120,
                                      sled_offset=-20), np.radians([60.0]))
        assert made.point("wrist")[0, 0] == pytest.approx(x - 20j, abs=5e-4)


@pytest.mark.parametrize("n", [2, 3, -2, -3])
def test_geared_five_bars_of_parallelograms_draw_the_named_curves(n: int) -> None:
    """With both rods as long as the other's crank the pin is at a e^{iθ} + d e^{inθ}: a
    cardioid, nephroid, deltoid, astroid (standard, calculated)."""
    a, d = 30.0, 30.0 / abs(n)
    made = one(f"geared-five-bar-{n}", (1,), crank=a, coupler=d)
    row = FAMILIES[f"geared-five-bar-{n}"].recipe.row
    made.params[0, row["second crank"]], made.params[0, row["second coupler"]] = d, a
    theta = np.linspace(0, 2 * np.pi, 50, endpoint=False) + 0.01
    wanted = a * np.exp(1j * theta) + d * np.exp(1j * n * theta)
    both = [run(FAMILIES[f"geared-five-bar-{n}"].recipe, Mechanisms(made.params, sign), theta)
            .point("elbow")[0] for sign in (made.signs, -made.signs)]
    assert np.minimum(*(np.abs(each - wanted) for each in both)).max() < 1e-9


@FAMILY
def test_derivatives_are_those_of_differences(name: str) -> None:
    family, made, crank = FAMILIES[name], some(name), angles(name, 12)
    done = run(family.recipe, made, crank)
    bodies = [body for body in family.recipe.origin if body != "crank"]
    for row in range(len(family.parameters) + 1):
        step = 1e-6 * (1 + np.abs(made.params[:, row])) if row < len(
            family.parameters) else np.full(12, 1e-6)
        ends = []
        for way in (1, -1):
            params, turned = made.params.copy(), crank.copy()
            if row < len(family.parameters):
                params[:, row] += way * step
            else:
                turned += way * step[:, None]
            ends.append(run(family.recipe, Mechanisms(params, made.signs), turned,
                            derive=False))
        for point in family.recipe.points:
            slope, by = done.point_rates(point)
            exact = by[..., row] if row < len(family.parameters) else slope
            met = (ends[0].point(point) - ends[1].point(point)) / (2 * step[:, None])
            assert np.allclose(met, exact, rtol=1e-5, atol=1e-5), (point, row)
        for body in bodies:
            slope, by = done.angle_rates(body)
            exact = by[..., row] if row < len(family.parameters) else slope
            turned = np.exp(1j * (ends[0].angle(body) - ends[1].angle(body)))
            met = np.angle(turned) / (2 * step[:, None])
            assert np.allclose(met, exact, rtol=1e-5, atol=1e-5), (body, row)
        met = (ends[0].cosines() - ends[1].cosines()) / (2 * step[:, None])
        for k, margin in enumerate(done.margins):
            exact = margin.by[margin.rows.index(row)] if row in margin.rows else 0.0
            assert np.allclose(met[k], exact, rtol=1e-5, atol=1e-6), (k, row)


@FAMILY
def test_links_keep_their_lengths_and_pins_lie_on_the_side_of_their_sign(name: str) -> None:
    recipe, made = FAMILIES[name].recipe, some(name)
    done = run(recipe, made, angles(name, 12), derive=False)
    for dyad, sign in zip(recipe.dyads, made.signs.T, strict=True):
        pin = done.point(dyad.pin)
        if isinstance(dyad, Dyad):
            arms = [pin - done.point(link.at) for link in (dyad.first, dyad.second)]
            for link, arm in zip((dyad.first, dyad.second), arms, strict=True):
                length = made.params[:, recipe.row[link.body]]
                assert np.allclose(np.abs(arm), length[:, None], rtol=1e-9)
            side = np.sign((arms[0].conj() * arms[1]).imag)
        else:
            assert isinstance(dyad, SlideDyad)
            along = np.exp(1j * made.params[:, recipe.row[f"{dyad.sled}.direction"]])
            side = np.sign(((pin - done.point(dyad.link.at)) * along.conj()[:, None]).real)
            off = ((pin - done.point(dyad.about)) * along.conj()[:, None]).imag
            wanted = made.params[:, recipe.row[f"{dyad.sled}.offset"]]
            assert np.allclose(off, wanted[:, None], atol=1e-9)
        assert np.array_equal(side, np.broadcast_to(sign[:, None], side.shape))


@FAMILY
def test_moved_mechanisms_draw_moved_paths(name: str) -> None:
    family, made, crank = FAMILIES[name], some(name), angles(name, 12)
    turn, shift = 1.7 * np.exp(0.8j), 12 - 5j
    before = run(family.recipe, made, crank, derive=False).point(family.tracer)
    after = run(family.recipe, moved(family.recipe, made, turn, shift), crank + 0.8,
                derive=False).point(family.tracer)
    assert np.allclose(after, turn * before + shift, atol=1e-9)


@FAMILY
def test_mirrored_mechanisms_draw_mirrored_paths(name: str) -> None:
    family, made, crank = FAMILIES[name], some(name), angles(name, 12)
    before = run(family.recipe, made, crank, derive=False).point(family.tracer)
    after = run(family.recipe, mirrored(family.recipe, made), -crank,
                derive=False).point(family.tracer)
    assert np.allclose(after, before.conj(), atol=1e-9)


def test_what_cannot_be_put_together_is_told_and_stays_finite() -> None:
    made = one("four-bar", (1,), pivot_x=100, crank=40, coupler=70, rocker=50)
    done = run(FOUR_BAR.recipe, made, np.radians([0.0, 180.0]))
    assert done.reached.tolist() == [[True, False]]
    assert np.isfinite(done.point("tip")).all()
    assert np.isfinite(done.point_rates("tip")[1]).all()
    assert np.abs(done.cosines()[0, 0]).tolist() == pytest.approx([0.5429, 1.7429], abs=1e-4)
