"""Mirroring a selection: the line, the twin, the preview."""

from __future__ import annotations

import pytest

from app.dialogs.mirror import LEVEL, THROUGH, UPRIGHT, MirrorDialog


def pick(window, *names: str) -> None:
    window.session.select([("part", name) for name in names])


def mirror_dialog(window) -> MirrorDialog:
    window.action("mirror").trigger()
    return window.editing._dialog


def test_mirror_shows_the_copy_and_cancel_takes_it_away(window) -> None:
    before = window.session.committed
    pick(window, "coupler", "rocker")
    dialog = mirror_dialog(window)
    assert len(window.session.sketch.parts) == 6
    dialog.reject()
    assert window.session.sketch is before


@pytest.mark.parametrize("twin", [True, False])
def test_mirror_is_one_step_and_twins_only_if_wanted(window, twin: bool) -> None:
    pick(window, "rocker")
    dialog = mirror_dialog(window)
    dialog.twin.setChecked(twin)
    dialog.choices[UPRIGHT].click()
    dialog.place.setText("150 mm")
    dialog.place.textEdited.emit("150 mm")
    dialog.accept()
    sketch = window.session.committed
    (name,) = window.session.selected("part")
    assert sketch.point(f"{name}.D").x == pytest.approx(200.0)
    assert bool(sketch.twins) == twin
    assert window.session.undo_stack.count() == 1
    if twin:
        window.action("untwin").trigger()
        assert not window.session.committed.twins


def test_mirror_through_two_points_and_a_wrong_place(window) -> None:
    window.session.select([("part", "rocker"), ("point", "frame.A"), ("point", "frame.D")])
    dialog = mirror_dialog(window)
    assert dialog.choices[THROUGH].isChecked()
    dialog.choices[LEVEL].click()
    dialog.place.setText("somewhere")
    dialog.place.textEdited.emit("somewhere")
    assert dialog.error.text().endswith(".")
    dialog.accept()
    assert window.session.undo_stack.count() == 0
    dialog.choices[THROUGH].click()
    dialog.accept()
    (name,) = window.session.selected("part")
    assert window.session.committed.point(f"{name}.C").y == pytest.approx(-80.0)


