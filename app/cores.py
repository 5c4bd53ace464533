"""How many processes work is shared by."""

import os

#: More than this gain a search little.
MOST = 4


def cores() -> int:
    """One process to each core there is for this program, up to `MOST`."""
    count = (len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity")
             else os.cpu_count() or 1)
    return max(1, min(count, MOST))


def begin_crew() -> None:
    """Begin the processes that will share the next search for mechanisms."""
    from core.wanted.find.crew import warm

    warm(cores())
