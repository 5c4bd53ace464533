"""A drawing of lines and words as SVG, places given in mm of the mechanism, y up."""

from __future__ import annotations

from collections.abc import Iterable
from xml.sax.saxutils import escape

INK, FAINT, WISH, BRASS, GROUND = "#2b2a27", "#8d877b", "#a3447f", "#a8843a", "#faf7f0"
_FONT = "'IBM Plex Sans', 'DejaVu Sans', sans-serif"


class Plate:
    """Collects shapes; `text` gives the SVG. All sizes in px of the drawing."""

    def __init__(self, width: float, height: float) -> None:
        self.width, self.height = width, height
        self._shapes: list[str] = []

    def line(self, places: Iterable[complex], colour: str = INK, width: float = 1.5,
             closed: bool = False, fill: str = "none", dash: str = "") -> None:
        """A polyline through places, x + iy px, y down; filled when `fill` is a colour."""
        points = " ".join(f"{at.real:.1f},{at.imag:.1f}" for at in places)
        dashed = f' stroke-dasharray="{dash}"' if dash else ""
        self._shapes.append(
            f'<{"polygon" if closed else "polyline"} points="{points}" fill="{fill}" '
            f'stroke="{colour}" stroke-width="{width:g}" stroke-linejoin="round" '
            f'stroke-linecap="round"{dashed}/>')

    def dot(self, at: complex, radius: float = 3.0, colour: str = INK,
            fill: str = GROUND, width: float = 1.2) -> None:
        """A round mark."""
        self._shapes.append(f'<circle cx="{at.real:.1f}" cy="{at.imag:.1f}" r="{radius:g}" '
                            f'fill="{fill}" stroke="{colour}" stroke-width="{width:g}"/>')

    def word(self, at: complex, text: str, size: float = 13.0, colour: str = INK,
             anchor: str = "start", bold: bool = False) -> None:
        """A line of text whose baseline begins (or is centred, or ends) at a place."""
        weight = ' font-weight="600"' if bold else ""
        self._shapes.append(
            f'<text x="{at.real:.1f}" y="{at.imag:.1f}" font-size="{size:g}" fill="{colour}" '
            f'text-anchor="{anchor}"{weight}>{escape(text)}</text>')

    def text(self) -> str:
        """The whole drawing."""
        size = f'width="{self.width:g}" height="{self.height:g}"'
        head = (f'<svg xmlns="http://www.w3.org/2000/svg" {size} '
                f'viewBox="0 0 {self.width:g} {self.height:g}" font-family="{_FONT}">')
        ground = f'<rect width="100%" height="100%" fill="{GROUND}"/>'
        return "\n".join([head, ground, *self._shapes, "</svg>", ""])


class Window:
    """A part of a plate in which places of the mechanism (mm, y up) are drawn to scale."""

    def __init__(self, plate: Plate, left: float, top: float, wide: float, high: float,
                 places: Iterable[complex]) -> None:
        shown = list(places)
        low = complex(min(p.real for p in shown), min(p.imag for p in shown))
        top_right = complex(max(p.real for p in shown), max(p.imag for p in shown))
        span = top_right - low
        self.plate = plate
        self.scale = min(wide / max(span.real, 1e-9), high / max(span.imag, 1e-9))
        self._middle = 0.5 * (low + top_right)
        self._centre = complex(left + 0.5 * wide, top + 0.5 * high)

    def at(self, place: complex) -> complex:
        """Where a place of the mechanism is on the plate."""
        off = (place - self._middle) * self.scale
        return self._centre + off.conjugate()

    def line(self, places: Iterable[complex], **how: object) -> None:
        """:meth:`Plate.line` in mm."""
        self.plate.line([self.at(p) for p in places], **how)  # type: ignore[arg-type]

    def dot(self, place: complex, **how: object) -> None:
        """:meth:`Plate.dot` in mm, the radius in px."""
        self.plate.dot(self.at(place), **how)  # type: ignore[arg-type]
