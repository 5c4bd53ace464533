"""The gallery of found mechanisms, all turning together."""

from app.panels.gallery.gallery import Gallery

__all__ = ["Gallery"]
