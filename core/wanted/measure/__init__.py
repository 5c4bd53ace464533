"""How a turn meets the wishes of its sketch: for the strip, the panels and the findings."""

from core.wanted.measure.met import Met, measure, overall

__all__ = ["Met", "measure", "overall"]
