"""Starts for a plain four-bar from many others that descend at once.

Where the crank, coupler and rocker on two fixed pivots are all there is to a sketch, and
what is wanted is of one point of its coupler or of its links' angles, four-bars by lot are
let down to the wishes in one batch (`core.wanted.engine`), and the best are drawn into the
sketch. Where a path is wanted whose timing is free, half of them are of the atlas, such as
draw something like it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
from msgspec.structs import replace
from numpy.typing import NDArray

from core.errors import CrankwrightError
from core.model import WantedPath, WantedPose, Zone, part_of
from core.motion.network import GROUND
from core.motion.solve import plan_of
from core.wanted.atlas.asking import asked
from core.wanted.atlas.nearest import neighbours
from core.wanted.engine import Limits, Mechanisms, View, descend, joined, moved, run, watch
from core.wanted.families import FAMILIES, Family
from core.wanted.fit.beginnings import begin, toward
from core.wanted.fit.exact import in_one_assembly
from core.wanted.fit.looking import Look, Task
from core.wanted.goals import Channel, Goals

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]

#: Four-bars in a batch and the rounds of their descent, ever fewer going ever further; more
#: where instants are free, which has more valleys and goes slower.
TIMED = ((64, 6), (16, 12))
FREE = ((400, 2), (100, 5), (24, 12), (6, 40))
#: At most so many batches; fewer when the least cost has come up this often.
BATCHES, AGAIN = 4, 2
#: Costs that count as the same, by share, for that and for two being one; and a cost
#: (tolerances squared) that is as good as none.
NEAR, SAME, EXACT = 0.01, 1e-4, 1e-8


@dataclass(frozen=True)
class Plain:
    """A sketch that is a plain four-bar: nodes of its pivots, pins and tracer (-1 without
    one) by the names of the family's points, the goals, and how their channels are seen.

    Where the coupler is to take poses, `toward` is the node that shows its direction: any
    point of it will do, so that the goals leave the direction open by a constant.
    """

    nodes: dict[str, int]
    goals: Goals
    view: View
    toward: int = -1


def seeds(task: Task, random: np.random.Generator, count: int,
          go_on: Callable[[], bool]) -> Iterator[Look]:
    """The best `count` of some batches as looks, best first; none for other sketches.
    Where the crank may rock and but a few places are wished, before them four-bars that meet
    all of these. `go_on` is asked often; False stops."""
    plain = plain_four_bar(task)
    if plain is None:
        return
    yield from _exact(task, plain, random, count, go_on)
    recipe = FAMILIES["four-bar"].recipe
    net, rules = task.freedom.net, task.sketch.fit
    zones = [zone for zone in task.sketch.zones if not zone.points]
    here = {name: complex(net.place[node]) for name, node in plain.nodes.items() if node >= 0}
    if task.freedom.held[plain.nodes["shaft"]]:
        at = here["shaft"]
        zones.append(Zone(id="", corners=((at.real, at.imag),)))
    found, cost, late = _several(task, plain, here, Limits.of(rules, tuple(zones)), random,
                                 go_on)
    home = np.angle(here["throw"] - here["shaft"])
    drawn = run(recipe, found, np.array([home]), derive=False)
    ahead = _pointing(task, found, late) if plain.toward >= 0 else None
    for index in np.argsort(cost)[:count]:
        place = net.place.copy()
        for name, node in plain.nodes.items():
            if node >= 0:
                place[node] = drawn.point(name)[index, 0]
        if ahead is not None:
            long = abs(net.place[plain.toward] - here["tip"])
            place[plain.toward] = place[plain.nodes["tip"]] + long * ahead[index] * np.exp(
                1j * drawn.angle("coupler")[index, 0])
        look = begin(task, toward(task, place))
        if look is not None:
            yield look


def _exact(task: Task, plain: Plain, random: np.random.Generator, count: int,
           go_on: Callable[[], bool]) -> Iterator[Look]:
    """At most `count` four-bars through all wished places; the last one meets them in order,
    in one swing of its crank and keeping what must hold, unless none was found."""
    goals = plain.goals
    placed = all(isinstance(wish, WantedPath) and wish.curve == "places"
                 for wish in goals.wishes)
    if not task.rocks or not placed or plain.nodes["tip"] < 0 or goals.timed.any():
        return
    best, given = np.inf, 0
    for bar in in_one_assembly(_places(goals, 0), random, go_on):
        place = task.freedom.net.place.copy()
        for name, at in (("shaft", bar.o2), ("throw", bar.a), ("elbow", bar.b),
                         ("pivot", bar.o4), ("tip", bar.p)):
            place[plain.nodes[name]] = at
        look = begin(task, toward(task, place))
        if look is not None and look.cost < best:
            yield look
            best, given = look.cost, given + 1
        if best < EXACT or given == count:
            return


def _several(task: Task, plain: Plain, here: dict[str, complex], limits: Limits,
             random: np.random.Generator, go_on: Callable[[], bool]
             ) -> tuple[Mechanisms, Floats, Floats]:
    """Batches of random four-bars let down to the wishes, until the best was come to a few
    times: the distinct good ones, their costs, and how late their cranks read, rad."""
    recipe = FAMILIES["four-bar"].recipe
    funnel = FREE if plain.goals.free.any() else TIMED
    kept: list[Mechanisms] = []
    costs, late = np.empty((2, 0))
    for _ in range(BATCHES):
        count = funnel[0][0]
        known = _known(task, plain, here, random, count // 2) if funnel is FREE else None
        batch = _placed(task, FAMILIES["four-bar"], plain, here, random,
                        count - (0 if known is None else len(known)))
        batch = batch if known is None else joined([known, batch])
        for some, rounds in funnel:
            found = descend(recipe, batch[:some], plain.goals, plain.view, limits,
                            rounds=rounds, report=lambda _: go_on())
            batch = found.mechanisms[found.order()]
        good = found.good & np.isfinite(found.cost)
        near = found.cost[good]
        kept.append(found.mechanisms[good])
        costs, late = np.append(costs, near), np.append(late, found.offset_rad[good])
        least = float(costs.min(initial=np.inf))
        if not go_on() or least < EXACT or int((costs < (1.0 + NEAR) * least).sum()) >= AGAIN:
            break
    order = np.argsort(costs, kind="stable")
    apart = [at for k, at in enumerate(order)
             if not k or costs[at] > (1.0 + SAME) * costs[order[k - 1]] + EXACT]
    return joined(kept)[np.array(apart, np.intp)], costs[apart], late[apart]


def _pointing(task: Task, found: Mechanisms, late: Floats) -> Complexes:
    """(M,) unit directions, from the axis of the coupler, that suit the wished poses."""
    poses = [wish for wish in task.wishes if isinstance(wish, WantedPose)]
    crank = np.radians([pose.crank_deg for pose in poses]) + late[:, None]
    wanted = np.radians([pose.angle_deg for pose in poses])
    axis = run(FAMILIES["four-bar"].recipe, found, crank, derive=False).angle("coupler")
    mean = np.exp(1j * (wanted - axis)).mean(axis=1)
    return np.asarray(mean / np.abs(mean))


def plain_four_bar(task: Task) -> Plain | None:
    """The four-bar a sketch is; None when it is anything else, when another of its pins
    than the crank's pivot is held, or when its readings are tied to the arm otherwise."""
    sketch, net = task.sketch, task.freedom.net
    plan = plan_of(sketch)
    drive = sketch.drive
    if drive is None or drive.kind != "turn" or plan.network.bodies != 4 or plan.spare \
            or [block.kind for block in plan.blocks] != ["pair"] or sketch.twins \
            or len(sketch.pins) != 4 or sketch.slides or sketch.slots:
        return None
    crank = plan.network.crank
    on: dict[frozenset[int], int] = {}
    for pin in plan.network.pins:
        row, at = plan.network.points[pin.ends[0].slot]
        part = sketch.parts[row]
        on[frozenset(end.body for end in pin.ends)] = net.of[f"{part.id}.{part.points[at].id}"]
    beside = [next(iter(pair - {crank})) for pair in on if crank in pair and GROUND not in pair]
    if len(on) != 4 or any(len(pair) != 2 for pair in on) or len(beside) != 1:
        return None
    coupler = beside[0]
    rocker = next(body for body in range(1, 4) if body not in (crank, coupler))
    pairs = {"shaft": {GROUND, crank}, "throw": {crank, coupler}, "elbow": {coupler, rocker},
             "pivot": {rocker, GROUND}}
    if any(frozenset(pair) not in on for pair in pairs.values()):
        return None
    nodes = {name: on[frozenset(pair)] for name, pair in pairs.items()}
    bodies = dict(zip(plan.network.part_ids, plan.network.body_of, strict=True))
    names = {crank: "crank", coupler: "coupler", rocker: "rocker"}
    axes = {"crank": ("shaft", "throw"), "coupler": ("throw", "elbow"),
            "rocker": ("pivot", "elbow")}
    view: list[tuple[str, str]] = []
    tips: set[int] = set()
    goals, shown = _open(task)
    for channel in goals.channels:
        if not channel.ref and shown:
            tips.add(net.of[shown[0]])
            view.append(("point", "tip") if channel.kind == "point" else ("angle", "coupler"))
            continue
        body = bodies[part_of(channel.ref) if channel.kind == "point" else channel.ref]
        if channel.kind == "point":
            tips.add(net.of[channel.ref])
            if body != coupler:
                return None
            view.append(("point", "tip"))
        elif body in names and _along(channel, axes[names[body]], nodes, net.of):
            view.append(("angle", names[body]))
        else:
            return None
    if len(tips) > 1 or tips & set(nodes.values()) or task.freedom.held[
            [nodes["throw"], nodes["elbow"], nodes["pivot"], *tips]].any():
        return None
    if not sketch.fit.start_free and task.goals.timed.any():
        way = np.angle(net.place[nodes["throw"]] - net.place[nodes["shaft"]])
        if abs(np.angle(np.exp(1j * (way - np.radians(drive.drawn_deg))))) > 1e-9:
            return None
    toward = net.of[shown[1]] if shown else -1
    if shown and (task.freedom.held[toward] or toward in (*nodes.values(), *tips)
                  or bodies[part_of(shown[0])] != coupler):
        return None
    return Plain({**nodes, "tip": tips.pop() if tips else -1}, goals,
                 tuple(view), toward)  # type: ignore[arg-type]


def _open(task: Task) -> tuple[Goals, tuple[str, str] | None]:
    """The goals, with poses that speak of one point and one direction attached to none;
    and those two points."""
    poses = {(wish.at, wish.toward) for wish in task.wishes if isinstance(wish, WantedPose)}
    if len(poses) != 1:
        return task.goals, None
    loose = tuple(replace(wish, at="", toward="") if isinstance(wish, WantedPose) else wish
                  for wish in task.wishes)
    return task.compiled(loose), poses.pop()


def _along(channel: Channel, axis: tuple[str, str], nodes: dict[str, int],
           of: dict[str, int]) -> bool:
    """Whether an angle is that of a link's axis, or only its changes count."""
    return not channel.line or tuple(of[ref] for ref in channel.line) == tuple(
        nodes[name] for name in axis)


def _known(task: Task, plain: Plain, here: dict[str, complex], random: np.random.Generator,
           count: int) -> Mechanisms | None:
    """Four-bars of the atlas that draw something like the wished path; None where no path
    is wished, or there is no atlas."""
    family, goals = FAMILIES["four-bar"], plain.goals
    if not any(isinstance(wish, WantedPath) for wish in goals.wishes):
        return None
    angles = [channel.of for channel in goals.channels if channel.kind == "angle"]
    bodies = tuple(name for kind, name in plain.view if kind == "angle")
    try:
        asks = asked(goals.wishes, angles, sense=goals.sense, start_free=goals.start_free)
        near = neighbours(family, asks, bodies, count, home=here["shaft"], rng=random)
    except CrankwrightError:
        return None
    found = near.mechanisms
    if not task.freedom.held[plain.nodes["shaft"]]:
        return found
    pivot = found.params[:, 0] + 1j * found.params[:, 1]
    return moved(family.recipe, found, 1.0, here["shaft"] - pivot)


def _placed(task: Task, family: Family, plain: Plain, here: dict[str, complex],
            random: np.random.Generator, count: int) -> Mechanisms:
    """Random four-bars turned any way, about as large as what is wanted, about there; with
    the crank's pivot where it is held."""
    batch = family.sample(random, count)
    goals = plain.goals
    point = [number for number, channel in enumerate(goals.channels)
             if channel.kind == "point"]
    turn = np.exp(2j * np.pi * random.uniform(size=count))
    if point:
        goal = _places(goals, point[0])
        if not goal.size:
            goal = np.array([here["tip"]])
        seen = np.asarray(watch(family.recipe, batch, plain.view).dense.values[point[0]])
        size = float(np.abs(goal - goal.mean()).max()) or task.freedom.size_mm
        spread = np.abs(seen - seen.mean(axis=1, keepdims=True)).max(axis=1)
        turn = turn * size / spread * np.exp(random.uniform(-0.3, 1.2, count))
        shift = goal.mean() - turn * seen.mean(axis=1)
    else:
        turn = turn * abs(here["throw"] - here["shaft"])
        shift = np.full(count, here["shaft"])
    if task.freedom.held[plain.nodes["shaft"]]:
        shift = np.full(count, here["shaft"])
    return moved(family.recipe, batch, turn, shift)


def _places(goals: Goals, channel: int) -> Complexes:
    """The places wished of a channel: of paths, poses and the ends of strokes; rests and time
    ratios speak of none."""
    at = goals.row_sample[(goals.row_group < 0) & (goals.row_scale > 0.0)]
    ends = np.array([each.sample for each in goals.extremes], np.intp)
    spoken = goals.timed[at] | goals.free[at] | np.isin(at, ends)
    found: Complexes = goals.target[np.unique(at[spoken & (goals.channel[at] == channel)])]
    return found
