"""The window that helps to choose how parts are held on their shafts."""

from app.panels.locks.window import LockWindow

__all__ = ["LockWindow"]
