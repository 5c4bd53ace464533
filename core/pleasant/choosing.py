"""Which of several proposals suits a hurried maker."""

from __future__ import annotations

from collections.abc import Sequence

from core.pleasant.proposal import Proposal

#: These change the torque at the crank itself; steps and flywheels only how it is felt.
AT_THE_CRANK = ("weights", "springs", "torsion", "both")
#: Of proposals within this share of the best, the one that needs least is taken.
_ABOUT_AS_GOOD = 0.03


def best(proposals: Sequence[Proposal]) -> Proposal | None:
    """The proposal to take unseen; None when there is none.

    Of those that mend the torque at the crank itself the one with the smallest value of the
    aim, friction included; of several about as good (3 %), the one that adds least mass.
    Where nothing mends it there, the first gear step, and last a flywheel.
    """
    near = [one for one in proposals if one.kind in AT_THE_CRANK]
    if near:
        least = min(one.value_after for one in near)
        before = near[0].value_before
        return min((one for one in near
                    if one.value_after <= least + _ABOUT_AS_GOOD * abs(before)),
                   key=lambda one: (one.added_kg, one.value_after))
    return next(iter(proposals), None)
