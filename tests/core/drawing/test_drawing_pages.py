"""The pages of real sketches: nothing overlaps, nothing is lost, values are the sketch's."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations

import msgspec
import numpy as np
import pytest
import shapely
from drawn import DEMOS, SKETCHES, at, demo, four_bar, overlaps, sheets_of, solved

from core.drawing import Circle, Path, SheetOptions, Text, layout_sheets
from core.drawing.front import draw_fronts, front
from core.drawing.items import HIDDEN, INK
from core.drawing.kinds import kinds
from core.drawing.labels import MOST_PAIRS, measured_pairs
from core.drawing.lettering import text_box
from core.drawing.schedules import hole_table, part_list
from core.drawing.subject import subject
from core.errors import CrankwrightError, MotionError
from core.model import Part, Pin, Sketch
from core.study import Study
from core.units import show_length

PAPERS = ("A4", "A2", "letter")


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("name", SKETCHES)
def test_no_text_overlaps_another_and_all_lies_on_the_paper(name: str, paper: str) -> None:
    for page in sheets_of(name, SheetOptions(paper=paper)):
        assert overlaps(page) == []
        corners = np.concatenate([text_box(text) for text in page.texts()])
        assert (corners >= 10.0).all(), page.title
        assert (corners <= (page.width_mm - 10.0, page.height_mm - 10.0)).all(), page.title


@pytest.mark.parametrize("name", DEMOS)
def test_demos_are_drawn_without_text_over_text(name: str) -> None:
    for page in layout_sheets(demo(name)):
        assert overlaps(page) == []


@pytest.mark.parametrize("name", SKETCHES)
def test_every_rod_has_its_letter_on_the_layout(name: str) -> None:
    study = solved(name)
    words = " ".join(text.text for text in sheets_of(name)[0].texts()).replace(",", " ")
    for pivot in subject(study).pivots:
        assert pivot.letter in words.split()


@pytest.mark.parametrize("name", ["four_bar", "inch_four_bar", "geared", "sliding", "large"])
def test_centre_distances_on_the_layout_are_those_of_the_sketch(name: str) -> None:
    study = solved(name)
    sketch = study.sketch
    words = [text.text for page in sheets_of(name)[:2] for text in page.texts()]
    for part in sketch.parts:
        if part.fixed or not 2 <= len(part.points) <= 3:
            continue
        used = {ref for pin in sketch.pins for ref in pin.at}
        used |= {slot.point for slot in sketch.slots}
        points = [p for p in part.points if p.trace or f"{part.id}.{p.id}" in used]
        for p, q in combinations(points, 2):
            apart = abs(complex(p.x - q.x, p.y - q.y))
            value = show_length(apart, sketch.units, unit=False)
            assert any(word.split("× ")[-1] == value for word in words), (part.id, value)


def test_fixed_pivots_are_dimensioned_from_the_datum() -> None:
    texts = sheets_of("four_bar")[0].texts()
    across = sorted(t.text for t in texts if t.angle_deg == 90.0 and t.align == 1)
    assert across == ["0", "130"]
    assert {"0", "−10"} <= {t.text for t in texts if t.align == 1 and not t.angle_deg}


def test_hole_table_holds_every_bore_from_the_datum() -> None:
    shown = subject(solved("four_bar"))
    rows = {row[0]: row[1:] for row in hole_table(shown).rows}
    assert rows["A1"][:4] == ("base", "0.00", "0.00", "8")
    assert rows["B2"][:4] == ("rocker", "130.00", "−10.00", "6")
    assert len(rows) == sum(len(pin.at) for pin in shown.sketch.pins)


def test_part_list_counts_every_part_once() -> None:
    shown = subject(solved("crowded"))
    rows = part_list(shown, kinds(shown)).rows
    assert sum(int(row[1]) for row in rows) == len(shown.sketch.parts)
    assert {row[1] for row in rows} == {"1", "12", "13"}


def test_a_crank_angle_poses_the_layout() -> None:
    study = solved("four_bar")
    assert study.turn is not None
    for deg in (0.0, 77.3, 300.0):
        shown = subject(study, deg)
        for pivot in shown.pivots:
            places = [shown.place(ref) for ref in pivot.points]
            assert np.ptp(np.abs(np.array(places) - places[0])) < 1e-6
        crank = shown.place("crank.b") - shown.place("crank.a")
        assert np.angle(crank * np.exp(-1j * np.radians(deg))) == pytest.approx(0, abs=1e-9)


def test_an_angle_out_of_reach_is_refused_in_one_sentence() -> None:
    stuck = four_bar()
    parts = tuple(msgspec.structs.replace(part, points=(at("c", 150 + 90j), at("d", 230 + 60j)))
                  if part.id == "rocker" else part for part in stuck.parts)
    parts = tuple(msgspec.structs.replace(part, points=(at("a", 0), at("d", 230 + 60j)))
                  if part.id == "base" else part for part in parts)
    from core.study import study

    made = study(msgspec.structs.replace(stuck, parts=parts), steps=90)
    assert made.turn is not None
    assert not made.turn.reached.all()
    gone = np.degrees(made.turn.crank_rad[~made.turn.reached][0])
    with pytest.raises(MotionError, match="cannot get there"):
        layout_sheets(made, SheetOptions(at_deg=float(gone)))


@pytest.mark.parametrize(("options", "words"), [
    (SheetOptions(paper="A9"), "no paper is called 'A9'"),
    (SheetOptions(scale=0.0), "not a drawing scale"),
    (SheetOptions(scale=float("nan")), "not a drawing scale"),
    (SheetOptions(scale=5.0), "at 5:1 the view is larger than A4"),
])
def test_options_that_cannot_be_met_are_refused(options: SheetOptions, words: str) -> None:
    with pytest.raises(CrankwrightError, match=words):
        layout_sheets(solved("four_bar"), options)


@pytest.mark.parametrize("sketch", [
    Sketch(),
    Sketch(parts=(Part(id="lone", points=(at("p", 3 + 4j),)),)),
    Sketch(parts=(Part(id="empty"),)),
    Sketch(parts=(Part(id="bar", points=(at("p", 0), at("q", 40))),),
           pins=(Pin(id="gone", at=("bar.p", "nowhere.p")),)),
], ids=["empty", "lone", "no shape", "dangling"])
def test_unfinished_sketches_are_drawn_as_far_as_they_go(sketch: Sketch) -> None:
    pages = layout_sheets(Study(sketch, None, None, None, None, None, ()))
    assert pages[0].title == "Layout"
    assert any("Cautions" in text.text for page in pages for text in page.texts())


def test_an_edge_below_another_layer_is_dashed() -> None:
    page = sheets_of("four_bar")[0]
    hidden = [item for item in page.items if isinstance(item, Path) and item.pen == HIDDEN]
    assert hidden
    alone = Sketch(parts=(Part(id="bar", points=(at("p", 0), at("q", 40))),))
    page = layout_sheets(Study(alone, None, None, None, None, None, ()))[0]
    assert not [item for item in page.items if isinstance(item, Path) and item.pen == HIDDEN]


def test_title_block_has_the_fields_of_iso_7200() -> None:
    """ISO 7200 mandatory fields, from memory."""
    options = SheetOptions(number="FR-7", owner="O. Wner", creator="C. Reator",
                           approver="A. Pprover", date="2026-02-03")
    pages = layout_sheets(solved("four_bar"), options)
    words = [text.text for text in pages[0].texts()]
    for value in ("FR-7", "O. Wner", "C. Reator", "A. Pprover", "2026-02-03", "Ferry rower",
                  "Layout", f"1 of {len(pages)}", "1:2"):
        assert value in words
    for number, page in enumerate(pages, 1):
        assert f"{number} of {len(pages)}" in [text.text for text in page.texts()]


def test_the_number_tells_versions_of_a_sketch_apart() -> None:
    def number(study: Study) -> str:
        return next(t.text for t in layout_sheets(study)[0].texts() if t.text.startswith("CW-"))

    first = solved("four_bar")
    changed = replace(first, sketch=msgspec.structs.replace(first.sketch, note="wider"))
    assert number(first) == number(first)
    assert number(first) != number(changed)


def test_cautions_defer_to_codes_and_name_the_dangers() -> None:
    words = " ".join(text.text for page in sheets_of("four_bar")
                     for text in page.texts())
    for danger in ("eye and ear protection", "Oily rags", "pinch", "not a toy", "Local codes",
                   "Wood dust", "licensed"):
        assert danger in words


@pytest.mark.parametrize("name", DEMOS)
def test_leaders_of_item_numbers_end_on_what_can_be_seen_of_their_part(name: str) -> None:
    study = demo(name)
    shown = subject(study)
    made = front(shown, SheetOptions(), "A4")
    page = draw_fronts(made, shown, SheetOptions(), kinds(shown))[0].page
    dots = [shapely.Point(item.x, item.y) for item in page.items
            if isinstance(item, Circle) and item.fill == INK and item.radius == 0.5]
    touched = set()
    for dot in dots:
        over = [part for part, shape in shown.shapes.items()
                if made.view.shape(shape).contains(dot)]
        touched.add(max(over, key=lambda part: shown.layers[part]))
    assert dots
    for kind in kinds(shown):
        assert touched & set(kind.parts), kind


def test_gear_pitch_circles_touch() -> None:
    shown = subject(solved("geared"))
    page = layout_sheets(shown.study, SheetOptions(scale=0.5))[0]
    radii = sorted({round(item.radius, 3) for item in page.items
                    if isinstance(item, Circle) and item.pen is not None and item.pen.dash_mm})
    assert radii == [15.0, 30.0]  # 90 mm centres at 1:2, 20 and 40 teeth
    assert {"20 teeth", "40 teeth"} <= {text.text for text in page.texts()}


def test_parts_with_many_centres_leave_them_to_the_hole_table() -> None:
    shown = subject(solved("crowded"))
    assert len(measured_pairs(shown, "drag-link")) > MOST_PAIRS
    row = next(row for row in part_list(shown, kinds(shown)).rows if row[2] == "drag-link")
    assert row[7] == "13 centres: see the hole table"


def test_inch_sheets_show_fractions() -> None:
    pages = sheets_of("inch_four_bar")
    words = [text.text for page in pages for text in page.texts()]
    assert "inches" in words
    assert "5 1/8" in words  # 130 mm rounded to the sixteenth of the grid
    assert any("Bores Ø1/4 in" in word for word in words)
    assert pages[0].paper == "letter"


def test_sheets_are_the_same_every_time() -> None:
    first, second = (layout_sheets(solved("sliding")) for _ in range(2))
    assert [str(page.items) for page in first] == [str(page.items) for page in second]


def test_text_of_the_page_is_plain() -> None:
    for name in SKETCHES:
        for page in sheets_of(name):
            for text in page.texts():
                assert isinstance(text, Text)
                assert text.text.strip() == text.text != ""
                assert "nan" not in text.text.lower().split()


def test_cautions_are_never_parted_by_a_page() -> None:
    """The worst of them must not be overlooked on the back of a sheet."""
    for name in (*SKETCHES, *DEMOS):
        pages = layout_sheets(solved(name) if name in SKETCHES else demo(name),
                              SheetOptions(templates=False))
        first = [n for n, page in enumerate(pages) if any(
            text.text == "Cautions" for text in page.texts())]
        last = [n for n, page in enumerate(pages) if any(
            text.text.startswith("Local codes") for text in page.texts())]
        assert len(first) == 1
        assert first == last


def test_labels_of_different_rods_do_not_read_as_one() -> None:
    """Rod letters on one line stand further apart than words of one label."""
    for name in DEMOS:
        named = [text for text in layout_sheets(demo(name), SheetOptions(templates=False))[0]
                 .texts() if text.bold and text.size_mm in (2.5, 3.5)
                 and text.text[0].isalpha()]
        boxes = [(text, text_box(text)) for text in named]
        for (one, a), (other, b) in combinations(boxes, 2):
            if abs(one.y - other.y) < 2.0:
                apart = max(a[:, 0].min() - b[:, 0].max(), b[:, 0].min() - a[:, 0].max())
                assert apart > 1.5, (one.text, other.text)


def test_a_distance_without_room_at_one_twin_stands_at_the_other() -> None:
    words = [text.text for page in layout_sheets(demo("night-moth"))[:2]
             for text in page.texts()]
    assert "2× 96" in words
    assert not any(word.startswith("No room") for word in words)


def test_large_paper_shows_full_size_and_tables_instead_of_enlarging() -> None:
    first = sheets_of("four_bar", SheetOptions(paper="A1"))[0]
    words = [text.text for text in first.texts()]
    assert "1:1" in words
    assert "Hole table" in words
