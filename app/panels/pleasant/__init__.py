"""The window "Make the crank pleasant": what may be used, and what comes of it."""

from app.panels.pleasant.window import EaseWindow

__all__ = ["EaseWindow"]
