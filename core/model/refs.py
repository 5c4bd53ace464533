"""References to points: ``"part.point"``."""

from __future__ import annotations

from core.errors import SketchError


def split_ref(ref: str) -> tuple[str, str]:
    """Part id and point id of a reference ``"part.point"``.

    Raises
    ------
    SketchError
        When there is not exactly one full stop with text on both sides.
    """
    part, dot, point = ref.partition(".")
    if not dot or not part or not point or "." in point:
        raise SketchError(
            f"{ref!r} is not a reference to a point", mend='write it as "part.point"'
        )
    return part, point


def join_ref(part: str, point: str) -> str:
    """The reference of a point on a part."""
    return f"{part}.{point}"


def part_of(ref: str) -> str:
    """The part id of a reference; raises as :func:`split_ref`."""
    return split_ref(ref)[0]
