"""The shapes a part can have. All coordinates: mm, drawn pose, sketch frame."""

from __future__ import annotations

import msgspec


class Bar(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True,
          forbid_unknown_fields=True, tag="bar", tag_field="kind"):
    """A lever with rounded ends, straight or bent: every place within half the
    width of the line through the named points, in order.

    `through` empty means all points of the part in their order.
    """

    width_mm: float = 16.0
    through: tuple[str, ...] = ()


class Plate(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True,
            forbid_unknown_fields=True, tag="plate", tag_field="kind"):
    """The convex hull of the named points grown by a margin, corners rounded.

    `around` empty means all points of the part.
    """

    margin_mm: float = 8.0
    around: tuple[str, ...] = ()


class Disc(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True,
           forbid_unknown_fields=True, tag="disc", tag_field="kind"):
    """A round blank about one point (gears and pulleys are discs until cut).

    `centre` empty means the part's first point.
    """

    radius_mm: float
    centre: str = ""


class Polygon(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True,
              forbid_unknown_fields=True, tag="polygon", tag_field="kind"):
    """A free outline with holes; rings are closed by themselves, any orientation."""

    outer: tuple[tuple[float, float], ...]
    holes: tuple[tuple[tuple[float, float], ...], ...] = ()


Outline = Bar | Plate | Disc | Polygon
