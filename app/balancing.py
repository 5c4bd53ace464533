"""The command ``balance``: weights, springs and gear steps that make a crank pleasant."""

from __future__ import annotations

import argparse
import math
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from app.headless import as_json
from app.searching import count, searching
from core.errors import SketchError, UnitError
from core.files import load, save
from core.model import Sketch
from core.units import parse_length, parse_mass, show_force, show_torque

if TYPE_CHECKING:
    from core.pleasant import Advice, Lanes, Options, Proposal

AIMS = ("peak", "ripple", "steady", "weighted")
#: More pieces than this nobody builds into one machine to balance it.
MOST_PIECES = 6


def arguments(parser: argparse.ArgumentParser) -> None:
    """What the command takes."""
    parser.add_argument("file", metavar="FILE", help="the sketch")
    parser.add_argument("-o", "--out", metavar="OUT", help="where to write the sketch with the "
                        "best proposal in it (default: only tell)")
    parser.add_argument("--take", type=count(99, 1), metavar="N", help="write proposal number "
                        "N of the list instead of the best")
    parser.add_argument("--aim", choices=AIMS, default="peak", help="what to make small: the "
                        "hardest push or pull (peak, the default), the difference between most "
                        "and least (ripple), first running away and then the peak (steady), or "
                        "some of each (weighted)")
    parser.add_argument("--weights", nargs="+", action="extend", default=[],
                        metavar="PART[:REACH[:MASS]]",
                        help="the only parts that may bear a weight (default: all that move), "
                        "each with how far out and how heavy, such as neck:80mm:60g")
    parser.add_argument("--reach", type=_reach, metavar="LENGTH", help="how far from its "
                        "fixed pivot a weight may be on a tail added to a part; 0: no tails "
                        "(default: as far as the part itself reaches)")
    parser.add_argument("--heaviest", type=_mass, metavar="MASS",
                        help="the heaviest single weight, such as 80g (default 250 g, more "
                        "for a heavy machine)")
    parser.add_argument("--coins", choices=("euro", "dollar"), action="append", default=[],
                        help="coins may be let in as weights, besides what a workshop has")
    parser.add_argument("--no-weights", action="store_true", help="no weights")
    parser.add_argument("--springs", choices=("both", "straight", "torsion", "no"),
                        default="both", help="which springs may be used (default both)")
    parser.add_argument("--no-gear", action="store_true",
                        help="no gear step between handle and crank")
    parser.add_argument("--no-flywheel", action="store_true", help="no flywheel")
    parser.add_argument("--pieces", type=count(MOST_PIECES, 1), metavar="N",
                        help="at most so many weights, or springs, in one proposal")
    parser.add_argument("--json", action="store_true", help="print the result as JSON")


def _reach(text: str) -> float:
    value = _read(parse_length, text)
    if not 0.0 <= value <= 10_000.0:
        raise argparse.ArgumentTypeError("give a length from 0 to 10 m")
    return value


def _mass(text: str) -> float:
    value = _read(parse_mass, text)
    if not 0.0 < value <= 100.0:
        raise argparse.ArgumentTypeError("give a mass above 0, up to 100 kg, such as 80g")
    return value


def _read(parse: Callable[[str], float], text: str) -> float:
    try:
        return parse(text)
    except UnitError as error:
        raise argparse.ArgumentTypeError(str(error).rstrip(".")) from None


def command(given: argparse.Namespace) -> int:
    """Advise, tell, and write; 0 when something makes the crank more pleasant, 1 when nothing
    that is allowed does. The first Ctrl+C stops and keeps the best so far."""
    from core.pleasant import advise
    from core.pleasant.choosing import best

    name = Path(given.file).name
    sketch = load(given.file)
    options = options_of(given, sketch)
    with searching(name) as going:
        advice = advise(sketch, options, report=lambda _: going())
    chosen = best(advice.proposals) if given.take is None else _numbered(advice, given.take)
    if given.out is not None and chosen is not None:
        save(chosen.sketch, given.out)
    print(as_json(report(advice, options, chosen)) if given.json else
          text(advice, options, chosen))
    return 0 if chosen is not None else 1


def options_of(given: argparse.Namespace, sketch: Sketch) -> Options:
    """What the command line allows; raises SketchError for a part that cannot bear a
    weight."""
    from dataclasses import replace

    from core.pleasant import Kind, Options, SpringRules, WeightRules
    from core.pleasant.coins import coins

    each = [bearing(sketch, text) for text in given.weights]
    weights, springs = WeightRules(
        parts=tuple(name for name, _, _ in each),
        each=tuple(one for one in each if one[1:] != (None, None))), SpringRules()
    if given.reach is not None:
        weights = replace(weights, reach_mm=given.reach)
    if given.heaviest is not None:
        weights = replace(weights, most_kg=given.heaviest)
    weights = replace(weights, own=tuple(one for money in given.coins for one in coins(money)))
    if given.pieces is not None:
        weights, springs = replace(weights, most=given.pieces), replace(
            springs, most=given.pieces)
    allowed: dict[Kind, bool] = {
        "weights": not given.no_weights, "springs": given.springs in ("both", "straight"),
        "torsion": given.springs in ("both", "torsion"), "gears": not given.no_gear,
        "flywheel": not given.no_flywheel}
    kinds = tuple(kind for kind, yes in allowed.items() if yes)
    if not kinds:
        raise SketchError("everything is forbidden", where="--no-weights …",
                          mend="leave out one of the options that forbid")
    return Options(given.aim, kinds, weights, springs)


def bearing(sketch: Sketch, text: str) -> tuple[str, float | None, float | None]:
    """A part that may bear weights, how far out (mm) and how heavy (kg), from
    ``PART[:REACH[:MASS]]``; a name with a colon in it is taken whole where there is such a
    part. Raises SketchError."""
    known = {part.id: part for part in sketch.parts}
    name, more = text, list[str]()
    while name not in known and ":" in name and len(more) < 2:
        name, _, last = name.rpartition(":")
        more.insert(0, last)
    if name not in known:
        raise SketchError(f"there is no part {text!r}", where="--weights",
                          mend="name parts as in the sketch, such as crank or crank:80mm:60g")
    if known[name].fixed:
        raise SketchError(f"{name!r} belongs to the frame and never moves",
                          where="--weights", mend="name parts that move")
    try:
        reach = _reach(more[0]) if more and more[0] else None
        return name, reach, _mass(more[1]) if len(more) > 1 else None
    except argparse.ArgumentTypeError as error:
        raise SketchError(str(error), where=f"--weights {text}",
                          mend="write it like crank:80mm:60g") from None


def _numbered(advice: Advice, number: int) -> Proposal | None:
    """Proposal number `number`, from 1; None when there are none at all."""
    if advice.proposals and number > len(advice.proposals):
        raise SketchError(f"there is no proposal {number}", where="--take",
                          mend=f"give a number from 1 to {len(advice.proposals)}")
    return advice.proposals[number - 1] if advice.proposals else None


def report(advice: Advice, options: Options, chosen: Proposal | None) -> dict[str, Any]:
    """The result as plain data: torques in N·m at the crank, pushes in N at the grip."""
    value = advice.before.value(options.wanted)
    return {
        "aim": options.aim, "stopped": advice.stopped,
        "before": {**_peaks(advice.before), "push_n": _peak(advice.push_before_n),
                   "value_nm": value / 1e3},
        "proposals": [{
            "kind": one.kind, "title": one.title, "parts": list(one.parts),
            **_values(one),
            "optimum_nm": _known(one.plain_nmm), "bound_nm": _known(one.bound_nmm),
            **_peaks(one.after), "push_n": _peak(one.push_after_n), "gain": one.gain,
            "added_kg": one.added_kg, "turns": one.turns, "words": list(one.words),
        } for one in advice.proposals],
        "declined": [{"kind": one.kind, "words": one.words} for one in advice.declined],
        "chosen": next((at for at, one in enumerate(advice.proposals, 1) if one is chosen),
                       None),
    }


def _values(one: Proposal) -> dict[str, float | None]:
    """What the aim makes small, where the proposal changes the torque at the crank, and the
    swing of the speed for a flywheel; a gear step has its push."""
    from core.pleasant.choosing import AT_THE_CRANK

    at_crank, wheel = one.kind in AT_THE_CRANK, one.kind == "flywheel"
    return {"value_before_nm": one.value_before / 1e3 if at_crank else None,
            "value_after_nm": one.value_after / 1e3 if at_crank else None,
            "speed_swing_before": _finite(one.value_before) if wheel else None,
            "speed_swing_after": _finite(one.value_after) if wheel else None}


def _peaks(lanes: Lanes) -> dict[str, float]:
    return {"peak_nm": lanes.peak_nmm / 1e3, "peak_with_friction_nm": lanes.peak_high_nmm / 1e3,
            "least_nm": lanes.least_nmm / 1e3}


def _known(nmm: float) -> float | None:
    return _finite(nmm / 1e3)


def _finite(value: float) -> float | None:
    return value if math.isfinite(value) else None


def _peak(push: Any) -> float:
    return float(np.nanmax(np.abs(push)))


def text(advice: Advice, options: Options, chosen: Proposal | None) -> str:
    """The result for a person to read."""
    from core.pleasant.choosing import AT_THE_CRANK

    units = advice.sketch.units

    def torque(nmm: float, one: Proposal | None = None) -> str:
        told = math.isfinite(nmm) and (one is None or one.kind in AT_THE_CRANK)
        return show_torque(nmm, units) if told else "–"

    rows = [("", "what", "before", "after", "proved bound", "push before", "push after")]
    rows += [(f"{'*' if one is chosen else ' '}{at}", one.title, torque(one.value_before, one),
              torque(one.value_after, one), torque(one.bound_nmm),
              show_force(_peak(one.push_before_n), units),
              show_force(_peak(one.push_after_n), units))
             for at, one in enumerate(advice.proposals, 1)]
    lines: list[str] = []
    if advice.proposals:
        widths = [max(len(row[column]) for row in rows) for column in range(7)]
        lines += ["  ".join([row[0].ljust(widths[0]), row[1].ljust(widths[1]), *(
            row[k].rjust(widths[k]) for k in range(2, 7))]).rstrip() for row in rows]
        lines.append("")
    for at, one in enumerate(advice.proposals, 1):
        lines += [f"{at}. {one.title}.", *(f"   {word}" for word in one.words), ""]
    lines += [f"Not proposed: {one.words}" for one in advice.declined]
    if advice.stopped:
        lines.append("Stopped; this is the best so far.")
    if chosen is None:
        peak = torque(advice.before.value(options.wanted))
        lines.append(f"Nothing that is allowed makes this crank more pleasant; it asks for"
                     f" {peak} as it is.")
    return "\n".join(lines).rstrip()
