"""What is wrong with materials of the user's own."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from core.materials import MATERIALS
from core.materials.names import FIGURE_WORDS
from core.model.problem import Problem, nearest, quoted
from core.model.stuff import OwnMaterial


def own_problems(materials: Sequence[OwnMaterial]) -> Iterator[Problem]:
    """Names that are missing or taken, ranges that run backwards (fatal), and figures
    nothing is known of. Places are paths such as ``materials[2].figures[0]``; limits of
    single numbers are in :mod:`core.model.numbers`."""
    taken: dict[str, str] = {}
    for index, own in enumerate(materials):
        place = f"materials[{index}]"
        if not own.id.strip() or not own.id.isprintable():
            yield Problem(f"{place}.id", "the material has no proper name",
                          "give it a short name", fatal=True)
        elif own.id in taken:
            yield Problem(f"{place}.id", f"the name {quoted(own.id)} is taken by"
                          f" {taken[own.id]}", "give one of them another name", fatal=True)
        taken.setdefault(own.id, place)
        if own.like and own.like not in MATERIALS:
            yield Problem(f"{place}.like", f"there is no material called {quoted(own.like)}",
                          nearest(own.like, MATERIALS), fatal=True)
        yield from _figures(place, own)


def _figures(place: str, own: OwnMaterial) -> Iterator[Problem]:
    seen: set[str] = set()
    for at, figure in enumerate(own.figures):
        path = f"{place}.figures[{at}]"
        if figure.low > figure.high:
            yield Problem(path, f"the range {figure.low:g} to {figure.high:g} runs backwards",
                          "write the smaller number first", fatal=True)
        if figure.name in seen:
            yield Problem(f"{path}.name", f"{quoted(figure.name)} is given twice",
                          "keep one of the two", fatal=True)
        seen.add(figure.name)
        if figure.name not in FIGURE_WORDS:
            yield Problem(f"{path}.name", f"nothing is known of a figure {quoted(figure.name)}",
                          nearest(figure.name, FIGURE_WORDS), fatal=False)
