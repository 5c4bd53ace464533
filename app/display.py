"""Is there a screen to open a window on? Qt aborts the program when there is none."""

from __future__ import annotations

import os
import re
import socket
import sys
from collections.abc import Mapping

from core.errors import CrankwrightError

_MEND = "without one, use crankwright turn, check or sheets FILE"


def require_display(environment: Mapping[str, str] = os.environ) -> None:
    """Pass when a window can be opened.

    Raises
    ------
    CrankwrightError
        On Linux, when no display is named or the local X server named is not there.
    """
    platform = environment.get("QT_QPA_PLATFORM", "")
    if not sys.platform.startswith("linux") or platform.split(":")[0] not in ("", "xcb"):
        return
    if environment.get("WAYLAND_DISPLAY") and platform != "xcb":
        return
    display = environment.get("DISPLAY", "")
    if not display:
        raise CrankwrightError("there is no display to open a window on", mend=_MEND)
    local = re.fullmatch(r"(?:unix)?:(\d+)(?:\.\d+)?", display)
    if local and not _answers(int(local[1])):
        raise CrankwrightError(f"the display {display} does not answer", mend=_MEND)


def _answers(number: int) -> bool:
    """Whether an X server listens on the local display of that number."""
    path = f"/tmp/.X11-unix/X{number}"
    for address in (f"\0{path}", path):
        with socket.socket(socket.AF_UNIX) as probe:
            try:
                probe.connect(address)
            except OSError:
                continue
            return True
    return False
