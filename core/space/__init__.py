"""Where the parts are in space: outlines, and the gaps between them over the turn."""

from core.space.outlines import Rounded, Solid, default_outline, outline_of, solid_of

__all__ = ["Rounded", "Solid", "default_outline", "outline_of", "solid_of"]
