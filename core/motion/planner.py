"""Making the plan: turns first, then closed forms, then what only Newton solves."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from fractions import Fraction
from functools import lru_cache

from core.motion.generic import undecided
from core.motion.grouping import Known, classify, group, ordered
from core.motion.matching import first_blocks, match
from core.motion.network import GROUND, Network, Number
from core.motion.plan import Block, Law, Plan, Turned


@lru_cache(maxsize=64)
def plan(net: Network) -> Plan:
    """The plan of a network; without a crank only what hangs on the frame alone."""
    return _Planner(net).run()


class _Planner:
    def __init__(self, net: Network) -> None:
        self.net = net
        self.known = Known(net, set(), set(), [None] * len(net.pins),
                           [Law(law.terms, (law.id,)) for law in net.laws])
        self.steps: list[Turned | Block] = []
        self.blocks = 0
        self.spare: set[str] = set()
        self.freedom = 0

    def run(self) -> Plan:
        """All steps, closed forms wherever there is one."""
        self.known.place(GROUND)
        if self.net.crank >= 0:
            self._place_crank()
        while self._turns() or self._closed_forms() or self._matched():
            pass
        self.spare.update(line.id for line in self.net.lines if line.spare and {
            line.point.body, line.start.body} <= self.known.placed)
        blocks = tuple(step for step in self.steps if isinstance(step, Block))
        order = [*(pin.id for pin in self.net.pins), *(line.id for line in self.net.lines),
                 *(law.id for law in self.net.laws)]
        return Plan(
            self.net, tuple(self.steps), blocks, tuple(self.known.source),
            tuple(dict.fromkeys(joint for joint in order if joint in self.spare)),
            tuple(body for body in range(self.net.bodies)
                  if body not in self.known.placed), self.freedom)

    def _place_crank(self) -> None:
        """The crank is placed by the drive; what else joins it to the frame is spare."""
        net, crank = self.net, self.net.crank
        self.known.place(crank)
        pair = {GROUND, crank}
        twice = [pin.id for pin in net.pins
                 if pair <= {end.body for end in pin.ends} and net.hub not in pin.ends]
        lines = [line.id for line in net.lines
                 if {line.point.body, line.start.body} == pair]
        self.spare.update(twice, lines)

    # Turns -----------------------------------------------------------------

    def _turns(self) -> bool:
        """Bodies whose turn the angle laws give."""
        self.known.laws = _reduced(self.known.laws, self.known.turned)
        found = False
        for law in list(self.known.laws):
            unknown = [term for term in law.terms if term[0] not in self.known.turned]
            if len(unknown) > 1:
                continue
            self.known.laws.remove(law)
            if not unknown:
                self.spare.add(law.joints[0])
                continue
            body, factor = unknown[0]
            self.steps.append(Turned(body, tuple(
                (other, -weight / factor) for other, weight in law.terms if other != body
            ), law.joints))
            self.known.turned.add(body)
            found = True
        return found

    # Closed forms ----------------------------------------------------------

    def _closed_forms(self) -> bool:
        """One pass over single bodies, or (when none is left) over pairs."""
        alone = ((body,) for body in self._unplaced())
        return self._take(alone) or self._take(self._neighbours())

    def _unplaced(self) -> list[int]:
        return [body for body in range(self.net.bodies) if body not in self.known.placed]

    def _neighbours(self) -> Iterator[tuple[int, int]]:
        pairs: dict[tuple[int, int], None] = {}
        for pin in self.net.pins:
            bodies = [end.body for end in pin.ends if end.body not in self.known.placed]
            pairs.update({(min(a, b), max(a, b)): None for a in bodies for b in bodies
                          if a != b})
        for line in self.net.lines:
            a, b = line.point.body, line.start.body
            if a not in self.known.placed and b not in self.known.placed:
                pairs[min(a, b), max(a, b)] = None
        yield from pairs

    def _take(self, candidates: Iterable[tuple[int, ...]]) -> bool:
        found = False
        for bodies in candidates:
            if any(body in self.known.placed for body in bodies):
                continue
            # Cheap and necessary: two holds, or one of a body whose turn is known.
            needed = 1 if len(bodies) == 1 and bodies[0] in self.known.turned else 2
            if sum(map(self.known.holds, bodies)) < needed:
                continue
            block = group(self.known, bodies)
            kind = classify(block)
            if kind != "newton":
                self._add(replace(block, kind=kind))
                found = True
        return found

    def _add(self, block: Block) -> None:
        loops, guides = ordered(block)
        block = replace(block, number=self.blocks, loops=loops, guides=guides)
        self.blocks += 1
        self.steps.append(block)
        self.spare.update(_surplus(block))
        for spin in block.spins:
            self.known.turned.update(spin)
        for body in block.bodies:
            self.known.place(body)
        # Laws the group has used are consumed, not checked again as surplus.
        self.known.laws = [law for law in self.known.laws if law not in block.laws and not (
            len(law.terms) == 2 and any({body for body, _ in law.terms} <= set(spin)
                                        for spin in block.spins))]

    # The rest --------------------------------------------------------------

    def _matched(self) -> bool:
        """The smallest groups that no closed form solves."""
        unknowns: dict[tuple[str, int], int] = {}
        for body in self._unplaced():
            for axis in ("x", "y") if body in self.known.turned else ("x", "y", "turn"):
                unknowns[axis, body] = len(unknowns)
        for number, pin in enumerate(self.net.pins):
            if self.known.source[number] is None and len(pin.ends) > 1:
                unknowns["px", number] = len(unknowns)
                unknowns["py", number] = len(unknowns)
        equations = [[unknowns[each] for each in wanted if each in unknowns]
                     for wanted in self._equations()]
        equations = [equation for equation in equations if equation]
        owner = match(equations, len(unknowns))
        self.freedom = owner.count(-1)
        names = list(unknowns)
        found = False
        left_open = 0
        for numbers in first_blocks(equations, owner):
            chosen = [names[number] for number in numbers]
            bodies = tuple(dict.fromkeys(body for axis, body in chosen if axis == "x"))
            turned = [body for axis, body in chosen if axis == "turn" and body not in bodies]
            if bodies or turned:
                block = group(self.known, bodies, turned)
                missing = undecided(self.net, self.known.source, block)
                left_open += missing
                if not missing:
                    self._add(block)
                    found = True
        self.freedom += left_open
        return found

    def _equations(self) -> Iterator[list[tuple[str, int]]]:
        """Unknowns of every joint equation; x and y always together, as in a turned frame."""
        for number, pin in enumerate(self.net.pins):
            for end in pin.ends:
                both = [("px", number), ("py", number), *_pose(end.body)]
                yield both
                yield list(both)
        for line in self.net.lines:
            if not line.spare:
                yield [*_pose(line.point.body), *_pose(line.start.body)]
        for law in self.known.laws:
            yield [("turn", body) for body, _ in law.terms]


def _pose(body: int) -> list[tuple[str, int]]:
    return [("x", body), ("y", body), ("turn", body)]


def _surplus(block: Block) -> list[str]:
    """Joints of a group with an equation more than its unknowns."""
    used = {"place": (0, 0), "aim": (1, 0), "ray": (0, 1), "pair": (1, 0), "cross": (0, 2)}
    if block.kind in used:
        loops, guides = used[block.kind]
        partly = [block.loops[0].id] if block.kind == "aim" else []
        return partly + [loop.id for loop in block.loops[loops:]] + \
            [guide.line.id for guide in block.guides[guides:]]
    unknowns = len(block.spins) + 2 * block.frees
    surplus = 2 * len(block.loops) + len(block.guides) + len(block.laws) - unknowns
    joints = [joint for law in block.laws for joint in law.joints]
    joints += [guide.line.id for guide in block.guides]
    joints += [loop.id for loop in block.loops for _ in range(2)]
    return joints[len(joints) - surplus:] if surplus > 0 else []


def _reduced(laws: list[Law], turned: set[int]) -> list[Law]:
    """The same laws with each unknown turn left in as few of them as can be
    (Gauss–Jordan elimination, exact for gears)."""
    rows = [(dict(law.terms), law.joints) for law in laws]
    done: list[tuple[dict[int, Number], tuple[str, ...]]] = []
    pivots: list[int] = []
    for terms, joints in rows:
        for pivot, (other, names) in zip(pivots, done, strict=True):
            if pivot in terms:
                terms, joints = _eliminate(terms, joints, other, names, pivot)
        unknown = [body for body in terms if body not in turned]
        if not unknown:
            done.append((terms, joints))
            pivots.append(-1)
            continue
        pivot = unknown[0]
        for at, (other, names) in enumerate(done):
            if pivot in other:
                done[at] = _eliminate(other, names, terms, joints, pivot)
        done.append((terms, joints))
        pivots.append(pivot)
    return [Law(tuple(terms.items()), joints) for terms, joints in done]


def _eliminate(terms: dict[int, Number], joints: tuple[str, ...],
               by: dict[int, Number], names: tuple[str, ...], pivot: int
               ) -> tuple[dict[int, Number], tuple[str, ...]]:
    ratio = terms[pivot] / by[pivot]
    rest = dict(terms)
    for body, factor in by.items():
        rest[body] = rest.get(body, Fraction(0)) - ratio * factor
    left = {body: factor for body, factor in rest.items()
            if body != pivot and abs(float(factor)) > 1e-12}
    return left, tuple(dict.fromkeys([*joints, *names]))
