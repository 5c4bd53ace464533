"""Writing a set of bodies as a group: what it hangs on, its loops, guides and laws."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from core.motion.network import Network, PinEnds, Place
from core.motion.plan import KNOWN, Block, Chain, Guide, Law, Link, Loop


@dataclass
class Known:
    """What is determined so far."""

    net: Network
    turned: set[int]
    placed: set[int]
    source: list[Place | None]
    laws: list[Law] = field(default_factory=list)
    pins_at: dict[int, list[int]] = field(default_factory=dict)
    lines_at: dict[int, list[int]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for number, pin in enumerate(self.net.pins):
            for end in pin.ends:
                self.pins_at.setdefault(end.body, []).append(number)
        for number, line in enumerate(self.net.lines):
            for body in (line.point.body, line.start.body):
                self.lines_at.setdefault(body, []).append(number)

    def holds(self, body: int) -> int:
        """How many known pins and lines to placed bodies an unplaced body has."""
        lines = [self.net.lines[number] for number in self.lines_at.get(body, ())]
        return sum(self.source[pin] is not None for pin in self.pins_at.get(body, ())) + sum(
            line.point.body in self.placed or line.start.body in self.placed for line in lines)

    def place(self, body: int) -> None:
        """Count a body as placed and its pins as known."""
        self.turned.add(body)
        self.placed.add(body)
        for number in self.pins_at.get(body, ()):
            if self.source[number] is None:
                self.source[number] = end_on(self.net.pins[number], body)


def end_on(pin: PinEnds, body: int) -> Place:
    """The place of a pin on one of its bodies."""
    return next(end for end in pin.ends if end.body == body)


def group(known: Known, bodies: Sequence[int], also_turned: Iterable[int] = ()) -> Block:
    """The group of unplaced bodies, its kind left open ("newton").

    `also_turned` are bodies whose turn is unknown in the group though their place is
    found elsewhere. Equations reach from the group to what is known already.
    """
    spins = _spins(known, [*bodies, *also_turned])
    tree = _Tree(known, bodies)
    guides = tuple(_guides(known, tree))
    laws = tuple(_laws(known, spins))
    joints = dict.fromkeys(
        [*tree.joints, *(guide.line.id for guide in guides),
         *(joint for law in known.laws for joint in law.joints
           if any(body in spin for spin in spins for body, _ in law.terms))])
    return Block("newton", -1, tuple(bodies), spins, tree.frees, tuple(tree.links),
                 tuple(tree.loops), guides, laws, tuple(joints))


def classify(block: Block) -> str:
    """The closed form that solves a group, or "newton"."""
    spins, frees = len(block.spins), block.frees
    if block.laws:
        return "newton"
    if spins == 0 and frees == 0:
        return "place"
    if spins == 1 and frees == 0:
        if any(_moves(guide, block) for guide in block.guides):
            return "ray"
        return "aim" if any(_turns(loop, block) == {0} for loop in block.loops) else "newton"
    if spins == 2 and frees == 0:
        return "pair" if any(_turns(loop, block) == {0, 1} for loop in block.loops) \
            else "newton"
    if spins == 0 and frees == 1 and sum(_floats(guide) for guide in block.guides) > 1:
        return "cross"
    return "newton"


def ordered(block: Block) -> tuple[tuple[Loop, ...], tuple[Guide, ...]]:
    """Loops and guides with the ones the closed form uses put first."""
    every = set(range(len(block.spins)))
    loops = sorted(block.loops, key=lambda loop: _turns(loop, block) != every)
    useful = _floats if block.kind == "cross" else (lambda guide: _moves(guide, block))
    return tuple(loops), tuple(sorted(block.guides, key=lambda guide: not useful(guide)))


def _turns(loop: Loop, block: Block) -> set[int]:
    """Numbers of the unknown turns a loop contains."""
    arms = (*loop.left.arms, *loop.right.arms)
    return {block.spin_of(arm.body) for arm in arms} - {KNOWN}


def _moves(guide: Guide, block: Block) -> bool:
    bodies = [arm.body for arm in (*guide.point.arms, *guide.start.arms)]
    return any(block.spin_of(body) != KNOWN for body in [*bodies, guide.line.start.body])


def _floats(guide: Guide) -> bool:
    return (guide.point.free >= 0) != (guide.start.free >= 0)


def _spins(known: Known, bodies: Sequence[int]) -> tuple[tuple[int, ...], ...]:
    """The unknown turns of some bodies: bodies an angle law makes turn alike share one."""
    label = {body: number for number, body in enumerate(bodies) if body not in known.turned}
    for law in known.laws:
        if _is_equality(law) and all(body in label for body, _ in law.terms):
            (a, _), (b, _) = law.terms
            old, new = label[b], label[a]
            label = {body: new if own == old else own for body, own in label.items()}
    shared: dict[int, list[int]] = {}
    for body, number in label.items():
        shared.setdefault(number, []).append(body)
    return tuple(tuple(spin) for spin in shared.values())


def _is_equality(law: Law) -> bool:
    return len(law.terms) == 2 and law.terms[0][1] == -law.terms[1][1]


def _laws(known: Known, spins: tuple[tuple[int, ...], ...]) -> Iterable[Law]:
    """Angle laws among the unknown turns that sharing a turn does not express."""
    spin_of = {body: number for number, spin in enumerate(spins) for body in spin}
    for law in known.laws:
        inside = [body in spin_of for body, _ in law.terms]
        reached = all(body in spin_of or body in known.turned for body, _ in law.terms)
        shared = _is_equality(law) and len({spin_of.get(body) for body, _ in law.terms}) == 1
        if any(inside) and reached and not shared:
            yield law


class _Tree:
    """Hangs bodies on known pins and on each other; what closes a loop is kept."""

    def __init__(self, known: Known, bodies: Sequence[int]) -> None:
        self.known, self.inside = known, set(bodies)
        self.links: list[Link] = []
        self.loops: list[Loop] = []
        self.joints: dict[str, None] = {}
        self.frees = 0
        self._hung: dict[int, Link] = {}
        self._holder: dict[int, Chain] = {}
        self._waiting: deque[tuple[int, int]] = deque()
        for body in bodies:
            for pin in self._pins(body):
                if known.source[pin] is not None and pin not in self._holder:
                    self._open(pin, Chain(pin=pin))
        self._grow()
        for body in bodies:
            if body not in self._hung:
                self._hang(Link(body, self._any_slot(body), Chain(free=self.frees)), -1)
                self.frees += 1
                self._grow()

    def chain(self, place: Place) -> Chain:
        """The way to a place on a hung or an already placed body."""
        link = self._hung.get(place.body)
        if link is None:
            return Chain(place=place)
        return link.at.on(place.body, link.slot, place.slot)

    def has(self, body: int) -> bool:
        """Whether the way to a body is known."""
        return body in self._hung or body in self.known.placed

    def _pins(self, body: int) -> list[int]:
        return self.known.pins_at.get(body, [])

    def _hang(self, link: Link, through: int) -> None:
        self._hung[link.body] = link
        self.links.append(link)
        self._waiting.append((link.body, through))

    def _open(self, pin: int, at: Chain) -> None:
        """A pin whose place is reached for the first time takes all bodies not yet hung."""
        self._holder[pin] = at
        for end in self.known.net.pins[pin].ends:
            if end.body in self.inside and end.body not in self._hung:
                self.joints.setdefault(self.known.net.pins[pin].id)
                self._hang(Link(end.body, end.slot, at), pin)

    def _grow(self) -> None:
        """Follow the other pins of every body hung; one already reached closes a loop."""
        while self._waiting:
            body, through = self._waiting.popleft()
            for pin in self._pins(body):
                if pin == through:
                    continue
                ends = self.known.net.pins[pin]
                here = self.chain(end_on(ends, body))
                if pin in self._holder:
                    self.joints.setdefault(ends.id)
                    self.loops.append(Loop(ends.id, self._holder[pin], here))
                else:
                    self._open(pin, here)

    def _any_slot(self, body: int) -> int:
        net = self.known.net
        for pin in self._pins(body):
            return end_on(net.pins[pin], body).slot
        for number in self.known.lines_at.get(body, []):
            line = net.lines[number]
            return line.point.slot if line.point.body == body else line.start.slot
        return 0


def _guides(known: Known, tree: _Tree) -> Iterable[Guide]:
    numbers = sorted({number for body in tree.inside
                      for number in known.lines_at.get(body, ())})
    for number in numbers:
        line = known.net.lines[number]
        if not line.spare and tree.has(line.point.body) and tree.has(line.start.body):
            yield Guide(line, tree.chain(line.point), tree.chain(line.start))
