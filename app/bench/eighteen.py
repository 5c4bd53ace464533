"""A published path problem, the measure of how fast a fit is."""

from __future__ import annotations

#: S. Kunjur and S. Krishnamurty (1997), from memory: eighteen places, one for every 20° of
#: the crank, whose first angle is free. The papers' unit is taken as 100 mm here.
EIGHTEEN = tuple(complex(x, y) for x, y in zip(
    (.5, .4, .3, .2, .1, .05, .02, 0, 0, .03, .1, .15, .2, .3, .4, .5, .6, .6),
    (1.1, 1.1, 1.1, 1.0, .9, .75, .6, .5, .4, .3, .25, .2, .3, .4, .5, .7, .9, 1.0),
    strict=True))
UNIT_MM = 100.0
#: The smallest squared-error sum known to us is .0090289.
GOOD_SUM = .00904
