"""What is wanted, as numbers that any mechanism can be held against.

``goals(wishes)`` compiles wishes once (`compile`, `paths` into the `plan`); ``match`` finds
the instants at which mechanisms are compared (`matching`, with `offset`, `extremes`, and for
paths `distances`, `assign`, `lap`); ``residuals`` are errors in tolerances with exact
derivatives, free instants, offset and constants eliminated; ``advance`` follows with the
instants. `turned` shows a solved turn to the goals.
"""

from core.wanted.goals.compiled import Goals, goals
from core.wanted.goals.dense import Channel, Dense, Instants, Seen
from core.wanted.goals.residuals import MISSED

__all__ = ["MISSED", "Channel", "Dense", "Goals", "Instants", "Seen", "goals"]
