"""Curves of a DXF file: lines, polylines, arcs, circles, ellipses and splines of the model,
also within blocks."""

from __future__ import annotations

import io
import logging
from collections.abc import Iterator
from typing import Any

import numpy as np

from core.errors import FileError
from core.files.curves.curve import MOST_PIECES, MOST_POINTS, Curve

_CURVES = {"LINE", "LWPOLYLINE", "POLYLINE", "ARC", "CIRCLE", "ELLIPSE", "SPLINE"}
#: Curved pieces leave their chords by at most this share of their own size.
_FLAT = 5e-4
_FEWEST_ON_CURVE = 8
_DEEPEST = 12


def dxf_curves(data: bytes, where: str = "") -> list[Curve]:
    """Every curve of the model space, in mm.

    Raises
    ------
    FileError
        It is damaged beyond reading, or draws too much. Errors of the reader come as they
        are.
    """
    from ezdxf import path, recover

    logging.getLogger("ezdxf").setLevel(logging.CRITICAL)  # it tells of every mend it makes
    document, _ = recover.read(io.BytesIO(data), errors="ignore")
    factor = _to_mm(document.units)
    found: list[tuple[Any, bool]] = []
    for entity in _entities(document.modelspace(), where):
        made = path.make_path(entity)
        if len(made):
            found += [(piece, made.has_curves) for piece in made.sub_paths()]
    curves: list[Curve] = []
    total = 0
    for piece, curved in found:
        run = [(v.x, v.y) for v in piece.control_vertices()]
        spread = float(np.ptp(np.array(run), axis=0).max())
        if curved and 0.0 < spread < np.inf:
            run = [(v.x, v.y) for v in piece.flattening(spread * _FLAT, _FEWEST_ON_CURVE)]
        total += len(run)
        if total > MOST_POINTS:
            raise FileError("it draws far more than a path", where,
                            "save the path alone in it")
        xy = np.array(run) * factor
        if len(xy) > 1:
            curves.append(Curve(xy[:, 0] + 1j * xy[:, 1], bool(piece.is_closed), None,
                                "smooth" if curved else "straight"))
    return curves


def _to_mm(code: int) -> float:
    """The factor from the units of a drawing ($INSUNITS; 0 is none said) to mm."""
    from ezdxf.enums import InsertUnits
    from ezdxf.units import conversion_factor

    if code not in set(InsertUnits) or code == InsertUnits.Unitless:
        return 1.0
    return conversion_factor(InsertUnits(code), InsertUnits.Millimeters)


def _entities(space: Any, where: str) -> Iterator[Any]:
    """The curves of a space; blocks are taken apart, each visit counted."""
    waiting = [(entity, 0) for entity in reversed(list(space))]
    seen = 0
    while waiting:
        entity, depth = waiting.pop()
        seen += 1
        if seen > MOST_PIECES or depth > _DEEPEST:
            raise FileError("it draws far more than a path", where,
                            "save the path alone in it")
        kind = entity.dxftype()
        if kind == "INSERT":
            inner = list(entity.virtual_entities())
            waiting += [(each, depth + 1) for each in reversed(inner)]
        elif kind in _CURVES:
            yield entity
