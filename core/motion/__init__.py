"""How a sketch moves.

``solve_turn(sketch)`` gives the whole turn, ``pose_at(turn, crank_rad)`` the same motion
at other crank angles, ``rates(turn)`` velocities and accelerations.
"""

from core.motion.rates import Rates, crank_motion, rates
from core.motion.solve import pose_at, solve_turn
from core.motion.turn import Limit, Turn

__all__ = ["Limit", "Rates", "Turn", "crank_motion", "pose_at", "rates", "solve_turn"]
