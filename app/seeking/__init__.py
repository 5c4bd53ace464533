"""Long searches off the window: in a process of their own, the newest answer shown."""

from app.seeking.seeker import Job, Seeker

__all__ = ["Job", "Seeker"]
