"""Re-dimensioning: dragging points, pins and parts changes lengths.

Locked points stay, parts with locked lengths keep them, points on slides and slots
stay on their lines; everything else stays where it is.
"""

from core.motion.redimension.dragging import drag_parts, drag_point, drag_points
from core.motion.redimension.posing import follow_twins, rebase

__all__ = ["drag_parts", "drag_point", "drag_points", "follow_twins", "rebase"]
