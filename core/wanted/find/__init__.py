"""Mechanisms from the wish alone.

``find(sketch)`` proposes: wishes become a `problem`; every family is a `pursuit` from the
nearest of the atlas down to what is wanted; the best are built (`building`), `ranking` puts
them in order and `kin` adds cognates. ``adopt(sketch, proposal)`` puts one into the
maker's sketch.
"""

from core.wanted.find.adopt import adopt
from core.wanted.find.proposal import Found, Proposal
from core.wanted.find.search import find

__all__ = ["Found", "Proposal", "adopt", "find"]
