"""Templates: full size, every part once, tiles that cover the part exactly."""

from __future__ import annotations

import math

import msgspec
import numpy as np
import pytest
import shapely
from drawn import DEMOS, SKETCHES, at, demo, four_bar, large, sheets_of, solved

from core.drawing import Circle, Line, Path, SheetOptions, Text, layout_sheets
from core.drawing.clip import clipped, moved
from core.drawing.frame import Room
from core.drawing.kinds import kinds
from core.drawing.lettering import text_box
from core.drawing.paper import PAPERS
from core.drawing.subject import subject
from core.drawing.templates import CUT, template
from core.drawing.tiles import OVERLAP, tiled, tiles, usable
from core.model import Disc, Part, Pin, Sketch
from core.space import outline_of
from core.study import Study


def unsolved(sketch: Sketch) -> Study:
    return Study(sketch, None, None, None, None, None, ())


@pytest.mark.parametrize("name", SKETCHES)
@pytest.mark.parametrize("turn_deg", [0.0, 35.0, 90.0])
def test_a_template_is_the_part_at_full_size(name: str, turn_deg: float) -> None:
    shown = subject(solved(name))
    for kind in kinds(shown):
        part = shown.sketch.part(kind.parts[0])
        made = template(shown, kind, turn_deg)
        outline = next(item for item in made.items if isinstance(item, Path))
        rings = [shapely.Polygon(ring) for ring in outline.rings]
        area = rings[0].area - sum(hole.area for hole in rings[1:])
        slots = sum(abs(track.drawn[1] - track.drawn[0]) * track.width_mm
                    + math.pi * track.width_mm**2 / 4
                    for track in shown.tracks if track.part == part.id and track.width_mm)
        assert area == pytest.approx(outline_of(part).area - slots, rel=1e-9 if not slots else
                                     1e-4)
        drawn = np.array([hole.drawn for hole in shown.holes if hole.part == part.id])
        bores = np.array([complex(item.x, item.y) for item in made.items
                          if isinstance(item, Circle) and item.pen == CUT])
        assert len(bores) == len(drawn)
        apart = np.abs(bores[:, None] - bores)
        assert apart == pytest.approx(np.abs(drawn[:, None] - drawn), abs=1e-9)
        corners = np.concatenate(outline.rings)
        assert corners.min(axis=0) == pytest.approx([0.0, 0.0], abs=1e-9)
        assert corners.max(axis=0) == pytest.approx([made.width, made.height], abs=1e-9)


def test_templates_are_never_mirrored() -> None:
    shown = subject(solved("four_bar"))
    kind = next(kind for kind in kinds(shown) if kind.parts == ("coupler",))
    holes = [h.drawn for h in shown.holes if h.part == "coupler"]
    tip = complex(70, 130)
    sense = np.sign(((holes[1] - holes[0]).conjugate() * (tip - holes[0])).imag)
    for turn in (0.0, 90.0, 200.0):
        made = template(shown, kind, turn)
        bores = [complex(i.x, i.y) for i in made.items
                 if isinstance(i, Circle) and i.pen == CUT]
        crosses = [complex(i.x1 + i.x2, i.y1 + i.y2) / 2 for i in made.items
                   if isinstance(i, Line)]
        third = next(c for c in crosses if min(abs(c - b) for b in bores) > 20)
        turned = ((bores[1] - bores[0]).conjugate() * (third - bores[0])).imag
        assert np.sign(turned) == sense


def names_over_bores(study: Study) -> list[str]:
    """Parts whose number or name lies over a bore or its cross."""
    shown, wrong = subject(study), []
    for kind in kinds(shown):
        made = template(shown, kind)
        bores = [shapely.Point(i.x, i.y).buffer(i.radius + 2.0) for i in made.items
                 if isinstance(i, Circle) and i.pen == CUT]
        names = [shapely.Polygon(text_box(i)) for i in made.items if isinstance(i, Text)
                 and i.text in (str(kind.item), f"{kind.item}  {kind.parts[0]}")]
        if any(bore.intersects(name) for bore in bores for name in names):
            wrong.append(kind.parts[0])
    return wrong


def test_names_in_narrow_bars_keep_off_the_bores() -> None:
    for name in SKETCHES:
        assert names_over_bores(solved(name)) == []
    for name in DEMOS:
        assert names_over_bores(demo(name)) == []


def test_captions_name_bores_slots_and_what_is_not_drawn() -> None:
    def captions(name: str) -> str:
        shown = subject(solved(name))
        return " | ".join(line for kind in kinds(shown)
                          for line in template(shown, kind).caption)

    assert "Bores Ø8 mm: A1; Ø6 mm: B1" in captions("four_bar")
    assert "slot S1 6 mm wide" in captions("sliding")
    assert "Pulley: groove not drawn. The belt runs at Ø36 mm" in captions("sliding")
    # 90 mm between centres, 20 and 40 teeth: module 2 · 90 / 60.
    assert "Gear blank: teeth not drawn. 40 teeth, module 3 mm" in captions("geared")
    assert "Bores Ø1/4 in: A1, B1" in captions("inch_four_bar")


@pytest.mark.parametrize("paper", ["A4", "A3", "letter"])
def test_tiles_cover_the_part_exactly(paper: str) -> None:
    shown = subject(unsolved(large()))
    for kind in kinds(shown):
        made = template(shown, kind)
        outline = next(item for item in made.items if isinstance(item, Path))
        room = usable(PAPERS[paper], False)
        cover = tiles(made.width, made.height, room)
        pieces, area = [], 0.0
        for tile in cover:
            for item in clipped([outline], tile.room):
                assert isinstance(item, Path)
                pieces += [shapely.LineString(
                    np.append(ring, ring[:1], axis=0) if item.closed else ring)
                    for ring in item.rings]
            window = shapely.box(tile.room.left, tile.room.bottom, tile.room.right,
                                 tile.room.top)
            area = max(area, window.area)
        edge = shapely.LinearRing(outline.rings[0])
        together = shapely.union_all(pieces)
        assert shapely.hausdorff_distance(together, edge) < 1e-6
        windows = shapely.union_all([shapely.box(t.room.left, t.room.bottom, t.room.right,
                                                 t.room.top) for t in cover])
        assert windows.buffer(1e-6).contains(made.shape)


def test_neighbouring_tiles_overlap_and_share_register_marks() -> None:
    shown = subject(unsolved(large()))
    made = template(shown, kinds(shown)[2])
    upright = PAPERS["A4"]
    cover = tiles(made.width, made.height, usable(upright, False))
    names = {tile.name: tile.room for tile in cover}
    a, b = names["A1"], names["B1"]
    assert a.right - b.left == pytest.approx(OVERLAP)
    pages = {page.title.split()[-1]: page for page in tiled(made, upright, "A4", False)}
    room = usable((next(iter(pages.values())).width_mm, next(iter(pages.values())).height_mm),
                  False)
    seen = {}
    for name, page in pages.items():
        tile = {t.name: t.room for t in tiles(made.width, made.height, room)}[name]
        shift = complex(tile.left - room.left, tile.bottom - room.bottom)
        seen[name] = {(round(c.x + shift.real, 6), round(c.y + shift.imag, 6))
                      for c in page.items if isinstance(c, Circle) and c.radius == 2.0}
    assert len(seen["B1"] & seen["C1"]) >= 2
    assert len(seen["B1"] & seen["B2"]) >= 2


def test_parts_alike_share_one_template_and_mirror_images_are_counted() -> None:
    base = four_bar()
    coupler = base.part("coupler")

    def copy(name: str, place: complex, flip: bool) -> tuple[Part, Pin, Pin]:
        points = []
        for point in coupler.points:
            z = complex(point.x, point.y)
            z = (z.conjugate() if flip else z) * np.exp(0.7j) + place
            points.append(at(point.id, complex(z)))
        part = Part(id=name, points=tuple(points))
        return (part, Pin(id=f"{name}1", at=(f"{name}.b", f"{name}-peg.b")),
                Pin(id=f"{name}2", at=(f"{name}.c", f"{name}-peg2.c")))

    one, two, three = copy("one", 0, False), copy("two", 400j, False), copy("three", 800, True)
    sketch = Sketch(parts=(one[0], two[0], three[0]), pins=(*one[1:], *two[1:], *three[1:]))
    sketch = msgspec.structs.replace(sketch, parts=(*sketch.parts, *(
        Part(id=f"{n}-{p}", points=(msgspec.structs.replace(part.point(q)),))
        for n, part in (("one", one[0]), ("two", two[0]), ("three", three[0]))
        for p, q in (("peg", "b"), ("peg2", "c")))))
    found = {kind.parts: kind for kind in kinds(subject(unsolved(sketch)))}
    plate = found[("one", "two", "three")]
    assert plate.mirrored == 1
    pegs = [kind for parts, kind in found.items() if "one-peg" in parts]
    assert pegs[0].quantity == 6


@pytest.mark.parametrize("change", ["hole", "material", "thickness", "size", "place"])
def test_parts_that_differ_are_not_taken_for_alike(change: str) -> None:
    one = Part(id="one", points=(at("p", 0), at("q", 50)))
    other = Part(id="two", points=(at("p", 100j), at("q", 50 + 100j)))
    bore = 6.0
    if change == "material":
        other = msgspec.structs.replace(other, material="walnut")
    elif change == "thickness":
        other = msgspec.structs.replace(other, thickness_mm=9.0)
    elif change == "size":
        other = msgspec.structs.replace(other, points=(at("p", 100j), at("q", 51 + 100j)))
    elif change == "place":
        one = msgspec.structs.replace(one, outline=Disc(radius_mm=60.0, centre="p"))
        other = msgspec.structs.replace(other, outline=Disc(radius_mm=60.0, centre="q"),
                                        points=(at("p", 100j + 3), at("q", 50 + 100j)))
    else:
        bore = 5.0
    frame = Part(id="frame", fixed=True, points=(at("a", 0), at("b", 50), at("c", 100j),
                                                 at("d", complex(other.points[0].x, 100))))
    pins = (Pin(id="1", at=("frame.a", "one.p"), diameter_mm=6.0),
            Pin(id="2", at=("frame.d", "two.p"), diameter_mm=bore))
    found = kinds(subject(unsolved(Sketch(parts=(frame, one, other), pins=pins))))
    assert [kind.quantity for kind in found] == [1, 1, 1]


@pytest.mark.parametrize("name", SKETCHES)
def test_every_kind_is_on_the_template_pages_once(name: str) -> None:
    study = solved(name)
    shown = subject(study)
    pages = [page for page in sheets_of(name) if page.title.startswith("Template")]
    titles = [text.text for page in pages for text in page.texts()]
    for kind in kinds(shown):
        caption = [t for t in titles if t.startswith(f"{kind.item}  ") and kind.parts[0] in t]
        tiled_pages = [p for p in pages if p.title.startswith(f"Template {kind.parts[0]},")]
        assert caption or tiled_pages
    bare = layout_sheets(study, SheetOptions(templates=False))
    assert len(bare) + len(pages) == len(sheets_of(name))


def test_templates_on_a_page_do_not_touch() -> None:
    for name in SKETCHES:
        for page in sheets_of(name):
            if page.title != "Templates, full size":
                continue
            shapes = [shapely.Polygon(item.rings[0]) for item in page.items
                      if isinstance(item, Path) and item.pen == CUT and item.closed
                      and len(item.rings[0]) > 4]
            whole = [s for s in shapes if not any(t is not s and t.contains(s) for t in shapes)]
            for i, shape in enumerate(whole):
                assert all(shape.distance(other) > 2.0 for other in whole[:i])


def test_a_long_part_lies_aslant_rather_than_over_two_pages() -> None:
    bar = Part(id="long", points=(at("p", 0), at("q", 262)))
    pages = [page for page in layout_sheets(unsolved(Sketch(parts=(bar,))))
             if page.title.startswith("Template")]
    assert [page.title for page in pages] == ["Template, full size"]
    outline = next(item for item in pages[0].items if isinstance(item, Path)
                   and item.pen == CUT)
    size = np.ptp(outline.rings[0], axis=0)
    assert math.hypot(*size) > 250
    room = usable(PAPERS["A4"], False)
    assert size[0] <= room.width
    assert size[1] <= room.height


def test_moved_tiles_stay_inside_their_window() -> None:
    shown = subject(unsolved(large()))
    made = template(shown, kinds(shown)[0])
    room = usable(PAPERS["A4"], False)
    for tile in tiles(made.width, made.height, room):
        shift = complex(room.left - tile.room.left, room.bottom - tile.room.bottom)
        for item in moved(clipped(made.items, tile.room), shift):
            if isinstance(item, Path):
                for ring in item.rings:
                    assert (ring >= (room.left - 1e-6, room.bottom - 1e-6)).all()
                    assert (ring <= (room.right + 1e-6, room.top + 1e-6)).all()
    assert isinstance(room, Room)
