"""How a sketch moves.

``solve_turn(sketch)`` gives the whole turn, ``pose_at(turn, crank_rad)`` the same motion
at other crank angles, ``rates(turn)`` velocities and accelerations, ``structure(sketch)``
what the joints make of it.
"""

from core.motion.flip import flip
from core.motion.loops import FourBar, four_bars
from core.motion.rates import Rates, crank_motion, rates
from core.motion.solve import pose_at, solve_turn
from core.motion.structure import Group, Structure, structure
from core.motion.travel import Overrun, along, dead_centres, travel
from core.motion.turn import Limit, Turn

__all__ = [
    "FourBar", "Group", "Limit", "Overrun", "Rates", "Structure", "Turn", "along",
    "crank_motion", "dead_centres", "flip", "four_bars", "pose_at", "rates", "solve_turn",
    "structure", "travel",
]
