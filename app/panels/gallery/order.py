"""Which proposals are shown, in which order: sorting, kinds, kin, and standing still."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from core.wanted.find import Proposal

#: A miss below this, in tolerances, is none.
NONE = 0.005
#: What the gallery sorts by: text → a key, best first. Misses that read the same are even.
ORDERS: dict[str, Callable[[Proposal], float]] = {
    "Mean miss": lambda one: _read(one.error),
    "Worst miss": lambda one: _read(one.worst),
    "Transmission angle": lambda one: _last(-one.transmission_deg),
    "Size": lambda one: _last(one.size_mm),
    "Peak torque": lambda one: _last(one.peak_torque_nmm),
}


def _last(value: float) -> float:
    return value if math.isfinite(value) else math.inf


def miss(tolerances: float) -> str:
    """A miss as it is read: two figures, and nothing of what is next to none."""
    return "0" if abs(tolerances) < NONE else f"{tolerances:.2g}"


def _read(tolerances: float) -> float:
    return float(miss(tolerances)) if math.isfinite(tolerances) else math.inf


@dataclass(frozen=True)
class Choice:
    """What the user wants to see: `order` of `ORDERS`, `hidden` families, only those that
    nothing beats (`best_only`) or in which no parts meet (`free_only`), and which are spread
    out with all their kin (`spread`)."""

    order: str = "Mean miss"
    hidden: frozenset[str] = frozenset()
    best_only: bool = False
    free_only: bool = False
    spread: tuple[Proposal, ...] = ()

    def with_spread(self, proposals: Iterable[Proposal], chosen: Proposal) -> Choice:
        """The same with the kin of one spread out, or folded when they were. All of them
        are kept in mind: their numbers change as a search goes on."""
        kin = [one for one in proposals if one.kin == chosen.kin]
        if any(_spread(self, one) for one in kin):
            return replace(self, spread=tuple(
                one for one in self.spread if not any(_same(one, other) for other in kin)))
        return replace(self, spread=(*self.spread, *kin))


def _same(one: Proposal, other: Proposal) -> bool:
    return one.sketch is other.sketch or one.sketch == other.sketch


def _spread(choice: Choice, one: Proposal) -> bool:
    return any(_same(one, other) for other in choice.spread)


@dataclass(frozen=True)
class Entry:
    """One card. `others` counts its kin that are folded behind it or spread out after it;
    `spread` says which; `follows` is True for such kin."""

    proposal: Proposal
    others: int = 0
    spread: bool = False
    follows: bool = False

    @property
    def title(self) -> str:
        """The kind of mechanism in a word or two."""
        return self.proposal.name.partition(", ")[0]

    @property
    def detail(self) -> str:
        """What tells it from others of its kind; may be empty."""
        return self.proposal.name.partition(", ")[2]


def arrange(proposals: Iterable[Proposal], choice: Choice) -> list[Entry]:
    """The cards in order, of even ones those first in which no parts meet. Kin stand
    together, behind the best of them."""
    shown = [one for one in proposals if one.family not in choice.hidden
             and (one.pareto or not choice.best_only)
             and not (one.meets and choice.free_only)]
    shown.sort(key=lambda one: (ORDERS[choice.order](one), bool(one.meets)))
    clans: dict[int, list[Proposal]] = {}
    for one in shown:
        clans.setdefault(one.kin, []).append(one)
    entries: list[Entry] = []
    for first, *rest in clans.values():
        spread = bool(rest) and any(_spread(choice, one) for one in (first, *rest))
        entries.append(Entry(first, len(rest), spread))
        if spread:
            entries += [Entry(one, follows=True) for one in rest]
    return entries


def held(old: Sequence[Entry], new: Sequence[Entry]) -> list[Entry]:
    """`new` in the order of `old`, so that nothing moves away under the mouse: cards that
    are there still stay, one that is gone is followed by the likest new one of its family,
    else it stays as it is; all else comes after them."""
    left = list(new)
    kept: list[Entry | None] = []
    for entry in old:
        same = next((one for one in left if one.proposal == entry.proposal), None)
        kept.append(same)
        if same is not None:
            left.remove(same)
    out: list[Entry] = []
    for entry, same in zip(old, kept, strict=True):
        if same is None:
            alike = [one for one in left if one.proposal.family == entry.proposal.family]
            same = min(alike, default=None, key=lambda one: abs(
                _last(one.proposal.error) - _last(entry.proposal.error)))
            if same is not None:
                left.remove(same)
        out.append(same or replace(entry, others=0, spread=False))
    return out + left
