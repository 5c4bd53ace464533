"""The advisor on a four-bar: better, never worse, and told as it goes."""

from __future__ import annotations

from weighted import four_bar

from core.pleasant import Options, Progress, advise


def test_weights_make_the_four_bar_easier_and_the_programme_bounds_them() -> None:
    told: list[Progress] = []
    advice = advise(four_bar(), Options(kinds=("weights",)),
                    report=lambda progress: told.append(progress) is None)
    assert advice.proposals
    for each in advice.proposals:
        assert each.value_after < each.value_before
        assert each.bound_nmm <= each.plain_nmm + 1e-9
        assert each.sketch != advice.sketch
    assert [one.done for one in told] == sorted(one.done for one in told)
