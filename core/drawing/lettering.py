"""How much room text takes, from the widths of the bundled font."""

from __future__ import annotations

from bisect import bisect_right
from itertools import accumulate

import numpy as np

from core.drawing import letters
from core.drawing.items import Floats, Text

_WIDTHS = {bold: {letter: width for width, group in table.items() for letter in group}
           for bold, table in ((False, letters.REGULAR), (True, letters.BOLD))}
_UNKNOWN = 600

#: Ink of accents and brackets above, and of tails below the base line, in cap heights.
ABOVE = 1.15
BELOW = 0.32


def em_of(size_mm: float) -> float:
    """The em, mm, of the bundled font whose capitals are `size_mm` high."""
    return size_mm * 1000 / letters.CAP_HEIGHT


def text_width(text: str, size_mm: float, bold: bool = False) -> float:
    """The sum of the advance widths, mm, without kerning, capitals `size_mm` high."""
    widths = _WIDTHS[bold]
    return sum(widths.get(letter, _UNKNOWN) for letter in text) * em_of(size_mm) / 1000


def text_box(text: Text, margin_mm: float = 0.0) -> Floats:
    """Corners, shape (4, 2) mm on the page, of the turned rectangle around a text,
    counter-clockwise from the lower left as read."""
    width = text_width(text.text, text.size_mm, text.bold)
    left = -width * (text.align + 1) / 2 - margin_mm
    right = left + width + 2 * margin_mm
    low, high = -BELOW * text.size_mm - margin_mm, ABOVE * text.size_mm + margin_mm
    corners = np.array([left + 1j * low, right + 1j * low, right + 1j * high,
                        left + 1j * high])
    corners = corners * np.exp(1j * np.radians(text.angle_deg)) + (text.x + 1j * text.y)
    return np.stack([corners.real, corners.imag], axis=-1)


def centred(x: float, y: float, text: str, size_mm: float, angle_deg: float = 0.0,
            align: int = 0, bold: bool = False) -> Text:
    """Text whose capitals stand half above and half below (x, y)."""
    down = 0.5 * size_mm
    turn = np.radians(angle_deg)
    return Text(x + down * float(np.sin(turn)), y - down * float(np.cos(turn)), text,
                size_mm, align, angle_deg, bold)


def wrapped(text: str, width_mm: float, size_mm: float, bold: bool = False) -> list[str]:
    """Text broken into lines no wider than `width_mm`; a word too long for a line is
    broken between letters. Always at least one line."""
    lines = [""]
    for word in text.split():
        joined = f"{lines[-1]} {word}".strip()
        if text_width(joined, size_mm, bold) <= width_mm:
            lines[-1] = joined
            continue
        if lines[-1]:
            lines.append("")
        while text_width(word, size_mm, bold) > width_mm and len(word) > 1:
            fit = len(shortened(word, width_mm, size_mm, bold, ""))
            lines[-1:] = [word[:max(fit, 1)], ""]
            word = word[max(fit, 1):]
        lines[-1] = word
    return lines


def shortened(text: str, width_mm: float, size_mm: float, bold: bool = False,
              mark: str = "…") -> str:
    """Text cut off, with a mark, so that it is no wider than `width_mm`."""
    widths = list(accumulate(text_width(letter, size_mm, bold) for letter in text))
    if not widths or widths[-1] <= width_mm:
        return text
    room = width_mm - text_width(mark, size_mm, bold)
    return text[:bisect_right(widths, room)].rstrip() + mark


def separate(a: Floats, b: Floats) -> bool:
    """Whether two convex corner lists (n, 2) lie apart (separating axis)."""
    for corners in (a, b):
        edges = np.roll(corners, -1, axis=0) - corners
        normals = np.stack([-edges[:, 1], edges[:, 0]], axis=-1)
        pa, pb = a @ normals.T, b @ normals.T
        if np.any(pa.max(axis=0) <= pb.min(axis=0)) or np.any(pb.max(axis=0) <= pa.min(axis=0)):
            return True
    return False
