"""What of a proposal is in its own way, as it is stacked."""

from __future__ import annotations

from core.motion import Turn
from core.space import gaps
from core.space.gaps import TOUCH_MM


def meeting(turn: Turn) -> tuple[tuple[str, str], ...]:
    """Pairs of parts or pins (``"pin ID"``) that are in each other's way somewhere on the
    turn, the deepest first; () when everything goes free.

    Only the steps of the turn are looked at: a touch between two of them may be missed.
    """
    return tuple((gap.a, gap.b) for gap in gaps(turn, refine=False).pairs
                 if gap.smallest_mm < -TOUCH_MM)
