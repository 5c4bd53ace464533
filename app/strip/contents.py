"""What each lane shows of a study."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from functools import partial
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from app.session import Session
from app.strip.lane import Lane
from core import units

if TYPE_CHECKING:
    from core.study import Study
    from core.wanted.measure import Met

Floats = NDArray[np.float64]
Show = Callable[[float, str], str]
#: What a wish asks at single crank angles is drawn as dashes so wide.
DASH_DEG = 3.0


def in_units(show: Show, one: float, shown: str, value: float) -> str:
    """`value` counts units of `one`; `show` wants the inside unit."""
    return show(value * one, shown)


def _body(name: str) -> str:
    """A part or rod in words: the rod of "pin 2" is no "pin pin 2"."""
    return name.removeprefix("pin ") if name.lower().startswith("pin pin") else name


def _pace(mm_s: float, shown: str) -> str:
    return f"{units.show_length(mm_s, shown)}/s"


def gap(lane: Lane, study: Study, session: Session, deg: Floats) -> None:
    """The smallest gap between any two parts of one layer, and the gap wanted."""
    gaps = study.gaps
    if gaps is None or not gaps.pairs:
        lane.clear("" if gaps is None else
                   f"nothing within {units.show_length(gaps.far_mm, study.sketch.units)}")
        return
    shown = study.sketch.units
    one = units.MM_PER_INCH if shown == "in" else 1.0
    lane.set_text(partial(in_units, units.show_length, one, shown))
    least = np.asarray(gaps.smallest_mm) / one
    wanted = study.sketch.gap_mm / one
    lane.level.setPos(wanted)
    lane.level.setVisible(True)
    lane.set_data(deg, least, keep=(0.0, 2 * wanted))
    worst = gaps.pairs[0]
    lane.more.setText(f"{_body(worst.a)} – {_body(worst.b)}")


def reaction(lane: Lane, study: Study, session: Session, deg: Floats) -> None:
    """Force at the selected pin, or at the joint that carries the most."""
    effort = study.effort
    loads = {} if effort is None else {
        joint: np.fmax.reduce(np.abs(np.asarray(forces)), axis=1)
        for joint, forces in effort.reactions.items() if np.asarray(forces).size
    }
    if not loads:
        lane.clear("needs a crank that turns" if effort is None else "")
        return
    chosen = next((name for _, name in sorted(session.selection) if name in loads), None)
    joint = chosen or max(loads, key=lambda name: _top(loads[name]))
    shown = study.sketch.units
    one = units.N_PER_LBF if shown == "in" else 1.0
    lane.set_text(partial(in_units, units.show_force, one, shown))
    lane.set_data(deg, loads[joint] / one, keep=(0.0,))
    lane.more.setText(joint if chosen else f"{joint} (the largest)")


def speed(lane: Lane, study: Study, session: Session, deg: Floats) -> None:
    """Speed of the selected point, or of the first traced one, at the set rpm."""
    refs = session.selected("point") or _moving(study, session)
    if study.rates is None or not refs:
        lane.clear("select a point" if study.rates is not None else "needs a crank that turns")
        return
    shown = study.sketch.units
    one = units.MM_PER_INCH if shown == "in" else 1.0
    lane.set_text(partial(in_units, _pace, one, shown))
    pace = np.hypot(*np.asarray(study.rates.velocity(refs[0])).T) / one
    lane.set_data(deg, pace, keep=(0.0,))
    lane.more.setText(refs[0])


def _moving(study: Study, session: Session) -> tuple[str, ...]:
    """Points of the selected moving parts, else the traced ones."""
    chosen = set(session.selected("part"))
    refs: Sequence[tuple[bool, str]] = [
        (point.trace, f"{part.id}.{point.id}") for part in study.sketch.parts
        if not part.fixed and (part.id in chosen or not chosen)
        for point in part.points
    ]
    traced = tuple(ref for trace, ref in refs if trace)
    return traced or (tuple(ref for _, ref in refs) if chosen else ())


def _top(values: Floats) -> float:
    fine = values[np.isfinite(values)]
    return float(fine.max()) if fine.size else -1.0


def miss(lane: Lane, study: Study, session: Session, deg: Floats) -> None:
    """How far off the selected wish is, in its own unit, or all of them, in tolerances."""
    mets = [met for met in study.wanted if met.lane is not None or met.unit]
    if not mets:
        lane.clear("nothing wanted is measured along the turn")
        return
    chosen = next((met for met in mets if met.wish in session.selected("wish")), None)
    if chosen is None and len(mets) == 1:
        chosen = mets[0]
    if chosen is None:
        lane.set_text("{:.3g} tolerances".format)
        off = np.fmax.reduce([_errors(met, deg) / met.tolerance for met in mets])
        lane.more.setText("worst of all, in tolerances")
        limit = 1.0
    else:
        shown = study.sketch.units
        one = units.MM_PER_INCH if shown == "in" and chosen.unit == "mm" else 1.0
        unit = chosen.unit
        lane.set_text(lambda value: units.show_error(value * one, unit, shown))
        off, limit = _errors(chosen, deg) / one, chosen.tolerance / one
        lane.more.setText(chosen.wish)
    lane.level.setPos(limit)
    lane.level.setVisible(True)
    lane.set_data(deg, off, keep=(0.0, 1.5 * limit))


def _errors(met: Met, deg: Floats) -> Floats:
    """(N,) the errors of a wish at the steps of the turn; of one that asks for single crank
    angles (places, poses) those at the steps about each."""
    if met.lane is not None:
        return met.lane
    lane = np.full(deg.size, np.nan)
    for at, error in zip(np.degrees(met.at_rad), met.errors, strict=True):
        if math.isfinite(error):
            near = np.abs(deg - at) <= DASH_DEG / 2
            lane[near] = np.fmax(lane[near], error)
    return lane
