"""Curves of an SVG file (SVG 1.1 and 2: shapes, paths, transforms, units)."""

from __future__ import annotations

import io
import re
import xml.parsers.expat
from typing import Any
from xml.etree import ElementTree

import numpy as np

from core.errors import FileError
from core.files.curves.curve import MOST_PIECES, MOST_POINTS, PER_PIECE, Complexes, Curve
from core.units import MM_PER_INCH

#: CSS: 96 pixels to the inch (CSS Values and Units 4, 6.2).
MM_PER_PX = MM_PER_INCH / 96.0
_NUMBER = re.compile(rb"[0-9][0-9.]*")
_DEEPEST = 60
#: Drawn nowhere by themselves.
_REFERRED_TO = {"mask", "marker"}


def svg_curves(data: bytes, where: str = "") -> list[Curve]:
    """Every outline in an SVG, one curve for each stretch drawn without lifting the pen.

    Raises
    ------
    FileError
        It declares entities, is not XML or not SVG, is nested too deep, or draws too much.
    """
    _check(data, where)
    import svgelements

    root = ElementTree.fromstring(data)
    _put_aside(root)
    plain = io.BytesIO(ElementTree.tostring(root))
    picture = svgelements.SVG.parse(plain, ppi=96.0, reify=True)
    sized = "height" in root.attrib or "viewBox" in root.attrib
    tall = float(picture.height) if sized and picture.height is not None else 0.0
    curves: list[Curve] = []
    points = 0
    for element in picture.elements():
        if not isinstance(element, svgelements.Shape) or _unseen(element):
            continue
        path = svgelements.Path(element)
        for piece in path.as_subpaths():
            found = _curve(piece, tall, str(element.id or ""))
            if found is not None:
                curves.append(found)
                points += found.places.size
        if len(curves) > MOST_PIECES or points > MOST_POINTS:
            raise FileError("it draws far more than a path", where,
                            "save the path alone in it")
    return curves


def _put_aside(holder: ElementTree.Element) -> None:
    """Make definitions of what is drawn only where it is referred to, which the reader would
    draw where it stands: symbols; take out masks and markers."""
    for place, child in enumerate(list(holder)):
        name = str(child.tag)
        if name.endswith("}symbol") or name == "symbol":
            child.tag = name.removesuffix("symbol") + "g"
            defs = ElementTree.Element(name.removesuffix("symbol") + "defs")
            holder[place] = defs
            defs.append(child)
        elif name.rpartition("}")[2] in _REFERRED_TO:
            child.clear()
            child.tag = name.removesuffix(name.rpartition("}")[2]) + "defs"
        _put_aside(child)


def _unseen(element: Any) -> bool:
    """Whether an element is not to be drawn."""
    values = element.values
    return bool(values.get("display") == "none" or values.get("visibility") == "hidden")


def _curve(piece: Any, tall: float, name: str) -> Curve | None:
    import svgelements

    runs: list[Complexes] = []
    straight, closed = True, False
    for segment in piece:
        if isinstance(segment, svgelements.Move):
            runs.append(np.array([complex(segment.end)]))
        elif isinstance(segment, svgelements.Close):
            closed = True
        elif isinstance(segment, svgelements.Line):
            runs.append(np.array([complex(segment.end)]))
        else:
            straight = False
            at = np.asarray(segment.npoint(np.linspace(0.0, 1.0, PER_PIECE + 1)[1:]))
            runs.append(at[:, 0] + 1j * at[:, 1])
    places = np.concatenate(runs) if runs else np.empty(0, dtype=np.complex128)
    if places.size < 2:
        return None
    upright = np.asarray((places.conjugate() + 1j * tall) * MM_PER_PX, np.complex128)
    return Curve(upright, closed, None, "straight" if straight else "smooth", name)


def _check(data: bytes, where: str) -> None:
    """Refuse what would blow up in the reader: entities, depth, masses of numbers, copies
    of copies."""
    if sum(1 for _ in _NUMBER.finditer(data)) > 4 * MOST_POINTS:
        raise FileError("it draws far more than a path", where, "save the path alone in it")
    watch = _Watch(where)
    parser = xml.parsers.expat.ParserCreate()
    parser.StartElementHandler = watch.start
    parser.EndElementHandler = watch.end
    parser.EntityDeclHandler = watch.entity
    try:
        parser.Parse(data, True)
    except xml.parsers.expat.ExpatError as fault:
        raise FileError(f"it is not sound XML (line {fault.lineno})", where,
                        "save it anew where it was drawn") from None
    if watch.root != "svg":
        raise FileError("it is XML but not SVG", where, "save it as SVG")
    if watch.copies() > MOST_PIECES:
        raise FileError("it copies its parts far too often", where,
                        "save the path alone in it")


class _Watch:
    """Counts elements, and how often copies of copies would be drawn."""

    def __init__(self, where: str) -> None:
        self.root = ""
        self._where = where
        self._open: list[str] = []
        self._elements = 0
        #: Each id with what is copied within it; "" for the whole picture.
        self._uses: dict[str, list[str]] = {"": []}

    def start(self, name: str, attributes: dict[str, str]) -> None:
        """An element begins."""
        name = name.rpartition(":")[2]
        self.root = self.root or name
        self._elements += 1
        if self._elements > MOST_PIECES or len(self._open) > _DEEPEST:
            raise FileError("it draws far more than a path", self._where,
                            "save the path alone in it")
        if name == "use":
            link = attributes.get("href", attributes.get("xlink:href", ""))
            for holder in {"", *self._open}:
                self._uses.setdefault(holder, []).append(link.lstrip("#"))
        own = attributes.get("id", "")
        self._open.append(own)
        if own:
            self._uses.setdefault(own, [])

    def end(self, name: str) -> None:
        """An element ends."""
        self._open.pop()

    def entity(self, *declared: object) -> None:
        """An entity is declared: never needed, often an attack."""
        raise FileError("it declares entities, which are not read", self._where,
                        "save it as plain SVG")

    def copies(self) -> float:
        """How many copies drawing the whole picture makes; infinite for a circle."""
        return self._count("", set(), {})

    def _count(self, holder: str, above: set[str], known: dict[str, float]) -> float:
        if holder in above:
            return float("inf")
        if holder not in known:
            inner = above | {holder}
            known[holder] = sum(1.0 + self._count(link, inner, known)
                                for link in self._uses.get(holder, ()) if link)
        return known[holder]
