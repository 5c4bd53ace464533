"""A proposal adopted into the maker's own sketch keeps its motion, under fresh names."""

from __future__ import annotations

from functools import lru_cache

import pytest
from msgspec.structs import replace

from app import demos
from core.errors import EditError
from core.files import loads
from core.model import Disc, Drive, Part, Pin, Point, Sketch, WantedPath
from core.model.validate import problems
from core.motion import solve_turn
from core.study import study
from core.wanted.find import Proposal, adopt, find
from core.wanted.measure import measure, overall

WISH = WantedPath(id="hand", through=((0, 0), (30, 4), (55, 25), (35, 45), (5, 30)))
FAMILIES = ("four-bar", "slider-crank", "geared-five-bar-2", "quick-return-slide")


@lru_cache(maxsize=8)
def proposed(family: str) -> Proposal:
    """The first proposal of a family, however good."""
    last: list[Proposal] = []

    def report(found: object) -> bool:
        last.extend(getattr(found, "proposals", ()))
        return not last

    find(Sketch(wanted=(WISH,)), families=[family], report=report)
    return last[0]


def judged(sketch: Sketch) -> float:
    """The error of a sketch that must be sound and turn all round."""
    assert not [problem for problem in problems(sketch) if problem.fatal]
    turn = solve_turn(sketch)
    assert turn.reached.all()
    mets = measure(turn)
    assert len(mets) == len(sketch.wanted)
    return overall(mets, sketch)


@pytest.mark.parametrize("family", FAMILIES)
def test_into_an_empty_sketch_it_comes_as_it_is(family: str) -> None:
    own = proposed(family)
    sketch = Sketch(title="my otter", units="in", wanted=(WISH,))
    taken = adopt(sketch, own)
    assert (taken.title, taken.units) == ("my otter", "in")
    assert [part.id for part in taken.parts] == [part.id for part in own.sketch.parts]
    assert taken.drive == own.sketch.drive
    assert judged(taken) == pytest.approx(own.error, rel=1e-6, abs=1e-9)


@pytest.mark.parametrize("family", FAMILIES)
@pytest.mark.parametrize("demo", ["rowing-otter", "pier-walker"])
def test_beside_a_crank_it_is_driven_by_that_one(family: str, demo: str) -> None:
    own, users = proposed(family), loads(demos.data(demo))
    users = replace(users, wanted=(WISH,))
    taken = adopt(users, own)
    assert taken.drive == users.drive
    assert taken.parts[:len(users.parts)] != own.sketch.parts
    assert judged(taken) == pytest.approx(own.error, rel=1e-6, abs=1e-9)
    # What was there moves as before, and nothing has two names or shares a layer.
    before = {part.id for part in users.parts}
    fresh = [part for part in taken.parts if part.id not in before and not part.fixed]
    assert len(fresh) == len([part for part in own.sketch.parts if not part.fixed])
    top = max(users.layer_of(part) for part in before)
    assert all(taken.layer_of(part.id) > top for part in fresh)
    for part in users.parts:
        if not part.fixed:
            assert taken.part(part.id) == part


def test_a_frame_that_reaches_so_far_takes_the_pivots() -> None:
    own = proposed("four-bar")
    at = [point.place for part in own.sketch.parts if part.fixed for point in part.points]
    for outline in (None, Disc(radius_mm=2 * max(map(abs, at)) + 10)):
        board = Part(id="board", fixed=True, points=(Point(id="O", x=0, y=0),), outline=outline)
        taken = adopt(Sketch(parts=(board,), wanted=(WISH,)), own)
        assert [part.id for part in taken.parts if part.fixed] == ["board"]
        assert {point.place for point in taken.part("board").points} >= set(at)


def test_beside_a_frame_that_does_not_reach_so_far_there_is_a_bracket() -> None:
    own = proposed("four-bar")
    far = Part(id="board", fixed=True, points=(Point(id="O", x=900, y=900),),
               outline=Disc(radius_mm=20), layer=3)
    users = Sketch(parts=(far,), wanted=(WISH,))
    taken = adopt(users, own)
    assert taken.part("board") == far
    assert taken.part("bracket").fixed
    assert taken.layer_of("bracket") == 3
    assert judged(taken) == pytest.approx(own.error, rel=1e-6, abs=1e-9)
    assert not [one for one in findings_of(taken) if "off the wood" in one]


def findings_of(sketch: Sketch) -> list[str]:
    return [one.text for one in study(sketch).findings]


def test_adopting_twice_gives_two_with_names_of_their_own() -> None:
    own = proposed("slider-crank")
    once = adopt(Sketch(wanted=(WISH,)), own)
    twice = adopt(once, own)
    ids = [part.id for part in twice.parts]
    assert len(ids) == len(set(ids)) == 2 * len(once.parts) - 1  # one frame
    assert judged(twice) == pytest.approx(own.error, rel=1e-6, abs=1e-9)
    assert twice.locks  # both cranks on one shaft


def test_a_free_pivot_of_the_frame_is_used() -> None:
    own = proposed("four-bar")
    shaft = own.sketch.place("frame.shaft")
    mine = Part(id="board", fixed=True, points=(Point(id="hole", x=shaft.real, y=shaft.imag),))
    taken = adopt(Sketch(parts=(mine,), wanted=(WISH,)), own)
    board = taken.part("board")
    assert len(board.points) == len(own.sketch.part("frame").points)
    assert any("board.hole" in pin.at for pin in taken.pins)


def test_a_rocking_crank_cannot_drive_a_proposal() -> None:
    board = Part(id="board", fixed=True, points=(Point(id="O", x=0, y=0),))
    arm = Part(id="arm", points=(Point(id="O", x=0, y=0), Point(id="A", x=30, y=0)))
    users = Sketch(parts=(board, arm), pins=(Pin(id="O", at=("board.O", "arm.O")),),
                   drive=Drive(pin="O", part="arm", kind="rock"), wanted=(WISH,))
    with pytest.raises(EditError, match="rocks to and fro"):
        adopt(users, proposed("four-bar"))
