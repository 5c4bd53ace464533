"""The figures of docs/wanted-motion.md."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from app.bench.eighteen import EIGHTEEN, UNIT_MM
from app.bench.wanting import cold
from app.figures.drawings import DRAWN
from app.figures.linkage import (
    draw_linkage,
    draw_path,
    draw_wish,
    path_of,
    reach,
    turned,
    wished,
)
from app.figures.plate import FAINT, INK, WISH, Plate, Window
from core.model import Sketch, WantedAngle, WantedPath
from core.model.wanted import Knot
from core.motion import Turn, pose_at
from core.wanted.curves import angle_at
from core.wanted.families import FAMILIES
from core.wanted.find import Proposal, find
from core.wanted.fit import fit


def eighteen() -> str:
    """A four-bar drawn without thought, and after a fit to eighteen timed places."""
    before = cold(2)
    after = fit(before, seed=2).sketch
    plate = Plate(760, 400)
    turns = [turned(before), turned(after)]
    frame = np.concatenate([reach(turn) for turn in turns]
                           + [path_of(turn, "rod.P") for turn in turns])
    for left, turn, title in ((20, turns[0], "as drawn"), (400, turns[1], "after Fit")):
        window = Window(plate, left, 50, 340, 290, frame)
        drive, wish = turn.sketch.drive, turn.sketch.wanted[0]
        assert drive is not None
        assert isinstance(wish, WantedPath)
        draw_linkage(window, turn, np.radians(drive.drawn_deg))
        draw_path(window, turn, "rod.P")
        draw_wish(window, wish)
        crank = np.radians(20.0 * np.arange(len(EIGHTEEN)))
        miss = np.abs(path_of(pose_at(turn, crank), "rod.P") - UNIT_MM * np.array(EIGHTEEN))
        plate.word(complex(left, 28), title, 16, INK, bold=True)
        plate.word(complex(left, 385), f"misses its places by up to {miss.max():.1f} mm, "
                   f"{np.sqrt((miss**2).mean()):.1f} mm in the mean", 13, FAINT)
    return plate.text()


def _kinds() -> dict[str, tuple[str, ...]]:
    """Rows of the figure of drawn shapes: a name, and the families it stands for."""
    return {"four-bar": ("four-bar",), "slider-crank": ("slider-crank",),
            "six-bar": tuple(key for key in FAMILIES if key.startswith("six-bar")),
            "geared five-bar": tuple(key for key in FAMILIES if key.startswith("geared"))}


def drawn_shapes() -> str:
    """Five shapes drawn by hand, and the best each kind of mechanism makes of them."""
    kinds = _kinds()
    wide, high, left, top = 150.0, 150.0, 120.0, 40.0
    plate = Plate(left + wide * len(DRAWN) + 10, top + high * len(kinds) + 10)
    for column, (name, places) in enumerate(DRAWN.items()):
        plate.word(complex(left + (column + 0.5) * wide, 26), name, 14, INK, "middle", True)
        wish = WantedPath(id=name, either_way=True, through=tuple(
            (float(at.real), float(at.imag)) for at in places))
        for row, (kind, families) in enumerate(kinds.items()):
            if column == 0:
                plate.word(complex(12, top + (row + 0.5) * high), kind, 13, INK, bold=True)
            best = _best(wish, families)
            window = Window(plate, left + column * wide + 18, top + row * high + 8, wide - 36,
                            high - 46, wished(wish))
            draw_wish(window, wish)
            spot = complex(left + (column + 0.5) * wide, top + (row + 1) * high - 14)
            if best is None:
                plate.word(spot, "nothing found", 12, FAINT, "middle")
                continue
            turn, made = turned(best.sketch), best.sketch.wanted[0]
            assert isinstance(made, WantedPath)
            draw_path(window, turn, made.point)
            plate.word(spot, f"within {best.worst_mm:.1f} mm", 12, FAINT, "middle")
    return plate.text()


def _best(wish: WantedPath, families: tuple[str, ...]) -> Proposal | None:
    found = find(Sketch(wanted=(wish,)), families=families, top=3)
    return found.proposals[0] if found.proposals else None


#: Two panels of a wing, our own: the tip trails the root by some 45° of the crank.
ROOT = WantedAngle(id="root", tolerance_deg=3.0, knots=tuple(
    Knot(crank_deg=at, angle_deg=to) for at, to in ((0, -20), (100, 35), (180, 25),
                                                     (280, -25))))
TIP = WantedAngle(id="tip", tolerance_deg=3.0, knots=tuple(
    Knot(crank_deg=at, angle_deg=to) for at, to in ((40, -35), (150, 50), (230, 30),
                                                     (330, -30))))


def two_panels() -> str:
    """Two wished angles over the turn, what the best panel chain makes of them, and it."""
    found = find(Sketch(wanted=(ROOT, TIP)), top=1,
                 families=tuple(key for key in FAMILIES if key.startswith("panel")))
    sketch = found.proposals[0].sketch
    turn = turned(sketch)
    plate = Plate(760, 330)
    window = Window(plate, 20, 30, 300, 270, reach(turn))
    draw_linkage(window, turn, float(turn.crank_rad[90]))
    for wish, top in zip(sketch.wanted, (30.0, 175.0), strict=True):
        assert isinstance(wish, WantedAngle)
        _lane(plate, turn, wish, 370.0, top)
    return plate.text()


def _lane(plate: Plate, turn: Turn, wish: WantedAngle, left: float, top: float) -> None:
    """The wished angle dashed, the part's own in ink, over one turn of the crank."""
    wide, high = 370.0, 120.0
    crank = np.degrees(turn.crank_rad)
    wanted: NDArray[np.float64] = angle_at(wish, crank)
    made = np.degrees(turn.angle_rad[:, turn.row(wish.part)])
    made = made - (made - wanted).mean()
    low, span = min(wanted.min(), made.min()) - 8, np.ptp(np.append(wanted, made)) + 16

    def at(x: float, y: float) -> complex:
        return complex(left + wide * x / 360.0, top + high * (1 - (y - low) / span))

    plate.line([at(0, low), at(360, low)], colour=FAINT, width=0.8)
    for tick in range(0, 361, 90):
        plate.word(at(tick, low) + 14j, f"{tick}°", 11, FAINT, "middle")
    plate.line([at(x, y) for x, y in zip(crank, made, strict=True)], colour=INK, width=1.8)
    plate.line([at(x, y) for x, y in zip(crank, wanted, strict=True)], colour=WISH, width=2.0,
               dash="6 4")
    plate.word(complex(left, top + 4), f"{wish.id} panel: within "
               f"{np.abs(made - wanted).max():.1f}° of what is wished", 13, INK)


FIGURES: dict[str, Callable[[], str]] = {
    "eighteen-places": eighteen, "drawn-shapes": drawn_shapes, "two-panels": two_panels}
