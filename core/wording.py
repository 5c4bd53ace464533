"""Names put together as a reader wants them."""

from __future__ import annotations

from collections.abc import Iterable


def listed(names: Iterable[str]) -> str:
    """Names in one phrase: "a", "a and b", "a, b and c"; "" for none."""
    words = list(names)
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} and {words[-1]}"
