"""All findings of a sketch, in one list."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from core.effort import Effort, Hand, States
from core.errors import Going, always, while_going
from core.findings.effort import effort_findings
from core.findings.finding import Finding, in_order
from core.findings.gaps import gap_findings
from core.findings.motion import build_findings, turn_findings
from core.findings.pinch import mesh_findings, pinch_findings
from core.findings.sketch import sketch_findings
from core.findings.small import small_findings
from core.findings.wishes import wish_findings
from core.findings.wood import wood_findings
from core.model import Sketch
from core.model.problem import Problem
from core.motion import Structure, Turn
from core.space import Gaps
from core.space.pinch import Pinch

if TYPE_CHECKING:
    from core.making.locks import Locks
    from core.making.strength import Strength
    from core.wanted.measure import Met


def findings(sketch: Sketch, *, problems: Sequence[Problem] = (),
             structure: Structure | None = None, turn: Turn | None = None,
             effort: Effort | None = None, gaps: Gaps | None = None,
             wanted: Sequence[Met] = (), trouble: str = "", mends: bool = True,
             strength: Strength | None = None,
             locks: Locks | None = None, hand: Hand | None = None,
             pinches: Sequence[Pinch] = (),
             states: States | None = None, going: Going = always) -> tuple[Finding, ...]:
    """Everything worth telling about a sketch, the gravest first.

    Parameters
    ----------
    problems : what :func:`core.model.validate.problems` found.
    structure, turn, effort, gaps : as far as they could be worked out.
    wanted : how the turn meets the wishes.
    trouble : why there is no turn, when there is none.
    mends : also work out the mends that need trying (free layers, longest crank).
    strength, locks : whether it holds, when that was worked out.
    hand : what the hand feels of the effort, which is not looked at without it.
    states : what the crank does backwards and let go, when that was worked out.
    pinches : where a finger could be caught, when that was worked out.
    going : asked before what takes long: whether to go on.

    Raises
    ------
    Stopped
        Once `going` says no.
    """
    found: list[Finding] = [*sketch_findings(sketch, problems)]
    if any(problem.fatal for problem in problems):
        return in_order(found)
    loose = frozenset[str]()
    found += build_findings(sketch, structure, trouble)
    found += wood_findings(sketch)
    found += mesh_findings(sketch)
    found += small_findings(sketch)
    if structure is not None:
        loose = frozenset(structure.loose)
    if turn is not None and structure is not None:
        found += turn_findings(turn, structure, mends, going)
        if gaps is not None:
            found += (one for one in while_going(going, gap_findings(turn, gaps, mends))
                      if loose.isdisjoint(one.parts))
        if effort is not None and hand is not None:
            found += while_going(going, effort_findings(turn, effort, hand, states))
        if strength is not None:
            from core.findings.holds import hold_findings  # it is worked out at rest only

            found += hold_findings(sketch, strength)
        if locks is not None:
            from core.findings.locks import lock_findings  # as above

            found += while_going(going, lock_findings(locks, mends))
        found += pinch_findings(sketch, pinches, hand, loose)
        found += wish_findings(sketch, wanted)
    return in_order(found)
