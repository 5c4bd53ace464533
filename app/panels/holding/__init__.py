"""The window "What holds": every check of strength, its load, what it bears, and why."""

from app.panels.holding.window import HoldingWindow

__all__ = ["HoldingWindow"]
