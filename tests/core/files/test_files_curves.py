"""Curves from SVG, DXF and CSV, against what the standards say they are."""

from __future__ import annotations

import io
import math

import ezdxf
import numpy as np
import pytest
from ezdxf import units
from scipy.special import ellipe

from core.errors import FileError
from core.files.curves import Curve, read_curves


def svg(body: str, head: str = 'width="200mm" height="100mm" viewBox="0 0 200 100"') -> bytes:
    return (f'<svg xmlns="http://www.w3.org/2000/svg" '
            f'xmlns:xlink="http://www.w3.org/1999/xlink" {head}>{body}</svg>').encode()


def one(data: bytes, kind: str) -> Curve:
    (curve,) = read_curves(data, kind)
    return curve


def dxf(draw, unit: int = units.MM) -> bytes:
    document = ezdxf.new()
    document.units = unit
    draw(document.modelspace())
    text = io.StringIO()
    document.write(text)
    return text.getvalue().encode()


# -- SVG -----------------------------------------------------------------------------

def test_a_polyline_keeps_its_corners_and_is_turned_up():
    curve = one(svg('<polyline points="10,20 30,20 30,60"/>'), "svg")
    assert curve.kind == "straight"
    assert not curve.closed
    assert curve.places == pytest.approx([10 + 80j, 30 + 80j, 30 + 40j], rel=2e-6)


def test_lengths_without_a_unit_are_css_pixels():
    # CSS Values and Units Module Level 4, 6.2: 1in = 96px (from memory).
    curve = one(svg('<line x1="0" y1="0" x2="96" y2="0"/>', 'width="960" height="960"'), "svg")
    assert curve.length_mm == pytest.approx(25.4)


@pytest.mark.parametrize(("unit", "mm"), [
    ("mm", 1), ("cm", 10), ("in", 25.4), ("pt", 25.4 / 72), ("pc", 25.4 / 6),
    ("px", 25.4 / 96)])
def test_units_of_the_page(unit, mm):
    # CSS Values and Units Module Level 4, 6.2: absolute lengths (from memory).
    head = f'width="100{unit}" height="100{unit}" viewBox="0 0 100 100"'
    curve = one(svg('<line x1="0" y1="0" x2="50" y2="0"/>', head), "svg")
    assert curve.length_mm == pytest.approx(50 * mm, rel=1e-5)


def test_a_circle_an_ellipse_and_arcs_have_the_lengths_they_should():
    circle = one(svg('<circle cx="50" cy="50" r="30"/>'), "svg")
    assert circle.closed
    assert circle.length_mm == pytest.approx(2 * math.pi * 30, rel=1e-3)
    # Circumference by the complete elliptic integral (Abramowitz & Stegun 17.3, from memory).
    ellipse = one(svg('<ellipse cx="50" cy="50" rx="40" ry="20"/>'), "svg")
    assert ellipse.length_mm == pytest.approx(4 * 40 * ellipe(1 - 0.25), rel=1e-3)
    # SVG 1.1, 8.3.8: two half circles by arc commands (from memory).
    arcs = one(svg('<path d="M20 50 A30 30 0 0 1 80 50 A30 30 0 0 1 20 50 Z"/>'), "svg")
    assert arcs.closed
    assert np.abs(np.abs(arcs.places - (50 + 50j)) - 30).max() < 1e-3


def test_bezier_curves_pass_where_their_formula_says():
    curve = one(svg('<path d="M0 100 C0 0 100 0 100 100"/>'), "svg")
    # SVG 1.1, 8.3.6 (from memory): at t = 1/2 a cubic is (p0 + 3 p1 + 3 p2 + p3) / 8.
    middle = curve.places[np.argmin(np.abs(curve.places.real - 50))]
    assert middle == pytest.approx(50 + 75j, rel=1e-5)


def test_transforms_of_groups_and_copies_are_applied():
    body = ('<defs><path id="a" d="M0 0 H10"/></defs>'
            '<g transform="translate(20,30) rotate(90)"><use xlink:href="#a" x="5"/></g>')
    curve = one(svg(body), "svg")
    assert curve.places == pytest.approx([20 + 65j, 20 + 55j], rel=1e-5)


def test_each_stretch_of_a_path_is_a_curve_the_longest_first():
    curves = read_curves(svg('<path id="p" d="M0 0 H10 M0 20 H50 M0 40 H20"/>'), "svg")
    assert [round(curve.length_mm) for curve in curves] == [50, 20, 10]
    assert curves[0].name == "p"


def test_hidden_and_reference_only_shapes_are_not_read():
    body = ('<path d="M0 0 H10" display="none"/><defs><path d="M0 0 H99"/></defs>'
            '<path d="M0 0 H20"/>')
    assert one(svg(body), "svg").length_mm == pytest.approx(20, rel=1e-5)


@pytest.mark.parametrize("holder", ["mask", "marker", "symbol", "pattern", "clipPath", "defs"])
def test_what_is_drawn_only_where_it_is_referred_to_is_no_curve(holder):
    # SVG 1.1, 5.5, 11.6, 13.3 and 14: none is ever rendered directly (from memory).
    body = f'<{holder} id="a"><path d="M0 0 H99"/></{holder}><path d="M0 0 H20"/>'
    assert one(svg(body), "svg").length_mm == pytest.approx(20, rel=1e-5)


def test_a_symbol_is_drawn_where_it_is_used():
    body = '<symbol id="a"><path d="M0 0 H30"/></symbol><use xlink:href="#a" x="5" y="10"/>'
    assert one(svg(body), "svg").places == pytest.approx([5 + 90j, 35 + 90j], rel=1e-5)


def test_a_page_without_a_size_is_turned_up_about_its_origin():
    curve = one(b'<svg xmlns="http://www.w3.org/2000/svg"><path d="M0 0 V96"/></svg>', "svg")
    assert curve.places == pytest.approx([0, -25.4j])


# -- DXF -----------------------------------------------------------------------------

def test_lines_and_arcs_that_meet_are_one_loop():
    def draw(space):
        space.add_line((0, 0), (10, 0))
        space.add_arc((10, 5), 5, -90, 90)
        space.add_line((10, 10), (0, 10))
        space.add_line((0, 0), (0, 10))
    curve = one(dxf(draw), "dxf")
    assert curve.closed
    assert curve.length_mm == pytest.approx(30 + 5 * math.pi, rel=1e-3)


def test_a_chain_keeps_the_direction_of_what_was_drawn_first():
    def draw(space):
        space.add_line((20, 0), (10, 0))
        space.add_line((0, 0), (10, 0))
    curve = one(dxf(draw), "dxf")
    assert curve.places[0] == 20
    assert curve.places[-1] == 0


def test_a_bulge_of_one_is_half_a_circle():
    # DXF reference, LWPOLYLINE, group code 42 (from memory): the bulge is the tangent of a
    # quarter of the included angle.
    def draw(space):
        space.add_lwpolyline([(0, 0, 1.0), (10, 0, 0.0)], format="xyb")
    curve = one(dxf(draw), "dxf")
    assert curve.kind == "smooth"
    assert curve.length_mm == pytest.approx(5 * math.pi, rel=2e-3)
    assert curve.places.imag.min() == pytest.approx(-5, abs=0.01)  # to the right of its way


def test_every_kind_of_curve_is_read():
    def draw(space):
        space.add_circle((0, 0), 10)
        space.add_ellipse((100, 0), (20, 0), 0.5)
        space.add_spline([(200, 0), (220, 30), (260, -10), (300, 0)])
        space.add_polyline2d([(400, 0), (410, 0), (410, 7)])
        space.add_lwpolyline([(500, 0), (503, 0), (503, 4)], close=True)
        space.add_text("not a curve")
    curves = read_curves(dxf(draw), "dxf")
    assert [curve.closed for curve in curves] == [False, True, True, False, True]
    lengths = [curve.length_mm for curve in curves]
    assert lengths[1] == pytest.approx(4 * 20 * ellipe(0.75), rel=1e-3)
    assert lengths[2:] == pytest.approx([20 * math.pi, 17, 12], rel=1e-3)


def test_units_of_the_drawing_and_blocks():
    def draw(space):
        block = space.doc.blocks.new("B")
        block.add_line((0, 0), (1, 0))
        space.add_blockref("B", (5, 0), dxfattribs={"xscale": 2, "rotation": 90})
    assert one(dxf(draw, units.IN), "dxf").places == pytest.approx([127, 127 + 50.8j])
    assert one(dxf(draw, 0), "dxf").length_mm == pytest.approx(2)


# -- CSV -----------------------------------------------------------------------------

@pytest.mark.parametrize("text", [
    "0,0\n1.5,2\n3,4\n", "0;0\n1,5;2\n3;4\n", "0;0\r\n1.5;2\r\n3;4", "0\t0\n1,5\t2\n3\t4\n",
    "0 0\n1.5   2\n3 4", "0 0\n1,5 2\n3 4", "x,y\n0,0\n1.5,2\n3,4", '"x";"y"\n0;0\n1,5;2\n3;4',
    "# drawn by hand\n\n0, 0\n 1.5 , 2\n\n3,4\n", "\ufeffx;y\n0;0\n1,5;2\n3;4\n",
    "X (mm),Y (mm)\n0,0\n1.5,2\n3,4", "x_cm,y_cm\n0,0\n.15,.2\n.3,.4", "y,x\n0,0\n2,1.5\n4,3",
])
def test_tables_in_every_dress_say_the_same(text):
    curve = one(text.encode(), "csv")
    assert curve.places == pytest.approx([0, 1.5 + 2j, 3 + 4j])
    assert curve.kind == "places"
    assert not curve.closed
    assert curve.crank_deg is None


def test_a_table_may_be_utf16_as_spreadsheets_write_it():
    table = "x\ty\n0\t0\n1\t2\n".encode("utf-16")
    assert one(table, "csv").places == pytest.approx([0, 1 + 2j])


def test_a_third_column_is_the_crank_angle():
    text = "0,0,0\n10,0,90\n10,10,180\n0,10,270\n"
    curve = one(text.encode(), "csv")
    assert curve.crank_deg == pytest.approx([0, 90, 180, 270])
    assert curve.closed
    radians = "crank_rad,x_in,y_in\n0,0,0\n1.5707963267948966,1,0\n"
    curve = one(radians.encode(), "csv")
    assert curve.crank_deg == pytest.approx([0, 90])
    assert curve.places == pytest.approx([0, 25.4])


def test_the_turn_table_of_this_program_gives_the_path_of_every_point():
    text = ("crank_deg,arm.A.x_mm,arm.A.y_mm,rod.C.x_mm,rod.C.y_mm,rod.angle_deg\n"
            "0,1,0,5,5,0\n90,2,1,7,6,1\n180,1,2,,,2\n270,0,1,6,9,3\n")
    by_name = {curve.name: curve for curve in read_curves(text.encode(), "csv")}
    assert set(by_name) == {"arm.A", "rod.C"}
    assert by_name["arm.A"].closed
    assert not by_name["rod.C"].closed  # the crank does not reach one of its places
    assert by_name["rod.C"].crank_deg == pytest.approx([0, 90, 270])


def test_places_that_come_round_are_a_loop_and_a_row_or_an_arc_is_not():
    turn = np.exp(2j * np.pi * np.arange(18) / 18)
    for places, closed in ((turn, True), (np.linspace(0, 5, 6) + 0j, False), (turn[:9], False)):
        text = "\n".join(f"{z.real:.6f},{z.imag:.6f}" for z in places)
        assert one(text.encode(), "csv").closed is closed


# -- all -----------------------------------------------------------------------------

def test_a_file_is_read_by_its_ending(tmp_path):
    path = tmp_path / "Loop.CSV"
    path.write_text("0,0\n1,2\n")
    assert len(read_curves(path)) == 1
    other = tmp_path / "loop.pdf"
    other.write_text("0,0\n1,2\n")
    with pytest.raises(FileError, match=r"loop\.pdf: only SVG, DXF and CSV"):
        read_curves(other)
    with pytest.raises(FileError, match="no such file"):
        read_curves(tmp_path / "none.svg")
