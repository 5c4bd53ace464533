"""Bad, damaged and hostile files of curves: one sentence each, and nothing else."""

from __future__ import annotations

import io
import random

import ezdxf
import numpy as np
import pytest

from core.errors import FileError
from core.files.curves import KINDS, read_curves
from core.model.numbers import LARGEST_MM

HEAD = '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" '
LINE = '<path d="M0 0 H10 V20"/>'


def svg(body: str, before: str = "") -> bytes:
    return f"{before}{HEAD}width='10mm' height='10mm'>{body}</svg>".encode()


def dxf(draw) -> bytes:
    document = ezdxf.new()
    draw(document.modelspace())
    text = io.StringIO()
    document.write(text)
    return text.getvalue().encode()


BOMB = ("<!DOCTYPE svg [<!ENTITY a 'x'>" + "".join(
    f"<!ENTITY {chr(98 + k)} '{f'&{chr(97 + k)};' * 10}'>" for k in range(9)) + "]>")
COPIES = "".join(f'<g id="l{k}">' + f'<use xlink:href="#l{k + 1}"/>' * 10 + "</g>"
                 for k in range(9)) + f'<g id="l9">{LINE}</g>'


@pytest.mark.parametrize(("data", "kind", "said"), [
    (b"", "svg", "empty"), (b" \n\0", "csv", "empty"), (b"x" * 9_000_000, "csv", "larger than"),
    (svg("<text>&j;</text>", BOMB), "svg", "entities"),
    (svg("<text>&x;</text>", '<!DOCTYPE svg [<!ENTITY x SYSTEM "file:///etc/passwd">]>'), "svg",
     "entities"),
    (svg(COPIES), "svg", "copies"),
    (svg('<g id="a"><use xlink:href="#a"/></g>'), "svg", "copies"),
    (svg("<g>" * 2000 + LINE + "</g>" * 2000), "svg", "far more"),
    (svg('<rect width="1" height="1"/>' * 30_000), "svg", "far more"),
    (svg('<path d="M0 0' + " L1 2" * 600_000 + '"/>'), "svg", "far more"),
    (svg(""), "svg", "no curve"), (svg("<path d='M0 0'/>"), "svg", "no curve"),
    (b"<html><body/></html>", "svg", "not SVG"), (b"<svg><path", "svg", "not sound XML"),
    (svg(f'<path d="M0 0 H{1e12:.0f}"/>'), "svg", "reaches further"),
    (b"0\nSECTION\n2\nENTITIES\n0\nLINE\n10\nabc", "dxf", "no curve|cannot be read"),
    (b"\x89PNG\r\n\x1a\n" + bytes(range(256)), "dxf", "no curve|cannot be read"),
    (dxf(lambda space: None), "dxf", "no curve"),
    (dxf(lambda space: space.add_line((0, 0), (1e300, 0))), "dxf", "reaches further|not fin"),
    (dxf(lambda space: space.add_line((0, 0), (2 * LARGEST_MM, 0))), "dxf", "reaches further"),
    (dxf(lambda space: [space.add_point((k, 0)) for k in range(6000)]), "dxf", "far more"),
    (b"1,2\n3,abc\n", "csv", "line 2: 'abc' is not a number"),
    (b"1,2\n3,nan\n", "csv", "line 2: the number is not finite"),
    (b"1,2\n3,1e999\n", "csv", "not finite"), (b"1\n2\n3\n", "csv", "one number"),
    (b"1,2,3,4\n5,6,7,8\n", "csv", "4 numbers"), (b"a,b\n1,2\n", "csv", "no x and y"),
    (b"x,y\n", "csv", "no rows"), (b"# only words\n", "csv", "empty"),
    (b"1,2\n\0\1\2,3", "csv", "not a table"), (b"1,1e30\n2,2\n", "csv", "reaches further"),
    (b"1,2\n" * 300_000, "csv", "more than"),
])
def test_one_sentence_says_what_is_wrong(data, kind, said):
    with pytest.raises(FileError, match=said) as caught:
        read_curves(data, kind, where="paths")
    sentence = str(caught.value)
    assert sentence.startswith("paths")
    assert sentence.count("\n") == 0
    assert len(sentence) < 200


def test_nested_blocks_that_multiply_are_refused():
    document = ezdxf.new()
    for level in range(30):
        block = document.blocks.new(f"B{level}")
        for _ in range(2):
            if level:
                block.add_blockref(f"B{level - 1}", (0, 0))
    document.modelspace().add_blockref("B29", (0, 0))
    text = io.StringIO()
    document.write(text)
    with pytest.raises(FileError, match="far more"):
        read_curves(text.getvalue().encode(), "dxf")


def test_pictures_and_styles_outside_the_file_are_not_asked_for(tmp_path):
    body = ('<image xlink:href="http://localhost:9/none.png" width="5" height="5"/>'
            '<style>@import url("http://localhost:9/none.css");</style>'
            f'<use xlink:href="http://localhost:9/none.svg#a"/>{LINE}')
    (curve,) = read_curves(svg(body), "svg")
    assert curve.places.size == 3


SOUND = {
    "svg": svg('<g transform="rotate(10)"><path d="M0 0 C1 2 3 4 5 6 A3 4 10 1 0 9 9 Z"/>'
               '<circle cx="5" cy="5" r="4"/></g><polyline points="0,0 1,2 3,4"/>'),
    "dxf": dxf(lambda space: (space.add_circle((0, 0), 3), space.add_spline(
        [(0, 0), (1, 2), (3, 1)]), space.add_lwpolyline([(0, 0), (1, 1), (2, 0)]))),
    "csv": b"x;y;crank\n0,5;1;0\n2;3;90\n4;1;180\n",
}


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("seed", range(60))
def test_damaged_files_give_curves_or_a_sentence(kind, seed):
    draw = random.Random(1000 * KINDS.index(kind) + seed)
    data = bytearray(SOUND[kind])
    for _ in range(draw.choice((1, 3, 12))):
        at = draw.randrange(len(data))
        match draw.randrange(4):
            case 0:
                data[at] = draw.randrange(256)
            case 1:
                del data[at:at + draw.choice((1, 7, 60))]
            case 2:
                data[at:at] = bytes(draw.choices(b"0123456789.eE-,;<>/&\n\"'nanif", k=6))
            case _:
                data[at:at] = data[:draw.randrange(80)]
        if not data:
            data = bytearray(b" ")
    curves, said = (), ""
    try:
        curves = read_curves(bytes(data), kind, where="damaged")
    except FileError as trouble:
        said = str(trouble)
    assert bool(curves) or said.startswith("damaged")
    for curve in curves:
        assert np.isfinite(curve.places).all()
        assert np.abs(curve.places).max() < 2 * LARGEST_MM
        assert curve.places.size >= 1


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("other", KINDS)
def test_a_file_of_another_kind_is_a_sentence(kind, other):
    if kind != other:
        with pytest.raises(FileError):
            read_curves(SOUND[other], kind)
