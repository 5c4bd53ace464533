"""How a sketch moves.

``solve_turn(sketch)`` gives the whole turn, ``pose_at(turn, crank_rad)`` the same motion
at other crank angles, ``rates(turn)`` velocities and accelerations,
``sensitivity(turn, moves)`` how it changes with where points are drawn,
``structure(sketch)`` what the joints make of it.

From a sketch to its turn: `network` numbers bodies and joint equations (`riveting` finds
parts held by two pins); `planner` makes of them a `plan`, with `grouping` for groups of
bodies and `matching` for what no closed form solves; `running` runs the plan on a `state`
(`closed` forms, or `newton` on a `system` of equations, up to a `fold`); `reach` finds how
far the crank goes, `cycle` how many turns it takes; `solve` puts it together and keeps the
`solution` with the `turn`.
"""

from core.motion.flip import flip
from core.motion.loops import FourBar, four_bars
from core.motion.rates import Rates, crank_motion, rates
from core.motion.sensitivity import Sensitivity, sensitivity
from core.motion.solve import pose_at, solve_turn
from core.motion.spare import spare_misfits
from core.motion.structure import Group, Structure, structure
from core.motion.transmission import Transmission, transmission, transmission_slopes
from core.motion.travel import Overrun, along, dead_centres, travel
from core.motion.turn import Limit, Turn

__all__ = [
    "FourBar", "Group", "Limit", "Overrun", "Rates", "Sensitivity", "Structure",
    "Transmission", "Turn", "along", "crank_motion", "dead_centres", "flip", "four_bars",
    "pose_at", "rates", "sensitivity", "solve_turn", "spare_misfits", "structure",
    "transmission", "transmission_slopes", "travel",
]
