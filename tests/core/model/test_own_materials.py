"""Sheets and materials of the user's own: in the sketch, copied, removed, kept in a file."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from msgspec.structs import replace

from core.errors import CrankwrightError, EditError, FileError, SketchError
from core.files import (
    MATERIALS_FILE,
    drop_material,
    dumps,
    keep_material,
    kept_materials,
    loads,
    salvage,
)
from core.materials import breaking
from core.model import (
    Coil,
    Handle,
    HandStep,
    OwnFigure,
    OwnMaterial,
    Part,
    Pin,
    Point,
    Sketch,
    Spring,
    edits,
)
from core.model.stuff import material_of
from core.model.validate import problems

PLUM = OwnMaterial(id="plum", name="plum from the garden", density_kg_m3=780.0,
                   like="black-cherry", source="weighed",
                   figures=(OwnFigure(name="bending_mpa", low=80, high=95),))


def arm(name: str, material: str = "birch-plywood", thickness_mm: float = 6.5) -> Part:
    return Part(id=name, points=(Point(id="A", x=0, y=0), Point(id="B", x=50, y=0)),
                material=material, thickness_mm=thickness_mm)


def sketch(*parts: Part, **more) -> Sketch:
    return Sketch(parts=parts, **more)


# -- sheets ------------------------------------------------------------------------


def test_parts_of_one_sheet_are_found_though_one_was_measured_before() -> None:
    made = sketch(arm("a"), arm("b", thickness_mm=6.2), arm("c", thickness_mm=9.0),
                  arm("d", "beech"), arm("e", thickness_mm=5.9))
    assert edits.same_sheet(made, "a") == ("a", "b")  # 6.5 may be 6.0 to 6.9
    assert edits.same_sheet(made, "c") == ("c",)
    assert edits.same_sheet(made, "d") == ("d",)
    assert edits.same_sheet(made, "e") == ("e",)  # below what is sold as 6.5


def test_a_measured_thickness_goes_to_all_of_them_and_no_others() -> None:
    made = sketch(arm("a"), arm("b"), arm("c", thickness_mm=9.0))
    after = edits.set_sheet_thickness(made, edits.same_sheet(made, "a"), 6.15)
    assert [part.thickness_mm for part in after.parts] == [6.15, 6.15, 9.0]
    assert edits.same_sheet(after, "b") == ("a", "b")
    for wrong in (0.0, -1.0, float("nan"), float("inf")):
        with pytest.raises(EditError, match="above zero"):
            edits.set_sheet_thickness(made, ("a",), wrong)


# -- in the sketch -----------------------------------------------------------------


def test_an_own_material_comes_before_the_table_and_takes_the_rest_from_it() -> None:
    made = edits.put_material(sketch(arm("a", "plum")), PLUM)
    plum = material_of(made.materials, "plum")
    assert breaking(plum, "bending").trust == "own"
    assert (breaking(plum, "bending").low, breaking(plum, "bending").high) == (80, 95)
    assert breaking(plum, "compression").middle == 49.0  # like cherry
    assert breaking(plum, "compression").trust == "own"  # that plum is so, the user says
    assert breaking(plum, "compression").source.startswith("as black cherry: USDA")
    assert "specific_gravity" not in plum.figures  # follows from its own density
    assert problems(made) == []
    heavier = edits.put_material(made, replace(PLUM, density_kg_m3=800.0))
    assert [own.density_kg_m3 for own in heavier.materials] == [800.0]
    assert loads(dumps(heavier)) == heavier


def test_it_can_be_removed_only_when_nothing_is_made_of_it() -> None:
    made = edits.put_material(sketch(
        arm("a", "plum"), arm("b", "plum"), pins=(Pin(id="p", at=("a.A", "b.A"),
                                                      material="plum"),),
        springs=(Spring(id="s", a="a.B", b="b.B", rate_n_per_mm=1.0, free_length_mm=9.0,
                        coil=Coil(material="plum", wire_mm=1, mean_mm=8, turns=10)),),
        handle=Handle(steps=(HandStep(driver=10, driven=20, material="plum"),))), PLUM)
    assert edits.material_users(made, "plum") == ("a", "b", "p", "s", "the handle")
    with pytest.raises(EditError, match=r"'plum' is what a, b, p and 2 more are made of"):
        edits.remove_material(made, "plum")
    freed = edits.rematerial(made, "plum", "beech")
    assert edits.material_users(freed, "plum") == ()
    assert edits.material_users(freed, "beech") == edits.material_users(made, "plum")
    assert edits.remove_material(freed, "plum").materials == ()


def test_one_that_stands_before_the_tables_own_can_always_go() -> None:
    mine = OwnMaterial(id="beech", name="my beech", density_kg_m3=700)
    made = edits.put_material(sketch(arm("a", "beech")), mine)
    assert material_of(made.materials, "beech").name == "my beech"
    after = edits.remove_material(made, "beech")
    assert material_of(after.materials, "beech").name == "American beech"


def test_like_must_be_in_the_table() -> None:
    with pytest.raises(EditError, match="not in the table"):
        edits.put_material(sketch(), replace(PLUM, like="moonwood"))


def test_copied_parts_bring_their_material_along() -> None:
    source = edits.put_material(sketch(arm("a", "plum"), arm("b")), PLUM)
    assert edits.copy_parts(source, ["b"]).materials == ()
    clip = edits.copy_parts(source, ["a"])
    assert clip.materials == (PLUM,)
    pasted, _ = edits.paste(sketch(arm("c")), clip, 5, 5)
    assert pasted.materials == (PLUM,)
    again, _ = edits.paste(pasted, clip, 10, 10)
    assert again.materials == (PLUM,)
    other = edits.put_material(sketch(arm("c", "plum")), replace(PLUM, density_kg_m3=600))
    mixed, (name,) = edits.paste(other, clip, 5, 5)
    assert [own.id for own in mixed.materials] == ["plum", "plum 2"]
    assert mixed.part(name).material == "plum 2"
    assert material_of(mixed.materials, "plum 2").density_kg_m3 == 780
    assert problems(mixed) == []


@pytest.mark.parametrize(("own", "place", "words"), [
    (replace(PLUM, id=" "), "materials[0].id", "no proper name"),
    (replace(PLUM, like="cherri"), "materials[0].like", "no material called"),
    (replace(PLUM, density_kg_m3=-3.0), "materials[0].density_kg_m3", ""),
    (replace(PLUM, figures=(OwnFigure(name="bending_mpa", low=9, high=3),)),
     "materials[0].figures[0]", "runs backwards"),
    (replace(PLUM, figures=(OwnFigure(name="bending_mpa", low=0, high=3),)),
     "materials[0].figures[0].low", "too small"),
    (replace(PLUM, figures=(OwnFigure(name="bendign_mpa", low=3, high=9),)),
     "materials[0].figures[0].name", "nothing is known of"),
    (replace(PLUM, figures=2 * (OwnFigure(name="bending_mpa", low=3, high=9),)),
     "materials[0].figures[1].name", "given twice"),
])
def test_unsound_materials_are_told_with_their_place(own, place: str, words: str) -> None:
    found = problems(sketch(materials=(own,)))
    assert any(p.place == place and words in p.what for p in found)
    rescued, lost = salvage(dumps(sketch(arm("a"), materials=(own,))))
    assert rescued.part("a") == arm("a")
    assert lost or rescued.materials == (own,)


def test_two_of_one_name_are_told() -> None:
    found = problems(sketch(materials=(PLUM, PLUM)))
    assert any("is taken by materials[0]" in p.what for p in found)


# -- kept for all sketches ---------------------------------------------------------


def test_materials_are_kept_in_a_folder_and_dropped_again(tmp_path: Path) -> None:
    folder = tmp_path / "not there yet" / "own"
    assert kept_materials(folder) == ()
    assert keep_material(folder, PLUM) == (PLUM,)
    ash = replace(PLUM, id="ash", name="ash")
    assert keep_material(folder, ash) == (PLUM, ash)
    heavier = replace(PLUM, density_kg_m3=800.0)
    assert keep_material(folder, heavier) == (heavier, ash)
    assert kept_materials(folder) == (heavier, ash)
    assert drop_material(folder, "plum") == (ash,)
    assert drop_material(folder, "plum") == (ash,)
    assert (folder / (MATERIALS_FILE + ".bak")).exists()
    assert not list(folder.glob(".*"))  # nothing half written


@pytest.mark.parametrize(("text", "words"), [
    ("{", "not JSON"),
    ("[]", "JSON object"),
    ('{"format": "crankwright", "version": 1}', "is not known here"),
    ('{"format": "crankwright-materials", "version": 2}', "version"),
    ('{"format": "crankwright-materials", "version": 1, "stuff": []}', "key is not known"),
    ('{"format": "crankwright-materials", "version": 1, "materials": [{"id": "x"}]}',
     "is missing"),
    ('{"format": "crankwright-materials", "version": 1, "materials": [{"id": "x",'
     ' "name": "x", "density_kg_m3": -1}]}', "materials[0].density_kg_m3"),
    ('{"format": "crankwright-materials", "version": 1, "materials": [{"id": "x",'
     ' "name": "x", "density_kg_m3": 1e400}]}', "not finite"),
])
def test_a_damaged_file_is_told_in_one_sentence_and_never_written_over(
    tmp_path: Path, text: str, words: str
) -> None:
    path = tmp_path / MATERIALS_FILE
    path.write_text(text)
    for act in (lambda: kept_materials(tmp_path), lambda: keep_material(tmp_path, PLUM),
                lambda: drop_material(tmp_path, "x")):
        with pytest.raises(FileError) as told:
            act()
        assert words in str(told.value) or "version" in words
        assert str(told.value).count("\n") == 0
    assert path.read_text() == text


def test_an_unsound_material_is_not_kept(tmp_path: Path) -> None:
    with pytest.raises(SketchError):
        keep_material(tmp_path, replace(PLUM, density_kg_m3=0.0))
    assert not (tmp_path / MATERIALS_FILE).exists()


def test_a_folder_that_cannot_be_is_told(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("here")
    with pytest.raises(CrankwrightError):
        keep_material(tmp_path / "file", PLUM)


def test_the_file_can_be_read_and_typed(tmp_path: Path) -> None:
    keep_material(tmp_path, PLUM)
    raw = json.loads((tmp_path / MATERIALS_FILE).read_text())
    assert raw["format"] == "crankwright-materials"
    assert raw["materials"][0]["figures"][0] == {"name": "bending_mpa", "low": 80, "high": 95}
