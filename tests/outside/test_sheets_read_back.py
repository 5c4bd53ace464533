"""The layout PDF read back by PDF readers (pdfminer.six, pypdf), as a print shop would.

PDF 1.4 (ISO 32000-1): 72 units to the inch. Paper sizes ISO 216, as listed by a stationer;
inch sizes ASME Y14.1, from memory. 1 in = 25.4 mm exactly (international yard and pound
agreement, 1959).
"""

from __future__ import annotations

import math
import os
import re
import subprocess
import sys
from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
from drawn import four_bar, sheets_of, solved
from pdfminer.high_level import extract_pages
from pdfminer.layout import LTChar, LTCurve, LTLine, LTPage, LTTextLine
from pypdf import PdfReader
from PySide6.QtGui import QRawFont
from PySide6.QtPrintSupport import QPrinter

from app.pdf import (
    dated_sheets,
    issue_time,
    page_image,
    print_pages,
    write_png,
    write_sheets,
)
from core.drawing import SheetOptions
from core.drawing.lettering import text_width
from core.errors import FileError
from core.files import save

pytestmark = pytest.mark.usefixtures("qapp")

MM = 25.4 / 72.0
ROOT = Path(__file__).parents[2]
EPOCH = "1767225600"  # 2026-01-01


def parts_of(page: LTPage, kind: type) -> Iterator:
    stack = list(page)
    while stack:
        item = stack.pop()
        if isinstance(item, kind):
            yield item
        if hasattr(item, "__iter__") and not isinstance(item, LTTextLine):
            stack.extend(item)


def texts(page: LTPage) -> list[tuple[str, float, float]]:
    """Words as read, with the middle of each in mm from the lower left."""
    found = []
    for row in parts_of(page, LTTextLine):
        text = " ".join(row.get_text().split())
        if text:
            found.append((text, (row.x0 + row.x1) / 2 * MM, (row.y0 + row.y1) / 2 * MM))
    return found


def circles(page: LTPage) -> list[tuple[complex, float]]:
    """Middles (mm) and diameters (mm) of the circles drawn."""
    found = []
    for curve in parts_of(page, LTCurve):
        if isinstance(curve, LTLine) or abs(curve.width - curve.height) > 0.02:
            continue
        if len(curve.pts) >= 4:
            middle = complex(curve.x0 + curve.x1, curve.y0 + curve.y1) / 2 * MM
            found.append((middle, curve.width * MM))
    return found


def lines(page: LTPage) -> list[tuple[complex, complex]]:
    return [(complex(*line.pts[0]) * MM, complex(*line.pts[1]) * MM)
            for line in parts_of(page, LTLine)]


def fraction(text: str) -> float:
    """A length as printed, in its unit: "5 1/8", "−3/8", "130.00"."""
    sign = -1.0 if text.startswith("−") else 1.0
    return sign * sum(float(a) / float(b or 1) for a, _, b in
                      (word.partition("/") for word in text.lstrip("−").split()))


@pytest.fixture(scope="module")
def pdf_of(tmp_path_factory: pytest.TempPathFactory):
    folder = tmp_path_factory.mktemp("sheets")
    made: dict[tuple, tuple[Path, list[LTPage]]] = {}

    def make(name: str, **options: object) -> tuple[Path, list[LTPage]]:
        key = (name, *sorted(options.items()))
        if key not in made:
            path = folder / f"{len(made)}.pdf"
            write_sheets(solved(name), path, SheetOptions(**options))
            made[key] = path, list(extract_pages(path))
        return made[key]

    return make


@pytest.mark.parametrize(("name", "paper", "scale", "unit"), [
    ("four_bar", "A4", 1 / 2, 1.0), ("four_bar", "A3", 1.0, 1.0),
    ("inch_four_bar", "letter", 3 / 4, 25.4), ("large", "A3", 1 / 5, 1.0),
    ("sliding", "A4", 1 / 2, 1.0), ("crowded", "A2", 1 / 2, 1.0),
])
def test_every_hole_is_where_the_hole_table_says(name, paper, scale, unit, pdf_of) -> None:
    """Coordinates read off the printed table, holes found among the printed circles."""
    _, pages = pdf_of(name, paper=paper)
    ratio = Fraction(scale).limit_denominator(100)
    words = [text for text, _, _ in texts(pages[0])]
    assert f"{ratio.numerator}:{ratio.denominator}" in words
    rows = []
    for page in pages:
        by_row: dict[int, list[tuple[float, str]]] = {}
        for text, x, y in texts(page):
            by_row.setdefault(round(y * 2), []).append((x, text))
        for cells in by_row.values():
            words = [text for _, text in sorted(cells)]
            for first, word in enumerate(words[:-5]):
                fit = words[first + 5]
                if re.fullmatch(r"[A-Z]+\d", word) and re.match("running|fast", fit):
                    values = words[first + 2:first + 5]
                    rows.append((word, *(fraction(value) * unit for value in values)))
    sketch = solved(name).sketch
    assert len(rows) == sum(len(pin.at) for pin in sketch.pins)
    drawn = circles(pages[0])
    bores = {round(row[3] * scale, 2) for row in rows}
    rods = [(at, dia) for at, dia in drawn if round(dia, 2) in bores]
    datum = next(row for row in rows if row[0] == "A1")
    assert datum[1:3] == (0.0, 0.0)
    words = texts(pages[0])
    hits = []
    for origin, dia in rods:
        if abs(dia - datum[3] * scale) > 0.02:
            continue
        places = [(row, origin + complex(row[1], row[2]) * scale) for row in rows]
        if all(any(abs(at - place) < 0.03 and abs(d - row[3] * scale) < 0.02 for at, d in rods)
               for row, place in places):
            hits.append(places)
    assert hits, "no circle serves as the datum of all holes"
    for row, place in hits[0]:
        letter = re.sub(r"\d", "", row[0])
        near = [abs(complex(x, y) - place) for text, x, y in words if letter in text.split()]
        assert near
        assert min(near) < 60.0


@pytest.mark.parametrize("name", ["four_bar", "inch_four_bar", "geared", "large"])
def test_check_bars_measure_on_every_page_that_is_to_scale(name, pdf_of) -> None:
    path, pages = pdf_of(name)
    scaled = 0
    for page, again in zip(pages, PdfReader(path).pages, strict=True):
        words = "".join(again.extract_text().split())
        if "100mm" not in words:
            continue
        scaled += 1
        lengths = [abs(b - a) for a, b in lines(page)]
        assert any(abs(length - 100.0) < 0.01 for length in lengths)
        if name.startswith("inch"):
            assert "4in" in words
            assert any(abs(length - 101.6) < 0.01 for length in lengths)
    sheets = sheets_of(name)
    assert scaled == 1 + sum(page.title.startswith("Template") for page in sheets)


@pytest.mark.parametrize("name", ["four_bar", "inch_four_bar", "large"])
def test_templates_are_printed_at_full_size(name, pdf_of) -> None:
    """Bores of the coupler on its template lie apart as the sketch has them."""
    _, pages = pdf_of(name)
    sketch = solved(name).sketch
    titles = [page.title for page in sheets_of(name)]
    crank = sketch.part("crank")
    apart = abs(complex(crank.points[0].x - crank.points[1].x,
                        crank.points[0].y - crank.points[1].y))
    bores = {pin.diameter_mm for pin in sketch.pins
             if any(ref.startswith("crank.") for ref in pin.at)}
    found = False
    for page, title in zip(pages, titles, strict=True):
        if not title.startswith("Template"):
            continue
        rods = [at for at, dia in circles(page) if any(abs(dia - b) < 0.02 for b in bores)]
        found |= any(abs(abs(p - q) - apart) < 0.02 for p in rods for q in rods)
    assert found


@pytest.mark.parametrize(("paper", "size"), [
    ("A4", (210.0, 297.0)), ("A3", (297.0, 420.0)), ("A0", (841.0, 1189.0)),
    ("letter", (215.9, 279.4)), ("tabloid", (279.4, 431.8)), ("ANSI E", (863.6, 1117.6)),
])
def test_pages_have_the_size_of_their_paper(paper, size, pdf_of) -> None:
    path, _ = pdf_of("four_bar", paper=paper)
    for page in PdfReader(path).pages:
        sides = sorted((float(page.mediabox.width) * MM, float(page.mediabox.height) * MM))
        # The writer rounds pages to whole points, 0.35 mm.
        assert sides == pytest.approx(sorted(size), abs=0.2)


def test_dimensions_on_the_print_are_the_lengths_drawn(pdf_of) -> None:
    """Each centre distance stands next to a line as long as it says, at scale."""
    _, pages = pdf_of("four_bar")
    drawn = [abs(b - a) for a, b in lines(pages[0])]
    letters = "".join(text for text, _, _ in texts(pages[0]))
    turned = "".join(char.get_text() for char in parts_of(pages[0], LTChar))
    for value in (39.45, 141.55, 101.98, 108.24, 89.44):
        assert any(abs(length - value / 2) < 0.01 for length in drawn), value
        assert str(value) in letters or str(value) in turned


def test_text_is_text_in_the_embedded_font(pdf_of) -> None:
    path, _ = pdf_of("sliding")
    reader = PdfReader(path)
    fonts = set()
    for page in reader.pages:
        for font in page["/Resources"]["/Font"].values():
            inner = font.get_object()["/DescendantFonts"][0].get_object()
            fonts.add(inner["/BaseFont"].split("+")[-1])
            assert inner["/FontDescriptor"].get_object()["/FontFile2"] is not None
            assert "/ToUnicode" in font.get_object()
    assert fonts
    assert all("Plex" in font for font in fonts)
    words = " ".join("".join(page.extract_text().split()) for page in reader.pages)
    for phrase in ("Holetable", "Partlist", "Cautions", "Drivingtorqueovertheturn",
                   "Slidingram", "1of"):
        assert phrase in words


def test_curves_follow_the_torque_and_mark_its_peak(pdf_of) -> None:
    _, pages = pdf_of("sliding")
    study = solved("sliding")
    peak = float(np.nanmax(study.effort.torque_high_nmm)) / 1000
    words = [text for page in pages for text, _, _ in texts(page)]
    shown = [float(word.split()[0]) for word in words if re.fullmatch(r"[\d.]+ N·m", word)]
    assert any(math.isclose(value, peak, rel_tol=0.01) for value in shown)


def test_equal_input_gives_equal_bytes_and_the_date_asked_for(tmp_path, monkeypatch) -> None:
    monkeypatch.setenv("SOURCE_DATE_EPOCH", EPOCH)
    for name in ("four_bar", "sliding"):
        first, second = tmp_path / "a.pdf", tmp_path / "b.pdf"
        write_sheets(solved(name), first)
        write_sheets(solved(name), second)
        assert first.read_bytes() == second.read_bytes()
    meta = PdfReader(first).metadata
    assert meta.title == "Sliding ram"
    assert meta.creator == "Crankwright"
    assert meta.creation_date.isoformat().startswith("2026-01-01T00:00:00")
    assert meta.modification_date == meta.creation_date
    assert b"2026-01-01T00:00:00" in first.read_bytes()
    assert "2026-01-01" in PdfReader(first).pages[0].extract_text()


def test_a_date_that_is_none_is_refused(monkeypatch) -> None:
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "yesterday")
    with pytest.raises(FileError, match="seconds since 1970"):
        issue_time()


def test_without_a_display_in_a_fresh_process_the_same_bytes(tmp_path, monkeypatch) -> None:
    monkeypatch.setenv("SOURCE_DATE_EPOCH", EPOCH)
    sketch = tmp_path / "rower.json"
    save(four_bar(), sketch)
    script = ("import sys; from core.files import load; from core.study import study; "
              "from app.pdf import write_sheets; "
              "write_sheets(study(load(sys.argv[1]), steps=72, refine=False), sys.argv[2])")
    env = {key: value for key, value in os.environ.items()
           if key not in ("DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM")}
    out = tmp_path / "out.pdf"
    done = subprocess.run([sys.executable, "-c", script, str(sketch), str(out)], cwd=ROOT,
                          env=env, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    write_sheets(solved("four_bar"), tmp_path / "here.pdf")
    assert out.read_bytes() == (tmp_path / "here.pdf").read_bytes()


def test_a_file_that_cannot_be_written_leaves_the_old_one(tmp_path) -> None:
    with pytest.raises(FileError):
        write_sheets(solved("four_bar"), tmp_path / "missing" / "out.pdf")
    assert list(tmp_path.iterdir()) == []


def test_a_printer_gets_pages_of_their_size_at_full_scale(tmp_path) -> None:
    printer = QPrinter(QPrinter.PrinterMode.HighResolution)
    printer.setOutputFormat(QPrinter.OutputFormat.PdfFormat)
    printer.setOutputFileName(str(tmp_path / "printed.pdf"))
    pages = dated_sheets(solved("four_bar"), SheetOptions(paper="A3", date="2026-01-01"))
    print_pages(printer, pages)
    printed = list(extract_pages(tmp_path / "printed.pdf"))
    assert len(printed) == len(pages)
    for made, page in zip(printed, pages, strict=True):
        assert made.width * MM == pytest.approx(page.width_mm, abs=0.2)
        assert made.height * MM == pytest.approx(page.height_mm, abs=0.2)
    assert any(abs(abs(b - a) - 100.0) < 0.05 for a, b in lines(printed[0]))
    frame = min(line.x0 for line in parts_of(printed[0], LTCurve)) * MM
    assert frame == pytest.approx(15.0, abs=0.1)  # centring mark, 5 mm left of the frame


@pytest.mark.parametrize(("bold", "file"), [
    (False, "IBMPlexSans-Regular.ttf"), (True, "IBMPlexSans-SemiBold.ttf")])
def test_text_is_as_wide_as_the_font_makes_it(bold, file) -> None:
    """The table of advance widths against the font file itself."""
    font = QRawFont(str(ROOT / "assets" / "fonts" / file), 1000)
    for text in ("Hole table", "12.34 mm", "−3/8", "Ø6 ×2 – ½", "Größe αβγ µ"):
        glyphs = font.glyphIndexesForString(text)
        width = sum(point.x() for point in font.advancesForGlyphIndexes(glyphs))
        assert text_width(text, font.capHeight() / 1000, bold) == pytest.approx(width / 1000)


def test_pictures_of_pages_have_their_size_and_ink(tmp_path, qapp) -> None:
    page = sheets_of("four_bar")[0]
    write_png(page, tmp_path / "page.png", 4.0)
    image = page_image(page, 4.0)
    assert (image.width(), image.height()) == (840, 1188)
    assert (tmp_path / "page.png").read_bytes().startswith(b"\x89PNG")
    row = [image.pixelColor(x, image.height() - 41).lightness() for x in range(image.width())]
    assert min(row) < 120  # the lower edge of the frame, 10 mm up
    assert image.pixelColor(5, 5).lightness() > 250
