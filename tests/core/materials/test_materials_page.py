"""The page about materials is what the program knows."""

from __future__ import annotations

from pathlib import Path

from core.files.materials_page import LETTERS, filled
from core.materials import MATERIALS
from core.materials.names import FIGURE_WORDS, FIGURES_OF, STUFF_WORDS, TRUST_WORDS

PAGE = Path(__file__).parents[3] / "docs" / "materials.md"


def test_the_tables_of_the_page_are_those_of_the_program() -> None:
    """`python -m core.files.materials_page docs/materials.md` makes them anew."""
    text = PAGE.read_text(encoding="utf-8")
    assert filled(text) == text


def test_every_material_and_trust_is_on_the_page() -> None:
    text = PAGE.read_text(encoding="utf-8")
    for each in MATERIALS.values():
        assert f"| {each.name} |" in text
    assert LETTERS.keys() == TRUST_WORDS.keys()
    for words in TRUST_WORDS.values():
        assert words in text


def test_every_figure_of_the_table_has_a_name_in_words() -> None:
    used = {name for each in MATERIALS.values() for name in each.figures}
    assert used <= FIGURE_WORDS.keys()
    assert {name for names in FIGURES_OF.values() for name in names} <= FIGURE_WORDS.keys()
    assert FIGURES_OF.keys() == STUFF_WORDS.keys()
