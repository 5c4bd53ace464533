"""Following a group's solution from the drawn pose, where nothing is known yet.

Wide steps of up to 10° lead along the branch (predictor and corrector; E. L. Allgower and
K. Georg, *Numerical Continuation Methods*); the samples they pass over are interpolated
and corrected all at once. Where that does not give a smooth row on the same branch, small
steps take over, sample by sample and halved where needed, until it locks or is smooth
again. The number of poses solved one at a time is bounded by :func:`most_poses`.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

from core.motion.branch import Branch
from core.motion.corrector import JUMP, close, correct, scale
from core.motion.fold import find_fold
from core.motion.plan import Block
from core.motion.state import State
from core.motion.system import System, system
from core.motion.turn import Floats

#: Longest wide step, rad.
WIDE = np.radians(10.0)
#: How often a small step is halved before the group counts as locked.
HALVINGS = 16
#: After so many failed steps on the way to a sample a lock is looked for.
SUSPECT = (0, 3, 6, 10)
#: Spacing (rad) of the places on either side of a touch that tell it from a lock.
SPACING = 0.005
#: Square roots of the shares of the way left, of steps towards a lock.
NEARER = (0.75, 0.5, 0.25, 0.1, 0.03, 0.01, 3e-3, 1e-3, 3e-4, 1e-4)
#: Margins below this are of groups that cannot be put together.
CANNOT = -1e-10
#: Shifts of so many times the size or the shift of the drawn pose are as good as infinite.
FAR = 1e4

Probe = Callable[[Floats, Block], State]


def most_poses(span: float) -> int:
    """The most poses of a group solved one at a time over a crank turn of `span` rad: 600,
    and 60 for every whole turn. Beyond, the branch is not followed."""
    return 600 + 60 * round(span / (2 * np.pi))


class Walk:
    """Follows a branch from its good samples outwards."""

    def __init__(self, state: State, block: Block, equations: System, branch: Branch,
                 probe: Probe, ends: Sequence[float] = ()) -> None:
        self.state, self.block, self.equations = state, block, equations
        self.branch, self.probe, self.ends = branch, probe, ends
        self._drawn = float(np.abs(branch.unknown[equations.spins:, -1]).max(initial=0.0))
        self.most = most_poses(float(np.ptp(state.turn)))

    def run(self) -> None:
        """Both ways from the drawn pose, to the ends of the turn or to a lock."""
        order = self.state.order
        home = int(np.flatnonzero(order == len(order) - 1)[0])
        for side, path in ((1, order[home:]), (-1, order[home::-1])):
            most = self.branch.poses + self.most // 2
            way = self._way(path)
            done = self._outward(way, most)
            self.branch.unknown[:, path[done + 1:]] = self.branch.unknown[:, path[done], None]
            if done + 1 < len(way) and self.branch.poses >= most:
                self._give_up(side, float(self.state.turn[path[done]]))
            elif done + 1 == len(way) < len(path):
                self._approach(path, done)

    def _way(self, path: NDArray[np.intp]) -> NDArray[np.intp]:
        """The path up to where a group before cannot be put together; those with a closed
        form have a pose beyond, and one sample of it helps to find the place."""
        last = len(path)
        for number, margin in enumerate(self.state.margin[:self.block.number]):
            if margin is not None and self.state.least[number] < CANNOT:
                wrong = np.flatnonzero(margin[path] < CANNOT)[:1]
                beyond = self.state.plan.blocks[number].kind != "newton"
                last = min([last, *(int(at) + beyond for at in wrong)])
        return path[:max(last, 1)]

    def _approach(self, path: NDArray[np.intp], done: int) -> None:
        """Solve a few steps towards where a group before locks, and there all goes with
        the square root of the distance."""
        turn = self.state.turn
        here, beyond = float(turn[path[done]]), float(turn[path[done + 1]])
        ends = [end for end in self.ends if min(here, beyond) <= end <= max(here, beyond)
                and end != here]
        if not ends:
            return
        end = min(ends, key=lambda end: abs(end - here))
        known = [at for at in path[:done][::-1] if turn[at] != here][:1]
        value, share = self.branch.unknown[:, path[done]], 1.0
        slope = np.zeros_like(value)
        for at in known:
            slope = (value - self.branch.unknown[:, at]) / (
                1.0 - np.sqrt((turn[at] - end) / (here - end)))
        wanted, failed = list(NEARER[::-1]), 0
        while wanted and failed < HALVINGS:
            left = wanted[-1]
            guess = value + slope * (left - share)
            found = self._off_grid(end + left**2 * (here - end), guess)
            if found is None or not self._steady(found, value, guess):
                wanted.append((left + share) / 2)
                failed += 1
                continue
            wanted.pop()
            self.branch.steps.append((end + left**2 * (here - end), found))
            slope = (found - value) / (left - share)
            value, share = found, left

    def _give_up(self, side: int, turn: float) -> None:
        self.branch.given_up.add(side)
        low, high = self.branch.ends
        self.branch.ends = (low, turn) if side > 0 else (turn, high)

    def _outward(self, path: NDArray[np.intp], most: int) -> int:
        """Follow a path of samples; the place on it of the last one reached."""
        branch, turn = self.branch, self.state.turn
        done, last = 0, len(path) - 1
        while done < last and branch.poses < most:
            after = path[done + 1]
            if branch.good[after] or turn[after] == turn[path[done]]:
                if not branch.good[after]:
                    branch.unknown[:, after] = branch.unknown[:, path[done]]
                    branch.good[after] = True
                done += 1
                continue
            wide = self._widely(path, done, most)
            done = self._fill(path, wide)
            # What is not smooth on the way to the next wide step is gone over slowly.
            goal = next((place for place in wide if place > done), min(done + 1, last))
            while done < goal:
                found = self._advance(path, done, most)
                if found is None:
                    return done
                branch.unknown[:, path[done + 1]] = found
                branch.good[path[done + 1]] = True
                done += 1
        return done

    # Wide steps ---------------------------------------------------------------

    def _widely(self, path: NDArray[np.intp], start: int, most: int) -> list[int]:
        """Places on the path, from `start` on, solved by ever wider steps as long as the
        branch is smooth. They count as reached only when what lies between is solved."""
        turn, unknown, last = self.state.turn, self.branch.unknown, len(path) - 1
        span = abs(float(turn[path[last]] - turn[path[start]])) / max(last - start, 1)
        widest = max(1, int(WIDE / span)) if span else 1
        places = [place for place in (start - 2, start - 1) if place >= 0
                  and turn[path[place]] != turn[path[place + 1]]] + [start]
        known, stride = len(places), 1
        while places[-1] < last and stride and self.branch.poses < most:
            place = min(places[-1] + stride, last)
            guess = _ahead(turn[path[places[-3:]]], unknown[:, path[places[-3:]]],
                           float(turn[path[place]]))
            found = self._at(path[place], guess)
            if found is not None and self._steady(found, unknown[:, path[places[-1]]], guess):
                unknown[:, path[place]] = found
                places.append(place)
                stride = min(2 * stride, widest)
            else:
                stride //= 2
        return places[known - 1:]

    def _at(self, sample: np.intp, guess: Floats) -> Floats | None:
        """The solution at a sample next to a guess, on the same branch."""
        self.branch.poses += 1
        equations = self.equations.take(np.array([sample]))
        return self._solved(equations, self.state.turn[[sample]], guess)

    def _solved(self, equations: System, turn: Floats, guess: Floats) -> Floats | None:
        found, good, facing = correct(equations, guess[:, None])
        same = good[0] and self.branch.faces(turn, facing)[0]
        return found[:, 0] if same and close(equations, found, guess[:, None])[0] else None

    def _fill(self, path: NDArray[np.intp], wide: list[int]) -> int:
        """Solve all samples between wide steps at once; the place of the last one up to
        which the row is smooth and on the branch."""
        branch, first, last = self.branch, wide[0], wide[-1]
        if last == first:
            return first
        samples = path[first:last + 1]
        inner = np.ones(len(samples), bool)
        inner[np.array(wide) - first] = False
        row = branch.unknown[:, samples]
        fine = np.ones(len(samples), bool)
        if inner.any():
            turn = self.state.turn
            guess = _between(turn[path[wide]], branch.unknown[:, path[wide]],
                             turn[samples[inner]])
            found, good, facing = correct(self.equations.take(samples[inner]), guess, 8)
            off = np.abs((found - guess) / scale(self.equations, guess)).max(axis=0,
                                                                             initial=0.0)
            row[:, inner] = found
            fine[inner] = good & branch.faces(turn[samples[inner]], facing) & (off < 0.1)
        fine[1:] &= self._smooth(self.state.turn[samples], row)
        gaps = np.searchsorted(wide, np.flatnonzero(~fine) + first)
        end = last if not len(gaps) else wide[max(int(gaps[0]) - 1, 0)]
        kept = samples[1:end - first + 1]
        branch.unknown[:, kept] = row[:, 1:end - first + 1]
        branch.good[kept] = True
        return end

    def _smooth(self, turn: Floats, row: Floats) -> NDArray[np.bool_]:
        """Whether each sample but the first is about where those before it lead to."""
        change, step, measure = np.diff(row), np.diff(turn), scale(self.equations, row)[:, :-1]
        off = np.abs(np.diff(change / step) * step[1:] / measure[:, 1:]).max(axis=0,
                                                                             initial=0.0)
        moved = np.abs(change / measure).max(axis=0, initial=0.0)
        smooth: NDArray[np.bool_] = moved < JUMP
        smooth[1:] &= off < 0.05 + 0.5 * moved[1:]
        return smooth

    # Small steps --------------------------------------------------------------

    def _advance(self, path: NDArray[np.intp], done: int, most: int) -> Floats | None:
        """The unknowns at the next sample, by as many smaller steps as it takes."""
        turn, unknown = self.state.turn, self.branch.unknown
        here, there = path[done], path[done + 1]
        start, goal = float(turn[here]), float(turn[there])
        value = unknown[:, here]
        slope = np.zeros_like(value)
        before = [at for at in path[:done][::-1][:2] if turn[at] != start]
        if before:
            slope = (value - unknown[:, before[0]]) / (start - turn[before[0]])
        at, step, failed = start, goal - start, 0
        while at != goal:
            if self._far(at, value, goal > start) or self.branch.poses >= most:
                return None
            to = goal if abs(goal - at) <= abs(step) * 1.0001 else at + step
            guess = value + slope * (to - at)
            found = self._at(there, guess) if to == goal else self._off_grid(to, guess)
            if found is not None and self._steady(found, value, guess):
                slope = (found - value) / (to - at)
                value, at = found, to
                if to != goal:
                    self.branch.steps.append((at, value))
                    step *= 2
                continue
            fold = self._fold(at, value, goal) if failed in SUSPECT else None
            if fold is not None:
                beyond = self._crossed(*fold, goal - start)
                if beyond is not None:
                    return self._at(there, beyond)
                if self._locks(*fold, at, value, goal):
                    return None
            failed += 1
            step = min(step, goal - at, key=abs) / 2
            if abs(step) < abs(goal - start) * 2.0 ** -HALVINGS:
                return None
        return value

    def _far(self, turn: float, unknown: Floats, ahead: bool) -> bool:
        """Whether a shift runs off to infinity (two guides become parallel); if so this is
        noted as the end."""
        spins, size = self.equations.spins, self.equations.size
        if np.abs(unknown[spins:]).max(initial=0.0) < FAR * max(size, self._drawn):
            return False
        low, high = self.branch.ends
        self.branch.ends = (low, turn) if ahead else (turn, high)
        return True

    def _off_grid(self, turn: float, guess: Floats) -> Floats | None:
        self.branch.poses += 1
        equations = system(self.probe(np.array([turn]), self.block), self.block)
        return self._solved(equations, np.array([turn]), guess)

    def _fold(self, at: float, value: Floats, goal: float) -> tuple[float, Floats] | None:
        """Where the derivatives are singular on the way to the goal or just there."""
        fold = find_fold(lambda turn: system(self.probe(turn, self.block), self.block),
                         at, value)
        if fold is None or not min(at, goal) - 1e-7 <= fold[0] <= max(at, goal) + 1e-7:
            return None
        same = close(self.equations, fold[1][:, None], value[:, None])[0]
        return fold if same else None

    def _locks(self, turn: float, unknown: Floats, at: float, value: Floats, goal: float
               ) -> bool:
        """Whether a fold is on the way to the goal; if so the place is noted."""
        if not min(at, goal) - 1e-12 <= turn <= max(at, goal) + 1e-12:
            return False
        low, high = self.branch.ends
        self.branch.ends = (low, turn) if goal > at else (turn, high)
        # The way to a fold goes with the square root of the distance.
        for left in (*NEARER, 0.0):
            self.branch.steps.append((turn + left**2 * (at - turn),
                                      unknown + left * (value - unknown)))
        return True

    def _crossed(self, touch: float, unknown: Floats, ahead: float) -> Floats | None:
        """The unknowns a step beyond a place where the derivatives are singular, if the
        motion goes on smoothly there: another branch crosses (a parallelogram gone flat),
        and the determinant changes its sign. The touch is noted then."""
        step = np.copysign(SPACING, ahead)
        if touch * (touch - 3.5 * step) <= 0 or self.branch.poses + 5 > self.most:
            return None  # drawn next to it
        before = touch + step * np.array([-3.0, -2.0, -1.0])
        guess, _ = self.branch.near(self.state, before)
        self.branch.knots = None  # more are to come
        row = [self._off_grid(float(turn), guess[:, at]) for at, turn in enumerate(before)]
        if any(found is None for found in row):
            return None
        values = np.column_stack([found for found in row if found is not None])
        self.branch.touches.append(touch)
        there = touch + step
        beyond = self._off_grid(there, _ahead(before, values, there))
        measure = scale(self.equations, values)[:, 2]
        moved = np.abs((values[:, 2] - values[:, 1]) / measure).max(initial=0.0)
        if beyond is not None:
            off = np.abs((beyond - _ahead(before, values, there)) / measure).max(initial=0.0)
            # Lagrange's formula; at a lock with another close behind, the way bends off.
            through = values @ (0.25, -1.0, 1.5) + 0.25 * beyond
            bent = np.abs((through - unknown) / measure).max(initial=0.0)
            if off < 0.1 * moved + 1e-6 and bent < 2e-6:
                self.branch.steps += [*zip(before.tolist(), values.T, strict=True),
                                      (there, beyond)]
                return beyond
        self.branch.touches.pop()
        return None

    def _steady(self, found: Floats, value: Floats, guess: Floats) -> bool:
        """Whether a step changed turns and shifts about as foreseen."""
        measure = scale(self.equations, value)
        off = np.abs((found - guess) / measure).max(initial=0.0)
        moved = np.abs((found - value) / measure).max(initial=0.0)
        return bool(off < 0.05 + 0.5 * moved and moved < JUMP)


def _ahead(turn: Floats, unknown: Floats, to: float) -> Floats:
    """Unknowns extrapolated through up to three places (Newton's divided differences)."""
    guess = unknown[:, -1]
    if len(turn) > 1:
        rate = (unknown[:, -1] - unknown[:, -2]) / (turn[-1] - turn[-2])
        guess = guess + rate * (to - turn[-1])
    if len(turn) > 2:
        before = (unknown[:, -2] - unknown[:, -3]) / (turn[-2] - turn[-3])
        guess = guess + (rate - before) / (turn[-1] - turn[-3]) * (to - turn[-1]) * (
            to - turn[-2])
    return guess


def _between(at: Floats, values: Floats, turn: Floats) -> Floats:
    """Values (K, n) at places (n,) in a row interpolated by cubics (Hermite's, with slopes
    of the parabola through each place and its neighbours)."""
    if at[0] > at[-1]:
        at, values = at[::-1], values[:, ::-1]
    if len(at) < 3:
        slope = np.repeat(np.diff(values, axis=1) / np.diff(at), 2, axis=1)
    else:
        slope = np.gradient(values, at, axis=1, edge_order=2)
    left = np.clip(np.searchsorted(at, turn, side="right") - 1, 0, len(at) - 2)
    wide = at[left + 1] - at[left]
    share = (turn - at[left]) / wide
    back = 1.0 - share
    found: Floats = (values[:, left] * (1 + 2 * share) * back**2
                     + values[:, left + 1] * (1 + 2 * back) * share**2
                     + slope[:, left] * wide * share * back**2
                     - slope[:, left + 1] * wide * back * share**2)
    return found
