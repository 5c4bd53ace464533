"""The study of a sketch: whole for a sound one, explained for an unfinished one."""

from __future__ import annotations

import json

import numpy as np
import pytest
from faulty import four_bar, lone_crank, part, slider_crank
from msgspec.structs import replace

from core.errors import MotionError, Stopped
from core.model import (
    Bar,
    Belt,
    Disc,
    Drive,
    Lock,
    Mass,
    Mesh,
    Part,
    Pin,
    PinInSlot,
    Plate,
    Point,
    Polygon,
    Sketch,
    Slide,
    Spring,
)
from core.model.snap import snap
from core.motion import pose_at, solve_turn
from core.study import report, study, turn_table

UNFINISHED = {
    "empty": Sketch(),
    "one point": Sketch(parts=(part("a", None, p=0j),)),
    "a part without anything": Sketch(parts=(Part(id="a"),)),
    "two loose bars": Sketch(parts=(part("a", None, p=0j, q=50 + 0j),
                                    part("b", None, p=9j, q=50 + 9j))),
    "only fixed parts": Sketch(parts=(part("a", None, fixed=True, p=0j, q=50 + 0j),)),
    "no crank": replace(four_bar(), drive=None),
    "no frame": replace(four_bar(), parts=tuple(
        replace(each, fixed=False) for each in four_bar().parts)),
    "crank not on the frame": replace(four_bar(), drive=Drive(pin="B", part="rocker")),
    "crank that is no part": replace(four_bar(), drive=Drive(pin="O", part="ghost")),
    "pin of one part": Sketch(parts=(part("a", None, p=0j),), pins=(Pin(id="P", at=("a.p",)),)),
    "pin to nowhere": Sketch(parts=(part("a", None, p=0j),),
                             pins=(Pin(id="P", at=("a.p", "b.q")),)),
    "pin apart": replace(four_bar(), parts=(*four_bar().parts[:2], part(
        "coupler", 3, a=1 + 1j, b=90 + 60j), four_bar().parts[3])),
    "no joint at the rocker": replace(four_bar(), pins=four_bar().pins[:3]),
    "one joint too many": replace(four_bar(), pins=(*four_bar().pins, Pin(
        id="X", at=("base.o", "rocker.b")))),
    "all in one place": Sketch(parts=(part("base", 0, fixed=True, o=0j),
                                      part("crank", 1, o=0j, a=0j)),
                               pins=(Pin(id="O", at=("base.o", "crank.o")),),
                               drive=Drive(pin="O", part="crank")),
    "bad outline": replace(four_bar(), parts=(*four_bar().parts[:3], replace(
        four_bar().parts[3], outline=Polygon(outer=((0, 0), (9, 9), (9, 0), (0, 9)))))),
    "thin bar": replace(four_bar(), parts=(*four_bar().parts[:3], replace(
        four_bar().parts[3], outline=Bar(width_mm=0)))),
    "unknown material": replace(four_bar(), parts=(*four_bar().parts[:3], replace(
        four_bar().parts[3], material="moonstone"))),
    "negative mass": replace(four_bar(), parts=(*four_bar().parts[:3], replace(
        four_bar().parts[3], mass=Mass(mass_kg=-1, x=0, y=0)))),
    "locked crank": four_bar((100, 70, 60, 60), 20.0),
    "nan": Sketch(parts=(Part(id="a", points=(Point(id="p", x=float("nan"), y=0),)),)),
}


@pytest.mark.parametrize("name", UNFINISHED)
@pytest.mark.parametrize("refine", [True, False])
def test_an_unfinished_sketch_is_explained_not_refused(name: str, refine: bool) -> None:
    done = study(UNFINISHED[name], steps=90, refine=refine)
    assert done.sketch is UNFINISHED[name]
    about = json.loads(json.dumps(report(done), allow_nan=False))
    if name != "empty":
        assert about["findings"]
    for one in done.findings:
        assert one.text.endswith(".")
        assert one.grade in ("fault", "warning", "note")
    if done.turn is None:
        with pytest.raises(MotionError):
            turn_table(done)


def scribble(rng: np.random.Generator) -> Sketch:
    """A sketch drawn without any plan: every joint between whatever points there are."""
    parts = []
    for i in range(int(rng.integers(2, 7))):
        points = tuple(Point(id="abcd"[k], x=float(rng.choice([rng.uniform(-90, 90), 0, 50])),
                             y=float(rng.choice([rng.uniform(-90, 90), 0, 50])))
                       for k in range(int(rng.integers(1, 4))))
        outline = (None, Bar(width_mm=9), Disc(radius_mm=9), Plate(margin_mm=0.5))
        parts.append(Part(id=f"p{i}", points=points, fixed=bool(rng.random() < 0.3),
                          outline=outline[rng.integers(4)],
                          layer=None if rng.random() < 0.5 else int(rng.integers(3))))
    refs = [f"{each.id}.{point.id}" for each in parts for point in each.points]

    def some(count: int) -> tuple[str, ...]:
        return tuple(str(ref) for ref in rng.choice(refs, count))

    maybe = [int(draw < 0.35) for draw in rng.random(6)]
    pins = tuple(Pin(id=f"P{i}", at=some(int(rng.integers(2, 4))))
                 for i in range(int(rng.integers(1, 6))))
    sketch = Sketch(
        parts=tuple(parts), pins=pins,
        slides=(Slide(id="S", point=some(1)[0], along=some(2)),) * maybe[0],
        slots=(PinInSlot(id="Q", point=some(1)[0], slot=some(2)),) * maybe[1],
        locks=(Lock(id="L", parts=("p0", "p1")),) * maybe[2],
        meshes=(Mesh(id="M", a=some(1)[0], b=some(1)[0], teeth_a=12, teeth_b=20),) * maybe[3],
        belts=(Belt(id="B", a=some(1)[0], b=some(1)[0], diameter_a_mm=10,
                    diameter_b_mm=20),) * maybe[4],
        springs=(Spring(id="F", a=some(1)[0], b=some(1)[0], rate_n_per_mm=1,
                        free_length_mm=9),) * maybe[5],
        drive=Drive(pin="P0", part=str(rng.choice([each.id for each in parts])),
                    kind="rock" if rng.random() < 0.3 else "turn"))
    return snap(sketch) if rng.random() < 0.8 else sketch


@pytest.mark.filterwarnings("ignore::RuntimeWarning")
def test_scribbles_are_studied_without_a_fault_of_ours() -> None:
    rng = np.random.default_rng(17)
    turning = 0
    for _ in range(400):
        done = study(scribble(rng), steps=36)
        json.dumps(report(done), allow_nan=False)
        turning += done.turn is not None and int(done.turn.reached.sum()) > 1
    assert turning > 2


def test_a_sound_sketch_has_everything() -> None:
    done = study(four_bar(), steps=120)
    assert None not in (done.structure, done.turn, done.rates, done.effort, done.gaps)
    assert done.turn.crank_rad.size == 120


def test_the_whole_turn_of_the_very_sketch_is_used_as_it_is() -> None:
    sketch = four_bar()
    turn = solve_turn(sketch)
    assert study(sketch, warm=turn).turn is turn
    for other in (solve_turn(four_bar()), solve_turn(sketch, steps=90),
                  pose_at(turn, np.linspace(0.0, 1.0, 720))):
        done = study(sketch, warm=other)
        assert done.turn is not other
        np.testing.assert_allclose(done.turn.rotation, turn.rotation, atol=1e-12)
        assert done.turn.sketch is sketch


def test_the_report_has_the_documented_keys_and_plain_numbers() -> None:
    about = report(study(slider_crank((60.0, 120.0))))
    assert list(about) == ["title", "mobility", "crank_turns", "goes_round", "limits",
                           "findings", "torque", "hand", "standing", "strength", "locks",
                           "gaps", "pinches", "wanted", "error"]
    assert about["goes_round"] is True
    assert about["mobility"] == 1
    (over,) = [one for one in about["findings"] if one["code"] == "overrun"]
    assert list(over) == ["code", "grade", "text", "parts", "joints", "crank_deg", "value",
                          "limit", "unit", "source", "mend"]
    assert over["joints"]
    assert set(about["torque"]) >= {"peak_nm", "peak_at_deg", "least_nm", "runaway"}
    json.dumps(about, allow_nan=False)


def test_the_report_tells_the_limits_of_a_locked_crank() -> None:
    about = report(study(four_bar((100, 70, 60, 60), 20.0)))
    assert about["goes_round"] is False
    assert sorted(one["side"] for one in about["limits"]) == [-1, 1]
    assert about["limits"][0]["parts"] == ["coupler", "rocker"]


def test_the_turn_table_holds_every_point_and_moving_part() -> None:
    done = study(four_bar(), steps=72)
    header, rows = turn_table(done)
    points = [f"{each.id}.{point.id}" for each in done.sketch.parts for point in each.points]
    assert list(header) == ["crank_deg", *(f"{ref}.{axis}_mm" for ref in points for axis in
                                           "xy"),
                            "crank.angle_deg", "coupler.angle_deg", "rocker.angle_deg",
                            "torque_nm"]
    assert rows.shape == (72, len(header))
    column = dict(zip(header, rows.T, strict=True))
    np.testing.assert_allclose(column["crank.a.x_mm"],
                               30 * np.cos(np.radians(column["crank_deg"])), atol=1e-9)
    np.testing.assert_allclose(column["base.q.x_mm"], 100.0)
    at = int(np.argmin(np.abs(column["crank_deg"] - 40.0)))
    assert column["coupler.angle_deg"][at] == pytest.approx(0.0, abs=1e-9)


def test_the_torque_in_the_table_is_in_newton_metres() -> None:
    header, rows = turn_table(study(lone_crank(0.5)))
    torque = rows[:, header.index("torque_nm")]
    np.testing.assert_allclose(torque, 0.5 * 9.81 * 0.06 * np.cos(np.radians(rows[:, 0])),
                               atol=1e-9)


class Asked:
    """Says yes so many times."""

    def __init__(self, most: float = float("inf")) -> None:
        self.most, self.times = most, 0

    def __call__(self) -> bool:
        self.times += 1
        return self.times <= self.most


def test_work_at_rest_stops_wherever_it_is_no_longer_wanted() -> None:
    sketch = replace(four_bar(), gap_mm=40.0)  # gaps to be mended too
    asked = Asked()
    whole = study(sketch, steps=36, going=asked)
    assert report(whole) == report(study(sketch, steps=36))
    assert asked.times > len(whole.findings) + 4  # between the rooms, and within them
    for most in range(asked.times):
        once = Asked(most)
        with pytest.raises(Stopped):
            study(sketch, steps=36, going=once)
        assert once.times == most + 1  # no is taken for an answer at once


def test_a_drag_is_answered_however_stale() -> None:
    asked = Asked(0)
    assert study(four_bar(), steps=36, refine=False, going=asked).turn is not None
    assert asked.times == 0


def test_every_pair_and_every_crank_tried_is_a_chance_to_stop(monkeypatch) -> None:
    from core.findings import crank
    from core.space import pinch

    tried, looked = [], []
    good, worst = crank.goes_round, pinch._worst
    monkeypatch.setattr("core.findings.motion.goes_round",
                        lambda turn: tried.append(1) or good(turn))
    monkeypatch.setattr(pinch, "_worst", lambda *some: looked.append(1) or worst(*some))
    locked = four_bar((100.0, 70.0, 60.0, 60.0))
    asked = Asked()
    assert study(locked, steps=36, going=asked).turn.limits
    assert len(tried) > 5
    assert looked
    assert asked.times > len(tried) + len(looked)
