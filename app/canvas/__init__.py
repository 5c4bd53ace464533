"""The canvas: a workshop drawing that moves."""

from app.canvas.view import Canvas

__all__ = ["Canvas"]
