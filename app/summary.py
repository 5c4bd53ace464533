"""The whole turn and its findings as plain text, for a terminal."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from core.study import Study, report
from core.units import show_angle, show_length, show_torque

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
    stride = max(1, math.ceil(len(whole.turn.crank_rad) / _ROWS))
    table = {"crank": [show_angle(a) for a in np.degrees(whole.turn.crank_rad[::stride])]}
    lines = [title, _reach(about)]
    if whole.effort is not None:
        peak = about["torque"]
        lines.append(f"Hardest at {show_angle(peak['peak_at_deg'])}: "
                     f"{show_torque(peak['peak_nm'] * 1000, units)}.")
        table["torque"] = [show_torque(t, units) for t in whole.effort.torque_nmm[::stride]]
    traced = [f"{part.id}.{point.id}" for part in whole.sketch.parts
              for point in part.points if point.trace]
    for ref in traced[:_TRACES]:
        path = whole.turn.path(ref)[::stride]
        for axis, name in enumerate("xy"):
            table[f"{ref} {name}"] = [show_length(value, units) for value in path[:, axis]]
    return "\n".join([*lines, "", *_set_right(table)])


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
