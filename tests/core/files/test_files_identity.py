"""Saving and opening gives back the very same sketch, and saving again the very same bytes,
for any sketch there can be."""

from __future__ import annotations

import json
import random
from pathlib import Path

from files_samples import FORMATS
from hypothesis import given, settings
from hypothesis import strategies as st

from core.files import dumps, load, loads, salvage
from core.model import (
    Bar,
    Disc,
    Drive,
    Force,
    Gravity,
    Mass,
    Part,
    Pin,
    Plate,
    Point,
    Polygon,
    Sketch,
    Underlay,
)

places = st.floats(-1e7, 1e7)
lengths = st.floats(1e-300, 1e4, exclude_min=True)
names = st.text(st.characters(categories=["L", "N", "P", "S"], exclude_characters="."),
                min_size=1, max_size=64)
texts = st.text(st.characters(exclude_categories=["Cs"]), max_size=80)
coefficients = st.tuples(st.floats(0, 10), st.floats(0, 10)).map(
    lambda pair: (min(pair), max(pair)))
rings = st.lists(st.tuples(places, places), max_size=8).map(tuple)


@st.composite
def parts(draw: st.DrawFn, name: str) -> Part:
    points = tuple(Point(id=point, x=draw(places), y=draw(places), trace=draw(st.booleans()),
                         locked=draw(st.booleans()))
                   for point in draw(st.lists(names, max_size=4, unique=True)))
    ids = st.lists(st.sampled_from([p.id for p in points]), max_size=3).map(tuple) if (
        points) else st.just(())
    outline = draw(st.one_of(
        st.none(), st.builds(Bar, width_mm=lengths, through=ids),
        st.builds(Plate, margin_mm=st.floats(0, 100), around=ids),
        st.builds(Disc, radius_mm=lengths, centre=ids.map(lambda few: few[0] if few else "")),
        st.builds(Polygon, outer=rings, holes=st.lists(rings, max_size=2).map(tuple))))
    mass = st.builds(Mass, mass_kg=st.floats(0, 1e3), x=places, y=places,
                     inertia_kgmm2=st.floats(0, 1e6))
    return Part(id=name, points=points, fixed=draw(st.booleans()), outline=outline,
                thickness_mm=draw(lengths), layer=draw(st.none() | st.integers(-9, 9)),
                material=draw(st.sampled_from(["birch-plywood", "mdf"])),
                mass=draw(st.none() | mass), lengths_locked=draw(st.booleans()),
                note=draw(texts))


@st.composite
def sketches(draw: st.DrawFn) -> Sketch:
    """Sketches whose names and references are sound; whether they fit is another matter."""
    ids = draw(st.lists(names, min_size=1, max_size=9, unique=True))
    count = draw(st.integers(1, len(ids)))
    bodies = tuple(draw(parts(name)) for name in ids[:count])
    refs = [f"{part.id}.{point.id}" for part in bodies for point in part.points]
    ref = st.sampled_from(refs) if refs else st.nothing()
    pins = tuple(Pin(id=name, at=tuple(draw(st.lists(ref, max_size=3))) if refs else (),
                     diameter_mm=draw(lengths), friction=draw(st.none() | coefficients))
                 for name in ids[count:])
    drive = st.none() | st.builds(
        Drive, pin=st.sampled_from([pin.id for pin in pins]), part=st.just(ids[0]),
        kind=st.sampled_from(["turn", "rock"]), rpm=st.floats(-100, 100),
        drawn_deg=st.floats(-360, 360)) if pins else st.none()
    forces = (Force(id="a push", at=draw(ref), fx_n=draw(places), fy_n=draw(places)),) if (
        refs) else ()  # names drawn above hold no space
    return Sketch(
        title=draw(texts), author=draw(texts), units=draw(st.sampled_from(["mm", "in"])),
        parts=bodies, pins=pins, drive=draw(drive), friction=draw(coefficients),
        gravity=draw(st.builds(Gravity, g_m_s2=st.floats(0, 30), direction_deg=places)),
        forces=forces, turns=draw(st.integers(1, 64)),
        underlay=draw(st.none() | st.builds(Underlay, path=texts, opacity=st.floats(0, 1))))


@settings(max_examples=40)
@given(sketches())
def test_saving_and_opening_is_identity_and_bytes_are_equal_on_resave(sketch: Sketch) -> None:
    data = dumps(sketch)
    opened = loads(data, strict=False)
    assert opened == sketch
    assert dumps(opened) == data
    assert data.endswith(b"}\n")
    assert salvage(data) == (sketch, [])


@settings(max_examples=40)
@given(sketches(), st.sampled_from([None, 0, 1, 4]), st.booleans())
def test_the_layout_of_a_file_does_not_matter(
        sketch: Sketch, indent: int | None, plain: bool) -> None:
    data = json.dumps(json.loads(dumps(sketch)), indent=indent, ensure_ascii=plain)
    assert loads(data.encode(), strict=False) == sketch


@settings(max_examples=40)
@given(st.sampled_from(sorted((FORMATS / "v1").glob("*.json"))), st.randoms())
def test_the_order_of_keys_does_not_matter(path: Path, draw: random.Random) -> None:
    def shuffled(value: object) -> object:
        if isinstance(value, dict):
            keys = list(value)
            draw.shuffle(keys)
            return {key: shuffled(value[key]) for key in keys}
        return [shuffled(inner) for inner in value] if isinstance(value, list) else value

    data = json.dumps(shuffled(json.loads(path.read_text()))).encode()
    assert loads(data) == load(path)
