"""Writes the advance widths of the bundled font as a Python module.

    python -m assets.fonts.measure > core/drawing/letters.py

`core` lays out text without opening files, so the widths it needs are kept as source.
"""

from __future__ import annotations

import textwrap
from collections import defaultdict
from pathlib import Path

from PySide6.QtGui import QGuiApplication, QRawFont

STYLES = {"REGULAR": "IBMPlexSans-Regular.ttf", "BOLD": "IBMPlexSans-SemiBold.ttf"}
# Latin with its accents, Greek, punctuation, superscripts, currency, arrows, mathematics.
RANGES = ((0x20, 0x7E), (0xA0, 0x24F), (0x370, 0x3FF), (0x2000, 0x22FF), (0x2713, 0x2717))

HEADER = '''"""Advance widths of the bundled font, in thousandths of its em. Made by
``python -m assets.fonts.measure``; do not edit.
"""

from __future__ import annotations
'''


def widths(path: Path) -> dict[int, str]:
    """Characters of a font by advance width (thousandths of the em)."""
    font = QRawFont(str(path), 1000)
    grouped: dict[int, str] = defaultdict(str)
    for first, last in RANGES:
        for code in range(first, last + 1):
            if font.supportsCharacter(code) and chr(code).isprintable():
                glyph = font.glyphIndexesForString(chr(code))
                grouped[round(font.advancesForGlyphIndexes(glyph)[0].x())] += chr(code)
    return dict(sorted(grouped.items()))


def module() -> str:
    """The text of the module."""
    font = QRawFont(str(Path(__file__).parent / STYLES["REGULAR"]), 1000)
    lines = [HEADER, f"CAP_HEIGHT = {round(font.capHeight())}"]
    for name, file in STYLES.items():
        lines.append(f"{name}: dict[int, str] = {{")
        for width, letters in widths(Path(__file__).parent / file).items():
            pieces = textwrap.wrap(letters, 70, drop_whitespace=False) or [letters]
            quoted = "\n        ".join(repr(piece) for piece in pieces)
            lines.append(f"    {width}: {quoted},")
        lines.append("}")
    return "\n".join(lines)


if __name__ == "__main__":
    app = QGuiApplication(["measure", "-platform", "offscreen"])
    print(module())
