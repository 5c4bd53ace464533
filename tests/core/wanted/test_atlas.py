"""The shipped atlas: made for the families as they are, true to what they do, found again."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from core.errors import FileError
from core.files.arrays import shipped_arrays, write_arrays
from core.model import Tick, WantedAngle, WantedPath
from core.model.wanted import Knot
from core.wanted.atlas import shelf as shelves
from core.wanted.atlas.asking import asked
from core.wanted.atlas.build import build, kept, main
from core.wanted.atlas.nearest import neighbours
from core.wanted.atlas.shape import curve_from, evenly
from core.wanted.atlas.shelf import packed, shelf, unpacked
from core.wanted.engine import Mechanisms, moved, run, watch
from core.wanted.families import FAMILIES, Family

ASSETS = Path(__file__).parents[3] / "assets"
TURN = 2 * np.pi


def some(family: Family, count: int) -> Mechanisms:
    return shelf(family.id).mechanisms[:count]


def path(family: Family, mechanism: Mechanisms, crank: np.ndarray) -> np.ndarray:
    return run(family.recipe, mechanism, crank, derive=False).point(family.tracer)


def test_the_whole_atlas_is_small_enough_to_ship() -> None:
    files = sorted((ASSETS / "atlas").glob("*.npz"))
    assert [file.stem for file in files] == sorted(FAMILIES)
    assert sum(file.stat().st_size for file in files) < 15_000_000


@pytest.mark.parametrize("family", FAMILIES.values(), ids=FAMILIES)
def test_mechanisms_of_the_atlas_go_round_and_do_what_it_says(family: Family) -> None:
    own, count = shelf(family.id), 30
    assert len(own) >= 0.9 * kept(family.id)
    mechanisms, turns = some(family, count), family.recipe.turns
    seen = watch(family.recipe, mechanisms, (("point", family.tracer),))
    assert np.degrees(np.arccos(seen.steepest)).min() > 18.0  # 20° when drawn by lot
    crank = TURN * np.arange(192 * turns) / 192
    traced = path(family, mechanisms, crank)
    even = evenly(traced, 192)
    told = curve_from(own.shape[:count], 192)
    size = np.sqrt((np.abs(told) ** 2).mean(axis=1))
    assert size == pytest.approx(1.0, abs=0.02)
    assert np.median(np.abs(even - told)) < 0.08  # seven harmonics tell a path so far
    timed = curve_from(own.timed[:count], len(crank)) + own.mean[:count, None]
    assert np.median(np.abs(traced - timed)) < 0.08
    for body, name in enumerate(family.swinging):
        angle = np.unwrap(run(family.recipe, mechanisms, crank, derive=False).angle(name))
        share = np.arange(len(crank)) / len(crank)
        swing = angle - TURN * own.gains[body, :count, None] * share
        found = 2 * (own.angles[body, :count] @ np.exp(
            1j * np.outer(np.arange(1, 6), crank / turns))).real
        assert np.median(np.abs(swing - swing.mean(axis=1, keepdims=True) - found)) < 0.08


def test_packing_loses_little() -> None:
    full = build(FAMILIES["four-bar"], 40)
    back = unpacked(packed("four-bar", full))
    assert back.mechanisms.params == pytest.approx(full.mechanisms.params, abs=1e-3)
    assert (back.mechanisms.signs == full.mechanisms.signs).all()
    for name in ("shape", "timed", "mean", "angles"):
        assert getattr(back, name) == pytest.approx(getattr(full, name), abs=0.02)


def test_the_same_build_gives_the_same_bytes(tmp_path: Path) -> None:
    for name in ("a", "b"):
        full = build(FAMILIES["slider-crank"], 30)
        write_arrays(tmp_path / name, packed("slider-crank", full))
    assert (tmp_path / "a").read_bytes() == (tmp_path / "b").read_bytes()
    other = build(FAMILIES["slider-crank"], 30, seed=1)
    assert not np.array_equal(other.mechanisms.params, full.mechanisms.params)


def test_the_command_makes_its_folder_and_says_where_it_cannot(
        tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    order = ["--share", "0", "--family", "slider-crank"]
    assert main([str(tmp_path / "new" / "atlas"), *order]) == 0
    assert (tmp_path / "new" / "atlas" / "slider-crank.npz").is_file()
    (tmp_path / "taken").write_text("")
    assert main([str(tmp_path / "taken"), *order]) == 2
    assert "choose another folder" in capsys.readouterr().err


@pytest.mark.parametrize("name", ["four-bar", "slider-crank", "six-bar-coupler-rocker-arm"])
@pytest.mark.parametrize("kind", ["whole", "piece", "timed", "tied"])
def test_a_mechanism_of_the_atlas_is_found_again_by_its_own_path(name: str, kind: str) -> None:
    family = FAMILIES[name]
    own = moved(family.recipe, shelf(name).mechanisms[7:8], 30 * np.exp(2j), 40 + 50j)
    crank = np.linspace(0.0, TURN, 24, endpoint=False)
    if kind == "piece":
        crank = np.linspace(1.0, 3.2, 14)
    places = path(family, own, crank)[0]
    ticks = tuple(Tick(at=float(k), crank_deg=float(np.degrees(at)))
                  for k, at in enumerate(crank)) if kind in ("timed", "tied") else ()
    wish = WantedPath(id="w", through=tuple((z.real, z.imag) for z in places),
                      closed=kind != "piece", ticks=ticks)
    near = neighbours(family, asked([wish], [], start_free=kind != "tied"), (), 10)
    size = np.abs(places - places.mean()).max()
    assert near.cost[0] < 0.05 * size  # tolerance is 1 mm
    fine = path(family, near.mechanisms, np.linspace(0, TURN, 720))
    off = np.abs(fine[:, :, None] - places).min(axis=1).max(axis=1)
    assert off.min() < 0.1 * size
    if kind == "tied":
        there = path(family, near.mechanisms[0], crank)[0]
        assert np.abs(there - places).max() < 0.15 * size


def test_a_mechanism_of_the_atlas_is_found_again_by_an_angle() -> None:
    family = FAMILIES["four-bar"]
    own = shelf("four-bar").mechanisms[5:6]
    crank = np.linspace(0.0, TURN, 12, endpoint=False)
    angle = np.degrees(run(family.recipe, own, crank, derive=False).angle("rocker")[0])
    wish = WantedAngle(id="w", knots=tuple(
        Knot(crank_deg=float(at), angle_deg=float(value))
        for at, value in zip(np.degrees(crank), np.unwrap(angle, period=360), strict=True)))
    near = neighbours(family, asked([wish], [("w",)]), ("rocker",), 5, home=10 + 20j)
    assert near.cost[0] < 0.5
    pivot = near.mechanisms.params[:, :2]
    assert pivot == pytest.approx(np.tile([10.0, 20.0], (5, 1)))


def test_a_lot_draws_others_and_the_same_lot_the_same() -> None:
    family = FAMILIES["four-bar"]
    asks = asked([WantedPath(id="w", through=((0, 0), (30, 5), (50, 30), (10, 25)))], [])
    drawn = [neighbours(family, asks, (), 20, rng=np.random.default_rng(seed)).mechanisms.params
             for seed in (1, 1, 2)]
    assert np.array_equal(drawn[0], drawn[1])
    assert not np.array_equal(drawn[0], drawn[2])


def test_a_shelf_made_for_other_recipes_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(shelves, "shipped_arrays", lambda *_: {"made for": np.array("old")})
    shelf.cache_clear()
    with pytest.raises(FileError, match="another version"):
        shelf("four-bar")
    shelf.cache_clear()


def test_a_missing_or_damaged_shelf_is_said_in_a_sentence(monkeypatch: pytest.MonkeyPatch,
                                                          tmp_path: Path) -> None:
    with pytest.raises(FileError, match="missing"):
        shipped_arrays("atlas", "no-such-family")
    (tmp_path / "atlas").mkdir()
    (tmp_path / "atlas" / "four-bar.npz").write_bytes(b"PK\x03\x04 not a zip")
    monkeypatch.setattr("core.files.arrays.files", lambda _: tmp_path)
    with pytest.raises(FileError, match="damaged"):
        shipped_arrays("atlas", "four-bar")
