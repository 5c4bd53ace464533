"""Keep the memory that a drag frees for the next one.

Every refresh allocates and frees some megabytes of arrays. The C library of Linux hands them
back to the system each time and takes the page faults on the next refresh: about a quarter
of its time. Elsewhere nothing is changed.
"""

from __future__ import annotations

import ctypes
import sys

#: Parameters of ``mallopt`` (malloc.h): free memory kept, and the size from which blocks
#: are mapped one by one.
_TRIM_THRESHOLD, _MMAP_THRESHOLD = -1, -3
_KEPT, _MAPPED = 256 << 20, 32 << 20


def keep_freed_memory() -> bool:
    """Ask the C library to keep up to 256 MB of freed memory; True when it does."""
    if not sys.platform.startswith("linux"):
        return False
    try:
        mallopt = ctypes.CDLL(None).mallopt
    except (OSError, AttributeError):
        return False
    return all(mallopt(which, size) == 1 for which, size in
               ((_TRIM_THRESHOLD, _KEPT), (_MMAP_THRESHOLD, _MAPPED)))
