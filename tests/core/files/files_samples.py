"""Sketch files that tests start from."""

from __future__ import annotations

import copy
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

FORMATS = Path(__file__).parents[2] / "formats"
FOUR_BAR: dict[str, Any] = json.loads((FORMATS / "v1" / "four-bar.json").read_text())
#: One of everything the format has.
EVERYTHING: dict[str, Any] = json.loads((FORMATS / "v1" / "everything.json").read_text())


def sample(change: Callable[[dict[str, Any]], Any] | None = None,
           of: dict[str, Any] | None = None) -> bytes:
    """The bytes of a sample (the four-bar by default) after a change in place."""
    raw = copy.deepcopy(FOUR_BAR if of is None else of)
    if change is not None:
        change(raw)
    return json.dumps(raw).encode()
