"""The window of materials, the editor of one's own, rows of a part, thickness of a sheet."""

from __future__ import annotations

import pytest
from msgspec.structs import replace
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QTreeWidgetItem

from app.dialogs.material_editor import MaterialEditor, read_range
from app.dialogs.materials import MaterialsWindow
from app.dialogs.sheet_thickness import SheetThicknessDialog
from app.shelf import SHELF
from core import files
from core.errors import UnitError
from core.materials import MATERIALS
from core.model import OwnMaterial, edits

PLUM = OwnMaterial(id="plum", name="plum", density_kg_m3=780.0, like="black-cherry")


@pytest.fixture
def shown(window) -> MaterialsWindow:
    window.session.select([("part", "crank")])
    window.action("materials").trigger()
    return window.findChild(MaterialsWindow)


def names(shown: MaterialsWindow) -> list[str]:
    return [item.text(0) for item in shown._items() if not item.isHidden()]


def rows(shown: MaterialsWindow) -> dict[str, QTreeWidgetItem]:
    tree = shown.figures
    items = [tree.topLevelItem(row) for row in range(tree.topLevelItemCount())]
    return {item.text(0): item for item in items}


def make(shown: MaterialsWindow, name: str, density: str = "690", keep: bool = True,
         **figures: str) -> MaterialEditor:
    editor = shown.editor
    editor.name.setText(name)
    editor.density.setText(density)
    editor.keep.setChecked(keep)
    for row in range(editor.figures.rowCount()):
        key = editor.figures.item(row, 0).data(Qt.ItemDataRole.UserRole)
        if key in figures:
            editor.figures.item(row, 1).setText(figures[key])
    editor.accept()
    return editor


# -- looking -----------------------------------------------------------------------


def test_it_opens_on_the_material_of_the_selected_part(shown) -> None:
    assert shown.chosen == "birch-plywood"
    assert set(names(shown)) == {each.name for each in MATERIALS.values()}
    assert "Used for frame, crank, coupler, rocker." in shown.where.text()


def test_every_figure_has_value_trust_and_source_in_words(shown) -> None:
    for name in MATERIALS:
        shown.choose(name)
        assert shown.chosen == name
        for item in rows(shown).values():
            assert all(item.text(column) for column in range(4))
    shown.choose("black-cherry")
    item = rows(shown)["compression along the grain"]
    assert item.text(1) == "49 MPa"
    assert item.text(2) == "read in a copy of the source"
    shown.figures.setCurrentItem(item)
    assert "USDA Wood Handbook" in shown.source.text()


def test_stresses_stand_in_psi_too_where_lengths_are_in_inches(window, shown) -> None:
    window.session.commit("Inches", replace(window.session.committed, units="in"))
    shown.choose("black-cherry")
    assert rows(shown)["compression along the grain"].text(1) == "49 MPa (7110 psi)"
    shown.choose("steel")
    assert "psi)" in rows(shown)["elastic modulus"].text(1)


def test_search_finds_by_name_kind_and_figure(shown) -> None:
    QTest.keyClicks(shown.search, "MAPLE")
    assert names(shown) == ["sugar maple"]
    assert shown.chosen == "sugar-maple"  # what is shown on the right is among what is found
    shown.search.setText("wood birch")
    assert "yellow birch" in names(shown)
    shown.search.setText("internal bond")
    assert names(shown) == ["MDF"]
    shown.search.setText("nothing like this")
    shown.copy.click()
    assert names(shown) == []
    shown.search.clear()
    assert len(names(shown)) == len(MATERIALS)


def test_a_heading_is_not_chosen_by_a_click(shown) -> None:
    head = shown.tree.topLevelItem(0)
    spot = shown.tree.visualItemRect(head).center()
    QTest.mouseClick(shown.tree.viewport(), Qt.MouseButton.LeftButton, pos=spot)
    assert shown.chosen == "birch-plywood"


def test_asked_for_again_the_same_window_comes_forward(window, shown) -> None:
    window.action("materials").trigger()
    assert window.findChildren(MaterialsWindow) == [shown]


# -- making, changing, keeping, removing -------------------------------------------


def test_a_copy_of_the_tables_becomes_ones_own_in_one_step(window, shown) -> None:
    shown.choose("black-cherry")
    shown.copy.click()
    assert shown.editor.name.text() == "my black cherry"
    make(shown, "plum", bending_mpa="80 to 95")
    (own,) = window.session.committed.materials
    assert (own.id, own.like, own.density_kg_m3) == ("plum", "black-cherry", 690.0)
    assert [(f.name, f.low, f.high) for f in own.figures] == [("bending_mpa", 80, 95)]
    assert SHELF.kept == (own,)
    assert shown.chosen == "plum"
    assert rows(shown)["bending strength"].text(2) == "your own"
    assert window.session.undo_stack.count() == 1
    window.session.undo()
    assert window.session.committed.materials == ()
    assert shown.chosen == "plum"  # still kept
    assert "keep it for all sketches" in shown.where.text()


@pytest.mark.parametrize(("name", "density", "figures", "words"), [
    ("", "690", {}, "no name"), ("  ", "690", {}, "no name"), ("plum", "", {}, "no number"),
    ("plum", "heavy", {}, "no number"), ("plum", "0", {}, "above zero"),
    ("plum", "1 to 2", {}, "one number"),
    ("plum", "690", {"bending_mpa": "strong"}, "no number"),
    ("plum", "690", {"bending_mpa": "95 to 80"}, "smaller number first"),
    ("plum", "690", {"elastic_gpa": "-3"}, "below zero"),
])
def test_bad_input_is_one_sentence_and_changes_nothing(
    window, shown, name: str, density: str, figures: dict[str, str], words: str
) -> None:
    before = window.session.committed
    shown.choose("black-cherry")
    shown.copy.click()
    editor = make(shown, name, density, **figures)
    assert words in editor.error.text()
    assert editor.isVisible()
    assert editor.error.text().count(".") <= 2
    assert window.session.committed is before
    assert SHELF.kept == ()
    editor.reject()


def test_a_new_one_of_another_kind_offers_its_figures(window, shown) -> None:
    shown.new.click()
    editor = shown.editor
    editor.stuff.setCurrentIndex(editor.stuff.findData("metal"))
    keys = [editor.figures.item(row, 0).data(Qt.ItemDataRole.UserRole)
            for row in range(editor.figures.rowCount())]
    assert "yield_mpa" in keys
    editor.like.setCurrentIndex(editor.like.findData("steel"))
    make(shown, "bolt stock", "7800", keep=False, yield_mpa="640")
    (own,) = window.session.committed.materials
    assert (own.stuff, own.like) == ("metal", "steel")
    assert SHELF.kept == ()


def test_changing_one_keeps_its_id_and_what_is_made_of_it(window, shown) -> None:
    window.session.commit("put", edits.put_material(window.session.committed, PLUM))
    shown.choose("plum")
    shown.give.click()
    assert window.session.committed.part("crank").material == "plum"
    shown.edit.click()
    make(shown, "old plum", "800", keep=False)
    (own,) = window.session.committed.materials
    assert (own.id, own.name, own.density_kg_m3) == ("plum", "old plum", 800.0)
    assert window.session.committed.part("crank").material == "plum"


def test_it_cannot_be_removed_while_a_part_is_of_it(window, shown) -> None:
    window.session.commit("put", edits.put_material(window.session.committed, PLUM))
    shown.choose("plum")
    shown.give.click()
    shown.remove.click()
    assert "'plum' is what crank is made of" in shown.error.text()
    assert window.session.committed.materials == (PLUM,)
    shown.choose("beech")
    shown.give.click()
    shown.choose("plum")
    shown.remove.click()
    assert window.session.committed.materials == ()
    assert "plum" not in names(shown)


def test_one_that_is_only_kept_is_kept_no_longer_once_that_is_confirmed(window, shown) -> None:
    SHELF.keep(PLUM)
    shown.choose("plum")
    assert shown.remove.text() == "Keep no longer…"
    shown.remove.click()
    shown.question.answer("Keep it").click()
    assert SHELF.kept == (PLUM,)
    shown.choose("plum")
    shown.remove.click()
    shown.question.answer("Keep it no longer").click()
    assert SHELF.kept == ()
    assert "plum" not in names(shown)
    assert window.session.undo_stack.count() == 0


def test_a_sketch_that_brings_a_material_works_and_offers_to_keep_it(
    window, shown, tmp_path
) -> None:
    sketch = edits.put_material(window.session.committed, PLUM)
    sketch = edits.change(sketch, "parts", "crank", material="plum")
    path = tmp_path / "brought.json"
    files.save(sketch, path)
    told: list[str] = []
    window.session.told.connect(told.append)
    window.filing.load(str(path))
    assert any("plum" in text and "Materials" in text for text in told)
    shown.choose("plum")
    assert "In this sketch only" in shown.where.text()
    assert shown.keep.isVisible()
    shown.keep.click()
    assert SHELF.kept == (PLUM,)
    assert not shown.keep.isVisible()
    assert files.kept_materials(SHELF._folder) == (PLUM,)


def test_a_kept_material_can_be_given_to_a_part_of_any_sketch(window) -> None:
    SHELF.keep(PLUM)
    session = window.session
    session.select([("part", "rocker")])
    field = window.particulars.field("material")
    values = [choice for choice, _ in field.row.choices]
    assert "plum" in values
    field.edited.emit(field.row, "plum")
    assert session.committed.part("rocker").material == "plum"
    assert session.committed.materials == (PLUM,)
    assert session.undo_stack.count() == 1


def test_a_damaged_shelf_is_told_and_left_alone(window, shown, tmp_path) -> None:
    path = tmp_path / files.MATERIALS_FILE
    path.write_text("{ not json")
    SHELF.open(tmp_path / "unsaved")
    assert "cannot be read" in SHELF.trouble
    shown.choose("black-cherry")
    shown.copy.click()
    make(shown, "plum")
    assert "JSON" in shown.error.text()
    assert path.read_text() == "{ not json"


@pytest.mark.parametrize(("text", "ends"), [
    ("50", (50, 50)), ("50 to 60", (50, 60)), ("50–60", (50, 60)), ("50-60", (50, 60)),
    ("0,5 … 0,7", (0.5, 0.7)), (" 1/2 ", (0.5, 0.5))])
def test_ranges_are_read_as_people_write_them(text: str, ends: tuple[float, float]) -> None:
    assert read_range(text, "figure") == ends


@pytest.mark.parametrize("text", ["", "x", "5 to", "5 to 6 to 7", "6 to 5", "-1", "1e9"])
def test_what_is_no_range_is_refused(text: str) -> None:
    with pytest.raises(UnitError, match="figure"):
        read_range(text, "figure")


# -- the sheet's thickness, the part's grain ---------------------------------------


def test_the_sheets_thickness_is_set_everywhere_in_one_step(window) -> None:
    session = window.session
    session.select([("part", "coupler")])
    window.action("sheet_thickness").trigger()
    dialog = window.findChild(SheetThicknessDialog)
    dialog.box.setText("thick")
    dialog.accept()
    assert dialog.error.text().endswith(".")
    assert session.undo_stack.count() == 0
    dialog.box.setText("6.2")
    dialog.accept()
    assert {part.thickness_mm for part in session.committed.parts} == {6.2}
    assert session.undo_stack.count() == 1


def test_the_thickness_says_that_it_is_to_be_measured(window) -> None:
    window.session.select([("part", "crank")])
    tip = window.particulars.field("thickness_mm").toolTip()
    assert "Measure the sheet" in tip
    assert "6 mm to 6.9 mm" in tip


def test_grain_goes_along_the_part_until_it_is_turned(window) -> None:
    session = window.session
    session.select([("part", "crank")])
    field = window.particulars.field("grain_deg")
    assert field.box.text() in ("90°", "-90°")
    field.edited.emit(field.row, 30.0)
    assert session.committed.part("crank").grain_deg == 30.0
    kind = window.particulars.field("grain")
    kind.edited.emit(kind.row, False)
    assert session.committed.part("crank").grain_deg is None
    assert session.undo_stack.count() == 2


def test_metal_has_no_grain(window) -> None:
    sketch = window.session.committed
    window.session.commit("steel", replace(sketch, parts=tuple(
        replace(part, material="steel") for part in sketch.parts)))
    window.session.select([("part", "crank")])
    with pytest.raises(KeyError):
        window.particulars.field("grain_deg")
