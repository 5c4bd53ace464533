"""Pages on paper, on the screen and in files: one painter for PDF, printer, preview, PNG.

The PDF is drawn in mm with geometric pens; text is text, in the bundled font, embedded.
"""

from __future__ import annotations

import os
import re
import uuid
from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime
from typing import TYPE_CHECKING

import numpy as np
from PySide6.QtCore import (
    QBuffer,
    QByteArray,
    QHashSeed,
    QIODevice,
    QMarginsF,
    QPointF,
    QRectF,
    QSizeF,
    Qt,
    QUuid,
)
from PySide6.QtGui import (
    QBrush,
    QColor,
    QFont,
    QGuiApplication,
    QImage,
    QPagedPaintDevice,
    QPageLayout,
    QPageSize,
    QPainter,
    QPainterPath,
    QPdfWriter,
    QPen,
    QPolygonF,
)

from app.theme import load_font
from core.drawing import SheetOptions, layout_sheets
from core.drawing.items import Arc, Circle, Item, Line, Page, Path, Pen, Text
from core.drawing.lettering import em_of, text_width
from core.errors import FileError
from core.files.atomic import write_bytes
from core.units import MM_PER_INCH

if TYPE_CHECKING:
    from core.study import Study

#: Device units in an inch: coordinates stay within 0.01 mm even where they are rounded.
RESOLUTION = 1200
# Fonts are set at this pixel size and scaled to the height wanted: sizes are whole pixels.
_FONT_PX = 100
_CREATOR = "Crankwright"


def write_sheets(study: Study, path: str | os.PathLike[str],
                 options: SheetOptions | None = None) -> int:
    """Writes the sheets of a sketch as a PDF; returns the number of pages.

    The date of issue is today's, or that of SOURCE_DATE_EPOCH when it is set; then equal
    input gives equal bytes. Works without a display. The file is replaced only when whole.

    Raises
    ------
    CrankwrightError
        As :func:`core.drawing.layout_sheets`; FileError when the file cannot be written.
    """
    when = issue_time()
    pages = dated_sheets(study, options)
    write_bytes(path, pdf_bytes(pages, study.sketch.title or "Untitled sketch", when))
    return len(pages)


def dated_sheets(study: Study, options: SheetOptions | None = None) -> list[Page]:
    """The pages of a sketch with the date of issue (see :func:`issue_time`) unless one is
    given; raises as :func:`core.drawing.layout_sheets`."""
    options = options or SheetOptions()
    if not options.date:
        options = replace(options, date=issue_time().strftime("%Y-%m-%d"))
    return layout_sheets(study, options)


def issue_time() -> datetime:
    """Now, or the time of SOURCE_DATE_EPOCH (seconds since 1970, UTC) when that is set.

    Raises
    ------
    FileError
        When SOURCE_DATE_EPOCH is not a number of seconds.
    """
    epoch = os.environ.get("SOURCE_DATE_EPOCH", "")
    if not epoch:
        return datetime.now(UTC)
    try:
        return datetime.fromtimestamp(int(epoch), UTC)
    except (ValueError, OverflowError, OSError):
        raise FileError(f"{epoch!r} is not a time", "SOURCE_DATE_EPOCH",
                        "give seconds since 1970, or unset it") from None


def pdf_bytes(pages: Sequence[Page], title: str, when: datetime) -> bytes:
    """Pages as a PDF. Equal pages, title and time give equal bytes."""
    ready()
    data = QByteArray()
    buffer = QBuffer(data)
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    writer = QPdfWriter(buffer)
    writer.setResolution(RESOLUTION)
    writer.setTitle(title)
    writer.setCreator(_CREATOR)
    # The title block carries a digest of the sketch: its words tell documents apart.
    words = [text.text for page in pages for text in page.texts()]
    mark = "\0".join([title, when.isoformat(), *words])
    writer.setDocumentId(QUuid(str(uuid.uuid5(uuid.NAMESPACE_OID, mark))))
    # The writer puts fonts in the order of a hash table, which differs between runs unless
    # the seed of new tables is fixed.
    QHashSeed.setDeterministicGlobalSeed()
    try:
        _paint_pages(writer, pages)
    finally:
        QHashSeed.resetRandomGlobalSeed()
    buffer.close()
    return _dated(bytes(data.data()), when)


def print_pages(device: QPagedPaintDevice, pages: Sequence[Page]) -> None:
    """Prints pages at full size, each on paper of its own size."""
    ready()
    _paint_pages(device, pages)


def _paint_pages(device: QPagedPaintDevice, pages: Sequence[Page]) -> None:
    painter = QPainter()
    try:
        for number, page in enumerate(pages):
            device.setPageLayout(_page_layout(page))
            if number == 0:
                if not painter.begin(device):
                    raise FileError("nothing can be printed there", "printer",
                                    "choose another printer or file")
            else:
                device.newPage()
            painter.save()
            per_mm = device.logicalDpiX() / MM_PER_INCH
            painter.scale(per_mm, per_mm)
            paint_page(painter, page)
            painter.restore()
    finally:
        painter.end()


def _page_layout(page: Page) -> QPageLayout:
    """Paper of the page's size without margins (the frame of the page has its own)."""
    size = QPageSize(QSizeF(page.width_mm, page.height_mm), QPageSize.Unit.Millimeter,
                     page.paper, QPageSize.SizeMatchPolicy.ExactMatch)
    layout = QPageLayout(size, QPageLayout.Orientation.Portrait, QMarginsF(0, 0, 0, 0),
                         QPageLayout.Unit.Millimeter)
    layout.setMode(QPageLayout.Mode.FullPageMode)
    return layout


def page_image(page: Page, dots_per_mm: float = 4.0) -> QImage:
    """A page as a picture on white, for previews and PNG files."""
    ready()
    image = QImage(round(page.width_mm * dots_per_mm), round(page.height_mm * dots_per_mm),
                   QImage.Format.Format_ARGB32_Premultiplied)
    image.setDotsPerMeterX(round(dots_per_mm * 1000))
    image.setDotsPerMeterY(round(dots_per_mm * 1000))
    image.fill(Qt.GlobalColor.white)
    painter = QPainter(image)
    try:
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setRenderHint(QPainter.RenderHint.TextAntialiasing)
        painter.scale(dots_per_mm, dots_per_mm)
        paint_page(painter, page)
    finally:
        painter.end()
    return image


def write_png(page: Page, path: str | os.PathLike[str], dots_per_mm: float = 8.0) -> None:
    """Writes one page as a PNG picture; raises FileError when that fails."""
    data = QByteArray()
    buffer = QBuffer(data)
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    page_image(page, dots_per_mm).save(buffer, "PNG")
    buffer.close()
    write_bytes(path, bytes(data.data()))


def ready() -> None:
    """Makes sure there is a Qt application and the bundled font."""
    if QGuiApplication.instance() is None:
        global _application
        _application = QGuiApplication([_CREATOR, "-platform", "offscreen"])
    load_font()


_application: QGuiApplication | None = None


def paint_page(painter: QPainter, page: Page) -> None:
    """Paints a page. One unit of the painter must be 1 mm, its origin the upper left
    corner of the paper, y down, as painters have it."""
    painter.save()
    painter.translate(0.0, page.height_mm)
    painter.scale(1.0, -1.0)
    for item in page.items:
        _paint(painter, item)
    painter.restore()


def _paint(painter: QPainter, item: Item) -> None:
    if isinstance(item, Text):
        _paint_text(painter, item)
        return
    painter.setPen(_pen(item.pen))
    if isinstance(item, Line):
        painter.drawLine(QPointF(item.x1, item.y1), QPointF(item.x2, item.y2))
    elif isinstance(item, Circle):
        painter.setBrush(_brush(item.fill))
        painter.drawEllipse(QPointF(item.x, item.y), item.radius, item.radius)
    elif isinstance(item, Arc):
        path = QPainterPath()
        around = QRectF(item.x - item.radius, item.y - item.radius, 2 * item.radius,
                        2 * item.radius)
        # QPainterPath measures angles clockwise as the page (y up) is seen.
        path.arcMoveTo(around, -item.start_deg)
        path.arcTo(around, -item.start_deg, -item.sweep_deg)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawPath(path)
    else:
        _paint_path(painter, item)


def _paint_path(painter: QPainter, item: Path) -> None:
    path = QPainterPath()
    path.setFillRule(Qt.FillRule.OddEvenFill)
    for ring in item.rings:
        if len(ring) < 2 or not np.isfinite(ring).all():
            continue
        path.addPolygon(QPolygonF([QPointF(x, y) for x, y in ring.tolist()]))
        if item.closed:
            path.closeSubpath()
    painter.setBrush(_brush(item.fill))
    painter.drawPath(path)


def _pen(pen: Pen | None) -> QPen:
    if pen is None:
        return QPen(Qt.PenStyle.NoPen)
    made = QPen(QColor(pen.colour), pen.width_mm)
    made.setCapStyle(Qt.PenCapStyle.FlatCap)
    made.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
    if pen.dash_mm:
        # Qt counts dashes in pen widths.
        made.setDashPattern([length / pen.width_mm for length in pen.dash_mm])
    return made


def _brush(fill: str | None) -> QBrush:
    return QBrush(Qt.BrushStyle.NoBrush) if fill is None else QBrush(QColor(fill))


def _paint_text(painter: QPainter, item: Text) -> None:
    face = _face(item.bold)
    scale = em_of(item.size_mm) / _FONT_PX
    width = text_width(item.text, item.size_mm, item.bold)
    painter.save()
    painter.translate(item.x, item.y)
    painter.rotate(item.angle_deg)
    painter.translate(-width * (item.align + 1) / 2, 0.0)
    painter.scale(scale, -scale)
    painter.setFont(face)
    painter.setPen(QColor(item.colour))
    painter.drawText(QPointF(0.0, 0.0), item.text)
    painter.restore()


def _face(bold: bool) -> QFont:
    """The bundled font, spaced by its plain advance widths as `core` reckons with."""
    face = QFont(load_font())
    face.setPixelSize(_FONT_PX)
    face.setWeight(QFont.Weight.DemiBold if bold else QFont.Weight.Normal)
    face.setHintingPreference(QFont.HintingPreference.PreferNoHinting)
    face.setKerning(False)
    face.setFeature(QFont.Tag("liga"), 0)
    return face


def _dated(pdf: bytes, when: datetime) -> bytes:
    """Replaces the times the writer put in by `when`, byte for byte in place."""
    short = when.strftime("%Y%m%d%H%M%S").encode()
    long = when.strftime("%Y-%m-%dT%H:%M:%S").encode()
    pdf = re.sub(rb"(/(?:Creation|Mod)Date \(D:)\d{14}", rb"\g<1>" + short, pdf)
    return re.sub(rb"(xmp:\w+Date=\")[-0-9]{10}T[:0-9]{8}", rb"\g<1>" + long, pdf)
