"""What the user has decided about places where a finger could come to harm."""

from __future__ import annotations

from typing import Literal

import msgspec


class Guard(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True,
            forbid_unknown_fields=True):
    """Two parts between which a gap closes, or that mesh: a guard keeps fingers off
    ("guarded"), or the user has looked at it and lets it be ("accepted")."""

    id: str
    a: str
    b: str
    why: Literal["guarded", "accepted"] = "guarded"
    note: str = ""
