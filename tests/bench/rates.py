"""How often fit and find get there: ``PYTHONPATH=.:tests python tests/bench/rates.py``.

Every published problem from twenty cold four-bars, and from its places alone with twenty
seeds, untimed ones also with a crank that may rock; judged by tests/problems.py and
tests/rocking.py. With ``--only shapes`` the shapes drawn by hand by every family. Prints
tables with medians of time; minutes, so no test. The figures in docs/wanted-motion.md are
from here.
"""

from __future__ import annotations

import argparse
import math
from collections.abc import Callable
from time import perf_counter

import msgspec
import numpy as np
from problems import PROBLEMS, PathProblem, Verdict, cold_four_bar, judge
from rocking import judge_rocking
from shapes import DRAWN, wish

from core.model import Sketch, WantedPath
from core.model.edits.fitting import let_rock
from core.wanted.families import FAMILIES
from core.wanted.find import find
from core.wanted.fit import fit


def by_fit(problem: PathProblem, seed: int) -> Verdict:
    return judge(problem, fit(cold_four_bar(problem, seed), seed=seed).sketch)


def by_rocking_fit(problem: PathProblem, seed: int) -> Verdict:
    """With a crank that may rock. Untimed places that can be met exactly are asked for to
    a hundred-millionth of the figure."""
    cold = let_rock(cold_four_bar(problem, seed), True)
    if problem.best < 1e-20:
        cold = msgspec.structs.replace(cold, wanted=tuple(
            msgspec.structs.replace(wish, tolerance_mm=wish.tolerance_mm / 100)
            if isinstance(wish, WantedPath) else wish for wish in cold.wanted))
    found = fit(cold, seed=seed).sketch
    if found.drive is None or found.drive.kind != "rock":
        return judge(problem, found)
    rocks = judge_rocking(problem, found)
    return Verdict(rocks.total, rocks.crank_rad, np.zeros(0), rocks.margin > 0)


def by_find(problem: PathProblem, seed: int) -> Verdict:
    """The best of the four-bars proposed."""
    found = find(problem.asked(Sketch()), seed=seed, families=("four-bar",))
    verdicts = []
    for proposal in found.proposals:
        wish = proposal.sketch.wanted[0]
        assert isinstance(wish, WantedPath)
        verdicts.append(judge(problem, proposal.sketch, wish.point))
    good = [each for each in verdicts if each.goes_round]
    return min(good or verdicts, key=lambda each: each.total)


def row(name: str, problem: PathProblem, way: Callable[[PathProblem, int], Verdict],
        seeds: int) -> str:
    totals, taken = [], []
    for seed in range(seeds):
        begun = perf_counter()
        verdict = way(problem, seed)
        taken.append(perf_counter() - begun)
        totals.append(verdict.total if verdict.goes_round else math.inf)
    reached = sum(each <= problem.bound for each in totals)
    return (f"{problem.id:<18}{name:<6}{reached:>3} of {seeds:<4}"
            f"best {min(totals):<12.6g} median {np.median(totals):<12.6g} "
            f"bound {problem.bound:<12.6g} {np.median(taken):5.2f} s")


def shape_row(name: str, family: str) -> str:
    """The best of one family for a drawn shape."""
    begun = perf_counter()
    found = find(Sketch(wanted=(wish(name),)), families=(family,))
    taken = perf_counter() - begun
    if not found.proposals:
        return f"{name:<14}{family:<22}none{'':<30}{taken:5.2f} s"
    best = found.proposals[0]
    return (f"{name:<14}{family:<22}rms {best.error:6.2f} mm  worst {best.worst_mm:6.2f} mm  "
            f"transmission {best.transmission_deg:4.0f}°  {taken:5.2f} s")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seeds", type=int, default=20)
    parser.add_argument("--only", choices=["fit", "find", "shapes", "rocking"])
    parser.add_argument("--problem", choices=[each.id for each in PROBLEMS])
    given = parser.parse_args()
    for problem in PROBLEMS:
        if given.problem in (None, problem.id):
            for name, way in (("fit", by_fit), ("find", by_find)):
                if given.only in (None, name):
                    print(row(name, problem, way, given.seeds), flush=True)
            if given.only in (None, "rocking") and not problem.crank_deg:
                print(row("rocks", problem, by_rocking_fit, given.seeds), flush=True)
    if given.only in (None, "shapes") and given.problem is None:
        for shape in DRAWN:
            for family in FAMILIES:
                print(shape_row(shape, family), flush=True)


if __name__ == "__main__":
    main()
