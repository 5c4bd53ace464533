"""Fit: the maker's own sketch tuned to the motion wanted of it, of any topology.

`freedom` says what may move, `holds` and `penalties` what must hold and what counts
against a sketch, `looking` and `seeing` what the goals see of it; `step` and `descent` go
down from one start, `beginnings` and `batch` find more; `tuning` runs it all, `words` says
what came of it.
"""

from core.wanted.fit.tuning import Fitting, Progress, fit

__all__ = ["Fitting", "Progress", "fit"]
