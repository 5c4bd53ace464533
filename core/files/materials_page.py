"""The tables of docs/materials.md, made from the table of materials itself.

``python -m core.files.materials_page docs/materials.md`` writes them between the marks in
the page.
"""

from __future__ import annotations

import re
import sys
from collections.abc import Iterable, Sequence
from pathlib import Path

from core.files.atomic import write_bytes
from core.materials import (
    FRICTION,
    MATERIALS,
    TOLERANCE_SOURCE,
    Figure,
    PlyRow,
    Trust,
    ply_tolerance,
    safety_number,
)
from core.materials.names import FIGURE_WORDS, FIGURES_OF, STUFF_WORDS, TRUST_WORDS

_MARK = re.compile(r"<!-- table of (\w+) -->\n.*?<!-- end -->", re.DOTALL)
#: How far a figure is trusted, as a letter behind it.
LETTERS: dict[Trust, str] = {"read": "r", "from memory": "m", "calculated": "c",
                             "practice": "p", "own": "o"}
_SHEETS = (4.0, 6.5, 9.0, 12.0, 15.0, 18.0, 21.0, 24.0)


def filled(document: str) -> str:
    """The page with every marked table made anew."""
    made = {"woods": _woods, "plywood": _plywood, "others": _others, "sheets": _sheets,
            "safety": _safety, "friction": _friction, "sources": _sources, "trust": _trust,
            "names": _names}
    return _MARK.sub(lambda mark: f"<!-- table of {mark[1]} -->\n{made[mark[1]]()}\n"
                     "<!-- end -->", document)


def _rows(heads: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    rule = f"|{'---|' * len(heads)}"
    return "\n".join([f"| {' | '.join(heads)} |", rule,
                      *(f"| {' | '.join(row)} |" for row in rows)])


def _marked(figure: Figure | None, unit: str = "") -> str:
    if figure is None:
        return "–"
    low, high = f"{figure.low:.4g}", f"{figure.high:.4g}"
    value = low if low == high else f"{low} to {high}"
    return " ".join(filter(None, (value, unit, LETTERS[figure.trust])))


def _trust() -> str:
    return _rows(("mark", "means"), ((LETTERS[trust], TRUST_WORDS[trust])
                                     for trust in TRUST_WORDS))


def _woods() -> str:
    names = FIGURES_OF["wood"]
    heads = ["wood", "kg/m³", *(", ".join(filter(None, FIGURE_WORDS[name]))
                                for name in names)]
    return _rows(heads, ([each.name, f"{each.density_kg_m3:g} {LETTERS[each.trust]}",
                          *(_marked(each.figures.get(name)) for name in names)]
                         for each in MATERIALS.values() if each.stuff == "wood"))


def _plywood() -> str:
    columns = [name for name in PlyRow.__dataclass_fields__ if name != "thickness_mm"]
    heads = ["plywood", "mm", *(name.replace("_", " ").replace(" mpa", ", MPa")
                                .replace(" gpa", ", GPa") for name in columns)]
    return _rows(heads, ([each.name, f"{row.thickness_mm:g}",
                          *(f"{getattr(row, name):g}" for name in columns)]
                         for each in MATERIALS.values() for row in each.plies))


def _others() -> str:
    rows = []
    for each in MATERIALS.values():
        if each.stuff == "wood":
            continue
        said = "; ".join(f"{FIGURE_WORDS[name][0]} {_marked(figure, FIGURE_WORDS[name][1])}"
                         for name, figure in each.figures.items())
        rows.append([each.name, STUFF_WORDS[each.stuff],
                     f"{each.density_kg_m3:g} {LETTERS[each.trust]}", said, each.note])
    return _rows(("material", "kind", "kg/m³", "figures", "note"), rows)


def _sheets() -> str:
    return _rows(("sold as, mm", "may be, mm"), (
        [f"{nominal:g}", f"{low:g} to {high:g}"]
        for nominal, low, high in map(ply_tolerance, _SHEETS))) + (
            f"\n\nSource: {TOLERANCE_SOURCE}.")


def _safety() -> str:
    return _rows(("kind", "divided by", "because"), (
        [words, f"{number.low:g} to {number.high:g}", number.source]
        for stuff, words in STUFF_WORDS.items() for number in (safety_number(stuff),)))


def _friction() -> str:
    return _rows(("pair", "coefficient", "state", "source"), (
        [each.pair, _marked(Figure(each.low, each.high, each.source, each.trust)), each.state,
         each.source] for each in FRICTION))


def _names() -> str:
    stuffs = {name: ", ".join(STUFF_WORDS[stuff] for stuff, names in FIGURES_OF.items()
                              if name in names) for name in FIGURE_WORDS}
    return _rows(("name in the file", "what", "unit", "looked for in"), (
        [f"`{name}`", words, unit or "–", stuffs[name] or "–"]
        for name, (words, unit) in FIGURE_WORDS.items()))


def _sources() -> str:
    held: dict[str, None] = {}
    for each in MATERIALS.values():
        held[each.source] = None
        held |= {figure.source: None for figure in each.figures.values()}
    return "\n".join(f"- {source[:1].upper()}{source[1:]}." for source in held)


if __name__ == "__main__":
    _path = Path(sys.argv[1])
    write_bytes(_path, filled(_path.read_text(encoding="utf-8")).encode("utf-8"))
