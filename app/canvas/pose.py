"""Where every part is at the crank angle on the screen."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from core.model import Part, Sketch, part_of
from core.motion.turn import Turn


@dataclass(frozen=True)
class Pose:
    """One frame of the motion.

    `rotation` and `shift` take a drawn place (x + iy, mm) to its place now; parts
    without an entry are where they were drawn. `reached` is False when the crank
    cannot come to `crank_rad`; then the drawn pose is shown.
    """

    sketch: Sketch
    crank_rad: float
    rotation: dict[str, complex]
    shift: dict[str, complex]
    reached: bool = True

    def place(self, part_id: str, drawn: complex) -> complex:
        """Where a drawn place of a part is now, mm."""
        return self.rotation.get(part_id, 1 + 0j) * drawn + self.shift.get(part_id, 0j)

    def drawn(self, part_id: str, now: complex) -> complex:
        """The drawn place of what is now at a place of a part, mm."""
        shift = self.shift.get(part_id, 0j)
        return (now - shift) * self.rotation.get(part_id, 1 + 0j).conjugate()

    def at(self, ref: str) -> complex:
        """Where the point ``"part.point"`` is now, mm; KeyError when there is none."""
        return self.place(part_of(ref), self.sketch.place(ref))

    def points(self, part: Part) -> Iterator[tuple[str, complex]]:
        """Reference and place of every point of a part."""
        for point in part.points:
            yield f"{part.id}.{point.id}", self.place(part.id, point.place)

    @property
    def is_drawn(self) -> bool:
        """True when every part is where it was drawn."""
        return all(abs(r - 1) < 1e-12 for r in self.rotation.values()) and all(
            abs(s) < 1e-9 for s in self.shift.values())


def pose_from(turn: Turn, crank_rad: float) -> Pose:
    """The pose of a turn of one step (drawn where the crank cannot come)."""
    rotation, shift = turn.rotation[:, 0], turn.shift[:, 0]
    sound = np.isfinite(rotation) & np.isfinite(shift)
    rotation, shift = np.where(sound, rotation, 1), np.where(sound, shift, 0)
    return Pose(turn.sketch, crank_rad,
                dict(zip(turn.part_ids, rotation.tolist(), strict=True)),
                dict(zip(turn.part_ids, shift.tolist(), strict=True)), bool(turn.reached[0]))
