"""The window's door to `core`: what is asked of it while the user drags.

The numerical libraries are imported on first use, so that the window is on the
screen before they are loaded.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from core.errors import CrankwrightError, Going, always
from core.model import Sketch, WantedPath
from core.motion.turn import Turn

if TYPE_CHECKING:
    from core.pleasant import Proposal as EasedProposal
    from core.study import Study
    from core.wanted.find import Proposal


def still_turn(sketch: Sketch) -> Turn:
    """A turn of one step with every part where it is drawn."""
    drawn = math.radians(sketch.drive.drawn_deg) if sketch.drive else 0.0
    count = len(sketch.parts)
    return Turn(
        sketch=sketch, crank_rad=np.array([drawn]), reached=np.array([True]),
        part_ids=tuple(part.id for part in sketch.parts),
        rotation=np.ones((count, 1), dtype=np.complex128),
        shift=np.zeros((count, 1), dtype=np.complex128),
        angle_rad=np.zeros((1, count)), crank_turns=1, repeats=True, limits=(),
        residual_mm=0.0,
    )


def solve(sketch: Sketch, warm: Turn | None = None) -> tuple[Turn, str]:
    """The whole turn, and a sentence when the sketch cannot be turned.

    A sketch that does not turn stands still in its drawn pose.
    """
    if not sketch.parts or sketch.drive is None:
        return still_turn(sketch), ""
    from core.motion import solve_turn

    try:
        real = warm if warm is not None and len(warm.crank_rad) > 1 else None
        return solve_turn(sketch, warm=real), ""
    except CrankwrightError as trouble:
        return still_turn(sketch), str(trouble)
    except Exception as fault:
        # A fault of ours must not stand between the user and the sketch.
        return still_turn(sketch), f"the motion could not be worked out ({fault!r})"


def pose(turn: Turn, crank_rad: float) -> Turn:
    """The turn at the one angle given; parts stand still when it cannot be solved."""
    if len(turn.crank_rad) == 1:
        return turn
    from core.motion import pose_at

    return pose_at(turn, np.array([crank_rad]))


def follow(old: Sketch, new: Sketch) -> Sketch:
    """`new` with its twins brought up to date; raises EditError where they cannot be."""
    if not new.twins:
        return new
    from core.motion.redimension import follow_twins

    return follow_twins(old, new)


def drawn_here(turn: Turn, sketch: Sketch, crank_rad: float) -> Sketch:
    """The sketch of a turn with the pose at `crank_rad` as its drawn pose; `sketch`
    itself where the turn is not its own or cannot be solved there.
    """
    if turn.sketch is not sketch or len(turn.crank_rad) == 1:
        return sketch
    from core.motion.redimension import rebase

    try:
        return rebase(turn, crank_rad)
    except CrankwrightError:
        return sketch


def look_into(sketch: Sketch, warm: Turn | None, refine: bool,
              going: Going = always) -> Study:
    """Effort, gaps and findings of a sketch (runs on the worker); with `refine`, `going` is
    asked now and then whether to go on, and Stopped raised when not."""
    from core.study import study

    return study(sketch, warm=warm, refine=refine, going=going)


def reach(turn: Turn) -> tuple[float, float] | None:
    """The crank angles between which the crank can be moved, rad, unwrapped about
    the drawn angle; None when it goes all round.
    """
    if turn.reached.all() and not turn.limits:
        return None
    drive = turn.sketch.drive
    drawn = math.radians(drive.drawn_deg) if drive else 0.0
    cycle = 2 * math.pi * turn.crank_turns
    ups = [drawn + (lim.crank_rad - drawn) % cycle for lim in turn.limits if lim.side > 0]
    downs = [drawn - (drawn - lim.crank_rad) % cycle for lim in turn.limits if lim.side < 0]
    if not ups and not downs:
        return None
    return max(downs, default=drawn - cycle), min(ups, default=drawn + cycle)


def free_points(sketch: Sketch) -> tuple[int, int]:
    """How many joints and wished points a fit may move, pinned ones counted once, and how
    many more are held."""
    from core.wanted.fit.freedom import freedom

    found = freedom(sketch)
    return int((~found.held).sum()), int((found.spoken & found.held).sum())


def adopt(sketch: Sketch, proposal: Proposal) -> Sketch:
    """The sketch with a found mechanism in it; raises EditError where it cannot be."""
    from core.wanted.find.adopt import adopt as put_in

    return put_in(sketch, proposal)


def coarse_turn(sketch: Sketch, steps: int) -> Turn:
    """The turn in few steps, for a small picture; raises MotionError where there is none."""
    from core.motion import solve_turn

    return solve_turn(sketch, steps=steps)


def wished_line(wish: WantedPath) -> NDArray[np.complex128]:
    """A wanted path as a polyline to be drawn, complex mm; closed ones end where they
    begin."""
    from core.wanted.curves import sample_path

    return sample_path(wish)[0]


def marked(proposals: list[Proposal]) -> tuple[Proposal, ...]:
    """Proposals of several searches with the marks of those that none of them beats."""
    from core.wanted.find.ranking import marked as with_marks

    return tuple(with_marks(proposals))


def best_of(proposals: Sequence[EasedProposal]) -> EasedProposal | None:
    """Of the advisor's proposals the one for the hurried; None when there are none."""
    from core.pleasant.choosing import best

    return best(proposals)
