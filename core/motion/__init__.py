"""How a sketch moves.

``solve_turn(sketch)`` gives the whole turn, ``pose_at(turn, crank_rad)`` the same motion
at other crank angles.
"""

from core.motion.solve import pose_at, solve_turn
from core.motion.turn import Limit, Turn

__all__ = ["Limit", "Turn", "pose_at", "solve_turn"]
