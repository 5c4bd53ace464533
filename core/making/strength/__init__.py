"""Whether it holds: every rod, bore, part, tooth and hinge against the load it really sees
over the turn."""

from core.making.strength.check import Check, Strength, Verdict
from core.making.strength.strength import strength

__all__ = ["Check", "Strength", "Verdict", "strength"]
