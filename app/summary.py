"""The whole turn and its findings as plain text, for a terminal."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from core.motion.turn import Floats
from core.study import Study, report
from core.units import MM_PER_INCH, NMM_PER_LBF_IN, show_angle, show_torque

#: Rows and traced points that a person reads in a terminal.
_ROWS, _TRACES = 24, 3


def finding_line(one: dict[str, Any]) -> str:
    """A finding of the report in one line: grade, code, what, where in the turn, mend."""
    told = one["crank_deg"] is None or "°" in one["text"]
    at = "" if told else f" (crank at {show_angle(one['crank_deg'])})"
    mend = f" {one['mend']}" if one["mend"] else ""
    return f"{one['grade']:<8} {one['code']}: {one['text']}{at}{mend}"


def summary(whole: Study) -> str:
    """What limits the turn, then a row every so many steps. The study must have a turn."""
    assert whole.turn is not None
    about, units = report(whole), whole.sketch.units
    title = about["title"] or "A sketch without a title"
    lines = [title, _reach(about)]
    in_inches = units == "in"
    table = {"crank °": _column(np.degrees(whole.turn.crank_rad), 1)}
    if whole.effort is not None:
        peak = about["torque"]
        lines.append(f"Hardest at {show_angle(peak['peak_at_deg'])}: "
                     f"{show_torque(peak['peak_nm'] * 1000, units)}.")
        shown = whole.effort.torque_nmm / (NMM_PER_LBF_IN if in_inches else 1000)
        table["torque lbf·in" if in_inches else "torque N·m"] = _column(shown, _places(shown))
    traced = [f"{part.id}.{point.id}" for part in whole.sketch.parts
              for point in part.points if point.trace]
    for ref in traced[:_TRACES]:
        path = whole.turn.path(ref) / (MM_PER_INCH if in_inches else 1)
        for axis, name in enumerate("xy"):
            table[f"{ref} {name} {units}"] = _column(path[:, axis], 3 if in_inches else 2)
    return "\n".join([*lines, "", *_set_right(table)])


def _column(values: Floats, places: int) -> list[str]:
    """Every so many values, all to the same number of places; a dash for NaN."""
    stride = max(1, math.ceil(len(values) / _ROWS))
    rounded = np.round(values[::stride], places) + 0.0  # no −0
    return [f"{value:.{places}f}" if math.isfinite(value) else "–" for value in rounded]


def _places(values: Floats) -> int:
    """Places that show the largest of the values to four figures."""
    most = float(np.nanmax(np.abs(values), initial=0.0))
    return min(max(3 - math.floor(math.log10(most)), 0), 6) if most > 0 else 0


def _reach(about: dict[str, Any]) -> str:
    if about["goes_round"]:
        turns = about["crank_turns"]
        return ("Goes all round and repeats after "
                + ("one crank turn." if turns == 1 else f"{turns} crank turns."))
    stops = [show_angle(limit["crank_deg"]) for limit in about["limits"]]
    return "Does not go all round" + (f": the crank stops at {' and '.join(stops)}." if stops
                                      else ".")


def _set_right(table: dict[str, list[str]]) -> list[str]:
    """Columns set right, as wide as they need."""
    columns = [[head, *column] for head, column in table.items()]
    widths = [max(map(len, column)) for column in columns]
    return ["  ".join(cell.rjust(width) for cell, width in zip(row, widths, strict=True))
            for row in zip(*columns, strict=True)]
