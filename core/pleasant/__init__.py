"""What makes the crank pleasant: counterweights, springs, a gear step, a flywheel.

The contract (kept; more may come)::

    advise(sketch or turn, Options(...), report=None) -> Advice
    proposals(...)                                    -> advise(...).proposals

`Options` says what is asked (``aim``: "peak", "ripple", "steady", "weighted" or an `Aim`),
what to try (``kinds`` out of `KINDS`) and, as `WeightRules` (``each`` for single parts),
`SpringRules`, `GearRules`, `FlywheelRules`, what may be used. `Advice` holds `before`
(`Lanes`), `push_before_n` (N,),
`proposals` (by kind, best first), `declined` (why there is none of a kind, with the
number) and `stopped`. Each `Proposal` has `kind`, `title`, `words`, the `sketch` after it
(committing it is one undoable edit), `before` and `after` (`Lanes`: ``plain_nmm``,
``low_nmm``, ``high_nmm``, (N,) N·mm at the crank), the hand's push ``push_before_n`` and
``push_after_n`` (N,), ``value_before``, ``value_after`` and ``gain`` (of the aim, with
friction), ``plain_nmm`` and ``bound_nmm`` (the programme's optimum and the proof below which
nothing can get, without friction), ``added_kg``, ``turns`` and ``parts``.

`report(Progress)` is called from the same thread; False stops and what was found is kept.
Equal input gives equal advice. A crank that locks or jams raises MotionError with a plain
sentence.
"""

from core.pleasant.advise import advise, proposals
from core.pleasant.options import (
    AIMS,
    KINDS,
    Aim,
    AimName,
    FlywheelRules,
    GearRules,
    Kind,
    Options,
    OwnMass,
    SpringRules,
    WeightRules,
)
from core.pleasant.proposal import Advice, Declined, Lanes, Progress, Proposal, Report

__all__ = [
    "AIMS", "KINDS", "Advice", "Aim", "AimName", "Declined", "FlywheelRules", "GearRules",
    "Kind", "Lanes", "Options", "OwnMass", "Progress", "Proposal", "Report", "SpringRules",
    "WeightRules", "advise", "proposals",
]
