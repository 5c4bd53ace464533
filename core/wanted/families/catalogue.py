"""All families, as data.

Six-bars are four-bars with a second pair of links hung on two of their bodies. Hung on
neighbours it makes a Watt chain, hung on others a Stephenson chain (the two six-link
chains of one freedom; e.g. R. L. Norton, *Design of Machinery*, ch. 2). All placements
that can be solved pair by pair from a crank on the frame are here, the tracer on any new
floating link; on an old one it would be the four-bar's.
"""

from __future__ import annotations

from fractions import Fraction

from core.wanted.engine import (
    BodyPoint,
    Crank,
    Dyad,
    FramePoint,
    Link,
    Recipe,
    SlideDyad,
    SlottedLever,
)
from core.wanted.engine.recipe import Step
from core.wanted.families.family import Family

_SHAFT = FramePoint("shaft")
_CRANK = Crank("crank", "shaft", "throw")
_LOOP: tuple[Step, ...] = (
    _SHAFT, FramePoint("pivot"), _CRANK,
    Dyad("elbow", Link("coupler", "throw"), Link("rocker", "pivot")))


def _four_bar() -> Family:
    return Family("four-bar", "Four-bar", Recipe((*_LOOP, BodyPoint("tip", "coupler"))),
                  "tip", "coupler", ("rocker", "coupler"))


def _slider_crank() -> Family:
    steps = (_SHAFT, _CRANK, SlideDyad("wrist", Link("rod", "throw"), "sled", "shaft"),
             BodyPoint("tip", "rod"))
    return Family("slider-crank", "Slider-crank", Recipe(steps), "tip", "rod", ("rod",))


def _six_bar(kind: str, one: str, other: str, tracing: str) -> Family:
    """A four-bar with a strut hung on the body `one` and an arm on `other`."""
    eyes = [FramePoint("post") if body == "frame" else BodyPoint(f"{body} eye", body)
            for body in (one, other)]
    pair = Dyad("knee", Link("strut", eyes[0].point), Link("arm", eyes[1].point))
    steps = (*_LOOP, *eyes, pair, BodyPoint("tip", tracing))
    swinging = dict.fromkeys((tracing, "arm", "strut", "rocker", "coupler"))
    return Family(f"six-bar-{one}-{other}-{tracing}",
                  f"Six-bar ({kind}), {tracing} of a pair on {one} and {other}",
                  Recipe(steps), "tip", tracing, tuple(swinging))


def _six_bars() -> tuple[Family, ...]:
    return tuple(_six_bar(*row) for row in (
        ("Watt", "coupler", "rocker", "strut"),
        ("Watt", "coupler", "rocker", "arm"),
        ("Watt", "coupler", "crank", "strut"),
        ("Watt", "coupler", "crank", "arm"),
        ("Watt", "rocker", "frame", "strut"),
        ("Stephenson", "coupler", "frame", "strut"),
        ("Stephenson", "rocker", "crank", "strut"),
        ("Stephenson", "rocker", "crank", "arm"),
    ))


def _geared_five_bar(ratio: Fraction) -> Family:
    steps = (_SHAFT, FramePoint("pivot"), _CRANK,
             Crank("second crank", "pivot", "second throw", ratio, phased=True),
             Dyad("elbow", Link("coupler", "throw"), Link("second coupler", "second throw")),
             BodyPoint("tip", "coupler"))
    text = str(ratio).replace("/", "to")
    way = "with" if ratio > 0 else "against"
    return Family(f"geared-five-bar-{text}",
                  f"Five-bar, second crank geared {abs(ratio)} : 1 {way} the first",
                  Recipe(steps), "tip", "coupler", ("coupler", "second coupler"))


_LEVER: tuple[Step, ...] = (_SHAFT, FramePoint("pivot"), _CRANK,
                            SlottedLever("lever", "pivot", "throw"))


def _quick_return() -> tuple[Family, ...]:
    rod = (BodyPoint("lever eye", "lever"),
           SlideDyad("wrist", Link("rod", "lever eye"), "sled", "pivot"))
    return (
        Family("slotted-lever", "Quick return by a slotted lever",
               Recipe((*_LEVER, BodyPoint("tip", "lever"))), "tip", "lever", ("lever",)),
        Family("quick-return-slide", "Quick return with a slide",
               Recipe((*_LEVER, *rod, BodyPoint("tip", "rod"))), "tip", "rod",
               ("lever", "rod")),
    )


def _panel_chain(start: Step, at: str, words: str) -> Family:
    """A root panel hinged on the frame, a tip panel hinged on it, a rod to each."""
    steps = (_SHAFT, FramePoint("hinge"), _CRANK,
             Dyad("root eye", Link("root rod", "throw"), Link("root panel", "hinge")),
             BodyPoint("tip hinge", "root panel"), start,
             Dyad("tip eye", Link("tip rod", at), Link("tip panel", "tip hinge")),
             BodyPoint("tip", "tip panel"))
    return Family(f"panel-chain-{'crank' if at == 'second throw' else 'frame'}",
                  f"Two hinged panels, the tip's rod from {words}", Recipe(steps), "tip",
                  "tip panel", ("root panel", "tip panel"))


def _panel_chains() -> tuple[Family, ...]:
    return (_panel_chain(BodyPoint("second throw", "crank"), "second throw", "the crank"),
            _panel_chain(FramePoint("post"), "post", "the frame"))


_RATIOS = tuple(Fraction(sign * over, under) for over, under in
                ((1, 1), (2, 1), (1, 2), (3, 1), (1, 3)) for sign in (1, -1))

#: All families by id, the simplest first.
FAMILIES: dict[str, Family] = {family.id: family for family in (
    _four_bar(), _slider_crank(), *_quick_return(), *_panel_chains(),
    *(_geared_five_bar(ratio) for ratio in _RATIOS), *_six_bars())}
