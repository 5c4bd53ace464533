"""What to solve in which order: a plan made once per network, run for every drag.

The plan grows from the frame and the crank. Turns that follow from slides, gears and
belts come first; then single bodies and pairs with a closed form; what no such step
reaches is cut into the smallest solvable groups by matching (see `matching`) and left to
Newton's method. A body is reached through a tree of pins, so a group is written in few
unknowns: one turn per set of bodies that turn together, and a shift where no pin holds.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from core.motion.network import Line, Network, Number, Place

#: A turn e^{iθ} shared by bodies is numbered; this is a turn known beforehand.
KNOWN = -1


@dataclass(frozen=True)
class Arm:
    """The vector on `body` from one of its drawn points to another."""

    body: int
    tail: int
    tip: int


@dataclass(frozen=True)
class Chain:
    """A place reached over arms from a base: a known pin, a known body's point, or
    (both absent) the group's free shift number `free`."""

    pin: int = -1
    place: Place | None = None
    free: int = -1
    arms: tuple[Arm, ...] = ()

    def on(self, body: int, tail: int, tip: int) -> Chain:
        """The chain with one more arm."""
        if tail == tip:
            return self
        return Chain(self.pin, self.place, self.free, (*self.arms, Arm(body, tail, tip)))


@dataclass(frozen=True)
class Link:
    """Where a body hangs: its drawn point `slot` is at the end of `at`."""

    body: int
    slot: int
    at: Chain


@dataclass(frozen=True)
class Loop:
    """A pin reached two ways."""

    id: str
    left: Chain
    right: Chain


@dataclass(frozen=True)
class Guide:
    """A point that stays on a line; `line` is the joint's equation."""

    line: Line
    point: Chain
    start: Chain


@dataclass(frozen=True)
class Law:
    """Σ factor · turn = 0 over bodies."""

    terms: tuple[tuple[int, Number], ...]
    joints: tuple[str, ...]


@dataclass(frozen=True)
class Turned:
    """A body whose turn is Σ factor · turn over bodies turned before."""

    body: int
    terms: tuple[tuple[int, Number], ...]
    joints: tuple[str, ...]


@dataclass(frozen=True)
class Block:
    """A group of bodies solved at once.

    Attributes
    ----------
    kind : "place" (turn known, hangs on a pin), "aim" (hangs on two pins), "ray" (one
        turn, one guide), "pair" (two turns, one loop), "cross" (no turn, two guides) or
        "newton".
    number : counts the blocks.
    bodies : whose shifts it finds.
    spins : bodies of each unknown turn.
    frees : number of free shifts.
    links, loops, guides, laws : its equations; closed forms use the first ones.
    joints : ids of its joints.
    """

    kind: str
    number: int
    bodies: tuple[int, ...]
    spins: tuple[tuple[int, ...], ...]
    frees: int
    links: tuple[Link, ...]
    loops: tuple[Loop, ...]
    guides: tuple[Guide, ...]
    laws: tuple[Law, ...]
    joints: tuple[str, ...]

    def spin_of(self, body: int) -> int:
        """Number of the unknown turn of a body; :data:`KNOWN` when known before."""
        return self._spin_of.get(body, KNOWN)

    @cached_property
    def moved(self) -> tuple[int, ...]:
        """All bodies whose turn or place the group finds."""
        return tuple(sorted({*self.bodies, *self._spin_of}))

    @cached_property
    def _spin_of(self) -> dict[int, int]:
        return {body: number for number, bodies in enumerate(self.spins) for body in bodies}


@dataclass(frozen=True, eq=False)
class Plan:
    """Steps in order; there is one per network.

    Attributes
    ----------
    source : for each pin the body and point that first give its place; None if loose.
    spare : ids of joints with an equation more than needed, in file order.
    loose : bodies the crank does not determine.
    freedom : how many numbers would fix the loose bodies.
    """

    network: Network
    steps: tuple[Turned | Block, ...]
    blocks: tuple[Block, ...]
    source: tuple[Place | None, ...]
    spare: tuple[str, ...]
    loose: tuple[int, ...]
    freedom: int

    @cached_property
    def adrift(self) -> tuple[int, ...]:
        """Loose bodies whose turn is known all the same (they slide on something)."""
        turned = {step.body for step in self.steps if isinstance(step, Turned)}
        return tuple(body for body in self.loose if body in turned)
