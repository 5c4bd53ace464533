"""The turn table as text, for the command and the window alike."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Iterable, Sequence


def csv_text(header: Sequence[str], rows: Iterable[Sequence[float | None]]) -> str:
    """RFC 4180 with line feeds; a place the crank cannot reach is empty."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(header)
    writer.writerows([_cell(value) for value in row] for row in rows)
    return text.getvalue()


def _cell(value: float | None) -> str:
    return "" if value is None or not math.isfinite(value) else repr(float(value))
