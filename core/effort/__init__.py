"""How hard the crank is and what the joints bear."""

from core.effort.free import FreeMotion, free_acceleration
from core.effort.hand import Hand, hand
from core.effort.inside import JointLoad
from core.effort.locking import FrictionLock, Locking, locking
from core.effort.masses import PartMass, mass_of
from core.effort.push_limits import LIMITS, PushLimit, limit_of
from core.effort.states import Pace, States, states
from core.effort.torque import Band, Effort, driving_torque, effort, friction_band

__all__ = ["LIMITS", "Band", "Effort", "FreeMotion", "FrictionLock", "Hand", "JointLoad",
           "Locking", "Pace", "PartMass", "PushLimit", "States", "driving_torque", "effort",
           "free_acceleration", "friction_band", "hand", "limit_of", "locking", "mass_of",
           "states"]
