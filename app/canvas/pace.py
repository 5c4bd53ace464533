"""Two settings that keep the picture quick while the worker computes."""

from __future__ import annotations

import os
import sys

#: Seconds after which a thread that computes lets the window have its turn. With
#: Python's usual 5 ms every painting call may wait that long for the worker.
SWITCH_S = 2e-4


def keep_pace() -> None:
    """Short turns between threads; no thread pool for small fills.

    Qt shares the filling of shapes among threads and waits for all of them: on a
    machine that is busy with the worker the wait is longer than the filling. Qt reads
    the variable when it first paints; one set by the user stays.
    """
    os.environ.setdefault("QT_NO_GUI_THREADPOOL", "1")
    if sys.getswitchinterval() > SWITCH_S:
        sys.setswitchinterval(SWITCH_S)
