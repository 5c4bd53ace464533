"""Coins as weights."""

from __future__ import annotations

import argparse
import math

import pytest
from pleasing import nodding_heron

from app.balancing import arguments
from core.pleasant import Options, WeightRules, advise
from core.pleasant.coins import MONEY, coins


@pytest.mark.parametrize("money", MONEY)
def test_coins_are_as_dense_as_coin_metal(money: str) -> None:
    # Steel, brass and copper alloys: 7.8 to 8.9 g/cm³, zinc 7.1 (handbook, from memory); a
    # disc of the full diameter and thickness is more than the coin with its relief.
    for one in coins(money):
        disc_cm3 = math.pi / 4 * one.diameter_mm**2 * one.thickness_mm / 1000
        assert 5.4 < 1000 * one.kg / disc_cm3 < 8.9, one.name


def test_a_stack_is_as_many_times_as_heavy_and_as_high() -> None:
    by_name = {one.name: one for one in coins("euro")}
    one, four = by_name["coin (2 euro)"], by_name["4 coins (2 euro)"]
    assert four.kg == pytest.approx(4 * 0.0085)
    assert (four.diameter_mm, four.thickness_mm) == (one.diameter_mm, 4 * one.thickness_mm)


def test_a_crank_is_balanced_with_coins_alone() -> None:
    rules = WeightRules(sheets=(), rods=(), washers=(), own=coins("euro"))
    found = advise(nodding_heron(), Options(kinds=("weights",), weights=rules)).proposals
    assert found
    for one in found:
        assert one.value_after < one.value_before
        fixed = [each for part in one.sketch.parts for each in part.weights]
        assert fixed
        assert all("coin" in each.made_of for each in fixed)


def test_the_command_knows_every_money() -> None:
    for money in MONEY:
        parser = argparse.ArgumentParser()
        arguments(parser)
        assert parser.parse_args(["x.json", "--coins", money]).coins == [money]
