"""How hard the crank is and what the joints bear."""

from core.effort.masses import PartMass, mass_of
from core.effort.torque import Band, Effort, effort, friction_band

__all__ = ["Band", "Effort", "PartMass", "effort", "friction_band", "mass_of"]
