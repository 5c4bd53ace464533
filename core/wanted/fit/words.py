"""What a fit came to, in plain words: what is missed, and what holds it back."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import msgspec
import numpy as np
from numpy.typing import NDArray

from core.model import Sketch, join_ref, split_ref
from core.motion import Turn, sensitivity, transmission
from core.wanted.fit.beginnings import begin, toward
from core.wanted.fit.descent import Place, descend
from core.wanted.fit.holds import LOCKED
from core.wanted.fit.looking import Look, Task, task
from core.wanted.fit.rocking import goes, of_whole_turn
from core.wanted.fit.seeing import pose_of, seen_at
from core.wanted.measure import Met, measure, overall
from core.wording import listed

replace = msgspec.structs.replace
Floats = NDArray[np.float64]

#: Steps of a short fit without a bound, to say what it costs.
TRIED = 40
#: A bound is named when the error (tolerances) falls by at least this share without it.
WORTH = 0.05
#: So many bounds are tried, the dearest first.
MOST_NAMED = 4
#: What is so near to its bound, by the sketch's size, is at it.
AT_BOUND = 1e-6
#: What stands for the smallest transmission angle wanted.
TRANSMISSION = "transmission angle"
#: Wishes pull against each other when the others' error falls to this share without one.
FREED = 0.5


def words(work: Task, place: Place | None, turn: Turn, mets: Sequence[Met], *, kept: bool,
          stopped: bool) -> tuple[str, ...]:
    """One sentence each: how the wishes are met, what is in the way, what else to know.

    `place` is where the fit came to, None when the sketch stays as it was; `turn` and
    `mets` belong to the result.
    """
    said: list[str] = []
    mine = {wish.id for wish in work.wishes}
    missed = sorted((met for met in mets if met.wish in mine and not met.met),
                    key=lambda met: -met.worst / max(met.tolerance, 1e-12))
    if stopped:
        said.append("The fit was stopped; this is the best so far.")
    if not goes(turn):
        said.append("The crank does not go all the way.")
    said += _rocks(work, turn)
    if place is None:
        said.append("Nothing better was found; the sketch stays as it was.")
    if missed:
        said.append(_sentence(missed[0].text))
        if len(missed) > 1:
            said.append(f"{len(missed)} of {len(mine)} wishes are missed.")
    else:
        said.append("Every wish is met." if len(mine) > 1 else "The wish is met.")
    left = len(work.sketch.wanted) - len(mine)
    if left:
        said.append(f"{left} {'wish is' if left == 1 else 'wishes are'} attached to no point"
                    " or part, and did not count.")
    if not kept:
        said.append("What must hold (locked lengths, rules, bounds, regions) does not.")
    if place is not None:
        said += _over(work, place)
        if missed and not stopped:
            said += _in_the_way(work, place)
            said += _against(work, place, turn, [met.wish for met in missed])
    said += _poor(work.sketch, turn)
    return tuple(said)


def _rocks(work: Task, turn: Turn) -> Iterator[str]:
    """Of a crank that may rock: between which readings it does, or why not."""
    if not work.sketch.fit.rocking:
        return
    drive, whole = turn.sketch.drive, of_whole_turn(work.wishes)
    if whole:
        speak = "speaks" if len(whole) == 1 else "speak"
        yield (f"The crank may rock, but {listed(whole)} {speak} of its whole turn, so it "
               "goes round.")
    elif drive is not None and drive.kind == "rock":
        yield (f"The crank rocks between {drive.from_deg:.1f}° and {drive.to_deg:.1f}°, a "
               f"swing of {drive.to_deg - drive.from_deg:.1f}°; it need not go round.")
    elif goes(turn):
        yield "The crank goes all the way round; it need not rock."


def _sentence(text: str) -> str:
    text = text[:1].upper() + text[1:]
    return text if text.endswith(".") else text + "."


def _over(work: Task, place: Place) -> Iterator[str]:
    rows = place.look.penalty
    worst: dict[int, tuple[float, float]] = {}
    zones = rows.causes[len(rows.value):]
    for off, cause in zip(rows.over, zones, strict=True):
        if off > 1e-6 and off > worst.get(cause.number, (0.0, 0.0))[0]:
            worst[cause.number] = (float(off), cause.crank_rad)
    for number, (off, crank) in worst.items():
        zone, ref = work.penalties.zones[number]
        where = "leaves" if zone.keep == "in" else "enters"
        yield (f"{ref} {where} the region {zone.id} by {off:.2g} mm at "
               f"{math.degrees(crank):.0f}°.")


def _in_the_way(work: Task, place: Place) -> Iterator[str]:
    """Bounds, rules and locks without which the error would fall, the dearest first."""
    now = _error(work, place.look)
    for label, source in _pressing(work, place)[:MOST_NAMED]:
        other = task(without(work.sketch, source), work.wishes)
        free = _short(other, work, place.look)
        if free < (1.0 - WORTH) * now:
            yield (f"{_sentence(label)[:-1]} holds it back: without it the error falls from "
                   f"{now:.3g} to about {free:.2g} tolerances.")
    ref = _dearest_lock(work, place.look)
    if ref:
        free = _unlocked(work, place.look, ref)
        if free < (1.0 - WORTH) * now:
            yield (f"{ref} is locked in place: were it free the error would fall from "
                   f"{now:.3g} to about {free:.2g} tolerances.")


def _against(work: Task, place: Place, turn: Turn, missed: Sequence[str]) -> Iterator[str]:
    """That a wish, missed most of several, keeps another from being met."""
    worst, others = missed[0], missed[1:]
    if not others:
        return
    rest = tuple(wish for wish in work.wishes if wish.id in others)
    one = task(replace(work.sketch, wanted=rest), rest)
    now = overall((met for met in measure(turn) if met.wish in others), one.sketch)
    free = _short(one, work, place.look)
    if free < FREED * now:
        yield (f"The wishes pull against each other: without {worst}, {listed(others)} would "
               f"fall from {now:.3g} to about {free:.2g} tolerances.")


def _error(work: Task, look: Look) -> float:
    return math.sqrt(look.missed / work.goals.weight)


def _pressing(work: Task, place: Place) -> list[tuple[str, str]]:
    """Label and source of what holds the fit back, by the multipliers of the last step;
    then what is at its bound, equations that can be given up, and the other bounds: a
    descent may have ended elsewhere for their sake."""
    below = [hold for hold in work.holds if not hold.equal]
    zones = [work.penalties.zones[cause.number][0].id for cause in place.look.penalty.causes
             if cause.kind == "zone"]
    named = [(hold.label, hold.source) for hold in below]
    named += [(f"the region {zone}", zone) for zone in zones]
    found: dict[str, str] = {}
    if any(cause.kind == "transmission" and cause.slope for cause in place.look.penalty.causes):
        found[TRANSMISSION] = (f"the wish for a transmission angle of "
                               f"{work.sketch.fit.transmission_deg:.0f}°")
    for at in np.argsort(-place.multipliers[:len(named)]):
        label, source = named[at]
        if place.multipliers[at] > 0.0 and source:
            found.setdefault(source, label)
    _, _, g, _ = work.held(place.look.w)
    near = -AT_BOUND * work.freedom.size_mm
    for (label, source), value in zip(named, [*g, *place.look.penalty.over], strict=True):
        if value > near and source:
            found.setdefault(source, label)
    for hold in work.holds:
        if hold.equal and hold.source:
            found.setdefault(hold.source, hold.label)
    for label, source in named:
        if source:
            found.setdefault(source, label)
    return [(label, source) for source, label in found.items()]


def without(sketch: Sketch, source: str) -> Sketch:
    """The sketch without a rule, a zone, one of the bounds on all links, the wish for a good
    transmission angle, or the lock on the lengths of a part."""
    rules = sketch.fit
    if source in ("longest", "shortest"):
        rules = replace(rules, **{f"{source}_mm": None})
    if source == TRANSMISSION:
        rules = replace(rules, transmission_deg=0.0)
    parts = tuple(replace(part, lengths_locked=False) if source == f"{LOCKED}{part.id}"
                  else part for part in sketch.parts)
    return replace(
        sketch, fit=rules, parts=parts,
        zones=tuple(zone for zone in sketch.zones if zone.id != source),
        length_rules=tuple(rule for rule in sketch.length_rules if rule.id != source))


def _unlocked(work: Task, look: Look, ref: str) -> float:
    """The error a short fit comes to with one more point free."""
    node = work.freedom.net.of[ref]
    refs = {name for name, at in work.freedom.net.of.items() if at == node}
    parts = tuple(replace(part, points=tuple(
        replace(point, locked=False) if join_ref(part.id, point.id) in refs else point
        for point in part.points)) for part in work.sketch.parts)
    rules = work.sketch.fit
    free = rules.free and (*rules.free, ref)
    other = task(replace(work.sketch, parts=parts, fit=replace(rules, free=free)), work.wishes)
    return _short(other, work, look)


def _short(other: Task, work: Task, look: Look) -> float:
    """The error a short fit of another task comes to from where a fit came to; cut shorter
    when that is stopped."""
    begun = begin(other, toward(other, work.freedom.places(look.w)))
    if begun is None:
        return math.inf
    least = _error(other, begun)
    for place in descend(other, begun, TRIED):
        least = min(least, _error(other, place.look))
        if not work.go_on():
            break
    return least


def _dearest_lock(work: Task, look: Look) -> str:
    """The held point whose move would lower the error fastest; "" when none is held."""
    net = work.freedom.net
    held = work.freedom.spoken & work.freedom.held
    refs: dict[int, list[str]] = {}
    for ref, node in net.of.items():
        if held[node]:
            refs.setdefault(node, []).append(ref)
    if not refs:
        return ""
    ends = {node for line in net.lines for node in line[1:]}
    nodes = [node for node in refs if node not in ends] or list(refs)
    moves = [dict.fromkeys(refs[node], way) for node in nodes for way in (1 + 0j, 1j)]
    pose = pose_of(look.turn, look.instants)
    seen = seen_at(pose, work.goals.channels, look.instants, sensitivity(pose, moves))
    _, jacobian = work.goals.residuals(look.instants, seen)
    assert jacobian is not None
    pull = (jacobian[0].T @ look.r).reshape(-1, 2)
    return min(refs[nodes[int(np.argmax((pull**2).sum(axis=1)))]],
               key=lambda ref: (not work.sketch.part(split_ref(ref)[0]).fixed, ref))


def _poor(sketch: Sketch, turn: Turn) -> Iterator[str]:
    """The smallest transmission angle, when it is below the limit."""
    limit = sketch.fit.transmission_deg
    groups = [group for group in transmission(turn) if group.kind != "newton"]
    lows = [(math.degrees(float(np.nanmin(group.angle_rad))), group) for group in groups
            if np.isfinite(group.angle_rad).any()]
    if not limit or not lows:
        return
    least, group = min(lows, key=lambda low: low[0])
    if least < limit - 0.5:
        crank = math.degrees(turn.crank_rad[int(np.nanargmin(group.angle_rad))])
        yield (f"The transmission angle of {' and '.join(group.parts)} falls to {least:.0f}°"
               f" at {crank:.0f}°; {limit:.0f}° or more is wanted.")
