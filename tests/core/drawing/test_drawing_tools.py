"""The drawing's tools: text widths, placing, clipping, spreading, scales, ticks."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from core.drawing.clip import clipped, moved, starts
from core.drawing.dimensions import aligned, reading_angle, running, spread
from core.drawing.frame import Room
from core.drawing.items import Arc, Circle, Line, Path, Text, box, chain, dashed, double_dot
from core.drawing.lettering import separate, shortened, text_box, text_width, wrapped
from core.drawing.paper import PAPERS, paper_named, show_scale, standard_scale
from core.drawing.placing import Placer, half_box, traces_of
from core.drawing.plots import ceiling, steps, within
from core.drawing.subject import letters
from core.drawing.symbols import check_bar, hatched
from core.errors import CrankwrightError

WORDS = st.lists(st.text("abcWi.,Ø½", min_size=1, max_size=14), min_size=1, max_size=12)


@given(WORDS, st.floats(8.0, 120.0), st.booleans())
def test_wrapping_keeps_every_letter_and_the_width(words: list[str], width: float, bold: bool
                                                   ) -> None:
    lines = wrapped(" ".join(words), width, 2.5, bold)
    assert "".join("".join(lines).split()) == "".join(words)
    assert all(text_width(line, 2.5, bold) <= width + 1e-9 for line in lines)


@given(st.text("abcWi", max_size=30), st.floats(5.0, 60.0))
def test_shortened_text_is_a_beginning_that_fits(text: str, width: float) -> None:
    cut = shortened(text, width, 2.5)
    assert text_width(cut, 2.5) <= max(width, text_width("…", 2.5))
    assert cut == text or text.startswith(cut.removesuffix("…"))


@given(st.lists(st.floats(-50, 250), max_size=30), st.floats(1.0, 8.0))
def test_spread_labels_keep_order_distance_and_room(values: list[float], apart: float) -> None:
    values = sorted(values)
    places = spread(values, apart, 0.0, 200.0)
    assert len(places) == len(values)
    assert all(-1e-6 <= place <= 200.0 + 1e-6 for place in places)
    if len(values) > 1 and (len(values) - 1) * apart <= 200.0:
        assert np.diff(places).min() >= apart - 1e-6


def test_spread_leaves_labels_that_have_room_where_they_are() -> None:
    assert spread([10.0, 50.0, 90.0], 5.0, 0.0, 100.0) == [10.0, 50.0, 90.0]
    assert spread([50.0, 50.0], 6.0, 0.0, 100.0) == [47.0, 53.0]


@settings(max_examples=25)
@given(st.integers(0, 2**32 - 1))
def test_placed_texts_never_overlap_and_stay_inside(seed: int) -> None:
    draw = np.random.default_rng(seed)
    placer = Placer(0.0, 0.0, 90.0, 70.0)
    placer.draw([Line(*draw.uniform(0, 70, 4)) for _ in range(8)])
    boxes = []
    for _ in range(25):
        text = Text(0, 0, "A1 Ø6.35", 2.5, 0, float(draw.choice([0.0, 30.0, 90.0, -60.0])))
        middle, across, up = half_box(text)
        places = draw.uniform(0, 90, 40) + 1j * draw.uniform(0, 70, 40)
        chosen = placer.best(places + middle, across, up, np.zeros(40))
        if chosen is not None:
            at = places[chosen]
            boxes.append(text_box(Text(at.real, at.imag, text.text, 2.5, 0, text.angle_deg)))
    assert len(boxes) > 3
    for i, one in enumerate(boxes):
        assert one.min() >= 0.0
        assert (one.max(axis=0) <= (90.0, 70.0)).all()
        assert all(separate(one, other) for other in boxes[:i])


def test_placer_prefers_blank_paper() -> None:
    placer = Placer(0.0, 0.0, 60.0, 40.0)
    placer.draw([box(5, 5, 20, 10)])
    middle, across, up = half_box(Text(0, 0, "Here", 2.5))
    over_line, blank = 4 + 9.5j, 40 + 30j
    assert placer.best(np.array([over_line, blank]) + middle, across, up, np.zeros(2)) == 1


def test_placer_refuses_when_there_is_no_room() -> None:
    placer = Placer(0.0, 0.0, 10.0, 5.0)
    middle, across, up = half_box(Text(0, 0, "far too long for this", 2.5))
    assert placer.best(np.array([1 + 1j]) + middle, across, up, np.zeros(1)) is None


@given(st.floats(-1e3, 1e3), st.floats(-1e3, 1e3))
def test_values_read_from_the_bottom_or_the_right(x: float, y: float) -> None:
    """ISO 129-1, from memory."""
    angle = reading_angle(complex(x, y) or 1 + 0j)
    assert -90 < angle <= 90 + 1e-5


@pytest.mark.parametrize("angle", range(0, 360, 30))
@pytest.mark.parametrize("length", [4.0, 18.0, 90.0])
def test_an_aligned_dimension_measures_what_it_says(angle: int, length: float) -> None:
    a = 100 + 100j
    b = a + length * np.exp(1j * math.radians(angle))
    placer = Placer(0.0, 0.0, 200.0, 200.0)
    items = aligned(a, complex(b), "12.34", placer, (5.0, 5.0))
    assert items is not None
    heads = [complex(*item.rings[0][0]) for item in items
             if isinstance(item, Path) and item.fill is not None]
    assert abs(heads[1] - heads[0]) == pytest.approx(length, abs=1e-9)
    assert (heads[1] - heads[0]) / (b - a) == pytest.approx(1, abs=1e-9)


def test_running_dimensions_point_at_their_places() -> None:
    items = running([(20.0, 60.0, "0"), (55.0, 60.0, "35")], 40.0, 0.0, 100.0, True, 20.0)
    tips = [tuple(item.rings[0][0]) for item in items if isinstance(item, Path) and item.fill]
    assert tips == [(55.0, 40.0)]
    assert [item.x for item in items if isinstance(item, Circle)] == [20.0]
    assert [item.text for item in items if isinstance(item, Text)] == ["0", "35"]


def test_clipping_keeps_what_is_inside_and_cuts_the_rest() -> None:
    room = Room(0.0, 0.0, 10.0, 10.0)
    whole, gone = Circle(5, 5, 2), Circle(50, 50, 2)
    kept = clipped([whole, gone, Line(-5, 5, 15, 5), Circle(0, 5, 3), Arc(5, 5, 3, 0, 90),
                    Text(9, 5, "half out", 2.5), Text(1, 1, "in", 2.5)], room)
    assert whole in kept
    assert gone not in kept
    assert [item.text for item in kept if isinstance(item, Text)] == ["in"]
    ends = np.concatenate([ring for item in kept if isinstance(item, Path)
                           for ring in item.rings])
    assert ends.min() >= -1e-9
    assert ends.max() <= 10 + 1e-9
    lengths = sorted(shapely.LineString(item.rings[0]).length for item in kept
                     if isinstance(item, Path))
    assert lengths == pytest.approx([3 * math.pi, 10.0], rel=1e-3)


@given(st.floats(1.0, 3000.0), st.floats(60.0, 400.0))
def test_windows_cover_the_length_with_their_overlap(length: float, window: float) -> None:
    places = starts(length, window, 10.0)
    assert places[0] <= 1e-6
    assert places[-1] + window >= length - 1e-6
    assert np.allclose(np.diff(places), window - 10.0)
    if len(places) > 1:
        assert (len(places) - 1) * (window - 10.0) + 10.0 < length + 1e-6


def test_moving_shapes_moves_all_of_them() -> None:
    items = [Line(0.0, 0.0, 1.0, 2.0), Circle(1.0, 1.0, 3.0), Arc(1.0, 1.0, 2.0, 0.0, 90.0),
             Text(4.0, 5.0, "x"), box(0.0, 0.0, 2.0, 2.0)]
    back = moved(moved(items, 3 - 2j), -3 + 2j)
    assert [str(a) for a in back] == [str(b) for b in items]
    assert moved(items, 1j)[0] == Line(0.0, 1.0, 1.0, 3.0)


def test_paper_names_are_found_in_any_spelling() -> None:
    assert paper_named(" a3 ") == "A3"
    assert paper_named("ansi-c") == "ANSI C"
    assert paper_named("E") == "ANSI E"
    assert paper_named("") == "A4"
    assert paper_named("", "in") == "letter"
    with pytest.raises(CrankwrightError, match="use one of A4"):
        paper_named("foolscap")


@pytest.mark.parametrize(("largest", "units", "scale"), [
    (1.0, "mm", 1.0), (0.99, "mm", 0.5), (0.39, "mm", 0.2),
    (0.41, "mm", 0.4), (0.11, "mm", 0.1),
    (3.0, "mm", 2.0), (7.0, "mm", 5.0), (2e-9, "mm", 1e-9),
    (0.3, "in", 0.25), (0.99, "in", 0.75), (0.74, "in", 0.5), (0.4, "in", 0.375),
    (0.2, "in", 0.125), (5.0, "in", 4.0),
])
def test_the_scale_is_the_largest_standard_one(largest: float, units: str, scale: float
                                               ) -> None:
    assert standard_scale(largest, units) == scale  # type: ignore[arg-type]


@pytest.mark.parametrize(("scale", "shown"), [
    (0.5, "1:2"), (0.2, "1:5"), (1.0, "1:1"), (2.0, "2:1"), (0.125, "1:8"), (0.375, "3:8"),
    (0.4, "1:2.5"), (0.3, "1:3.33"),
])
def test_scales_are_shown_as_ratios(scale: float, shown: str) -> None:
    assert show_scale(scale) == shown


def test_line_types_have_the_dashes_of_iso_128() -> None:
    """Dash 12 d, long dash 24 d, gap 3 d, dot 0.5 d (ISO 128-2, from memory)."""
    d = 0.25
    assert dashed(d).dash_mm == (3.0, 0.75)
    assert chain(d).dash_mm == (6.0, 0.75, 0.125, 0.75)
    assert double_dot(d).dash_mm == (6.0, 0.75, 0.125, 0.75, 0.125, 0.75)


def test_check_bars_are_as_long_as_they_say() -> None:
    for inches, length in ((False, 100.0), (True, 101.6)):
        bar = check_bar(30.0, 20.0, inches)[0]
        assert isinstance(bar, Line)
        assert bar.x2 - bar.x1 == pytest.approx(length)


def test_hatching_stays_in_its_region_and_fills_it() -> None:
    region = shapely.Point(20, 20).buffer(8)
    lines = [shapely.LineString(item.rings[0]) for item in hatched(region, 2.0)
             if isinstance(item, Path)]
    assert all(region.buffer(1e-6).contains(line) for line in lines)
    assert sum(line.length for line in lines) == pytest.approx(region.area / 2.0, rel=0.05)
    assert hatched(shapely.Polygon()) == []


@given(st.floats(-1e4, 1e4), st.floats(1e-3, 1e4), st.integers(3, 8))
def test_ticks_are_round_and_cover_the_range(low: float, span: float, about: int) -> None:
    ticks = steps(low, low + span, about)
    size = ticks[1] - ticks[0]
    assert ticks[0] <= low + 1e-6 * size
    assert ticks[-1] >= low + span - 1e-6 * size
    assert len(ticks) <= about + 3
    lead = size / 10 ** math.floor(math.log10(size) + 1e-9)
    assert min(abs(lead - round_one) for round_one in (1, 2, 5, 10)) < 1e-5


def test_letters_go_on_past_the_alphabet_and_skip_misread_ones() -> None:
    names = letters()
    first = [next(names) for _ in range(700)]
    assert first[0] == "A"
    assert len(set(first)) == 700
    assert not any(set(name) & set("IOQS") for name in first)
    assert max(map(len, first)) == 3


def test_every_shape_leaves_a_trace_where_it_is_drawn() -> None:
    ring = traces_of(Circle(5, 5, 3))[0]
    assert np.abs(ring - (5 + 5j)) == pytest.approx(3.0)
    closed = traces_of(box(0, 0, 2, 1))[0]
    assert closed[0] == closed[-1]
    assert traces_of(Text(0, 0, "no")) == []
    assert set(PAPERS) >= {"A0", "A4", "letter", "ANSI E"}


def test_curves_are_cut_off_only_where_they_shoot_up() -> None:
    angle = np.linspace(0, 2 * np.pi, 200)
    assert ceiling(np.sin(angle)) == math.inf
    assert ceiling(np.full(5, np.nan)) == math.inf
    spike = np.sin(angle)
    spike[100] = 50.0
    assert 3.0 <= ceiling(spike) <= 6.0


def test_a_stretch_over_the_end_of_the_turn_comes_in_at_its_beginning() -> None:
    assert within([(330.0, 372.0)], 0.0, 360.0) == [(0.0, 12.0), (330.0, 360.0)]
    assert within([(20.0, 50.0)], 0.0, 360.0) == [(20.0, 50.0)]
    assert within([(0.0, 360.0)], 0.0, 360.0) == [(0.0, 360.0)]
