"""The turn strip: lanes along the crank angle, and the means to turn the crank."""

from app.strip.strip import TurnStrip

__all__ = ["TurnStrip"]
