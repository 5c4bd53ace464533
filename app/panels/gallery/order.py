"""Which proposals are shown, in which order: sorting, kinds, kin, and standing still."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from core.wanted.find import Proposal

#: What the gallery sorts by: text → a key, best first.
ORDERS: dict[str, Callable[[Proposal], float]] = {
    "Mean miss": lambda one: _last(one.error),
    "Worst miss": lambda one: _last(one.worst),
    "Transmission angle": lambda one: _last(-one.transmission_deg),
    "Size": lambda one: _last(one.size_mm),
    "Peak torque": lambda one: _last(one.peak_torque_nmm),
}


def _last(value: float) -> float:
    return value if math.isfinite(value) else math.inf


@dataclass(frozen=True)
class Choice:
    """What the user wants to see: `order` of `ORDERS`, `hidden` families, only those that
    nothing beats (`best_only`), and the numbers of kin that are spread out (`spread`)."""

    order: str = "Mean miss"
    hidden: frozenset[str] = frozenset()
    best_only: bool = False
    spread: frozenset[int] = frozenset()


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
    """The cards in order. Kin stand together, behind the best of them."""
    shown = [one for one in proposals if one.family not in choice.hidden
             and (one.pareto or not choice.best_only)]
    shown.sort(key=ORDERS[choice.order])
    clans: dict[int, list[Proposal]] = {}
    for one in shown:
        clans.setdefault(one.kin, []).append(one)
    entries: list[Entry] = []
    for kin, (first, *rest) in clans.items():
        spread = kin in choice.spread and bool(rest)
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
