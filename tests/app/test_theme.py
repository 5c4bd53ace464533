"""Colours can be read and told apart."""

from __future__ import annotations

import pytest
from PySide6.QtGui import QColor

from app.theme import FAMILY, THEMES, Theme, contrast, load_font

#: Web Content Accessibility Guidelines 2.2: 1.4.3 (text 4.5:1), 1.4.11 (graphics 3:1).
TEXT, GRAPHIC = 4.5, 3.0


def test_contrast_agrees_with_the_published_extremes() -> None:
    # WCAG 2.2, definition of contrast ratio: black on white is 21:1, equal colours 1:1.
    assert contrast(QColor("#000000"), QColor("#ffffff")) == pytest.approx(21.0)
    assert contrast(QColor("#777777"), QColor("#777777")) == pytest.approx(1.0)


@pytest.mark.parametrize("theme", THEMES.values(), ids=lambda t: t.name)
@pytest.mark.parametrize("ground", ["paper", "panel", "field"])
@pytest.mark.parametrize("ink", ["ink", "faint", "fault_text", "warning_text", "wish"])
def test_text_can_be_read_on_every_ground(theme: Theme, ground: str, ink: str) -> None:
    assert contrast(getattr(theme, ink), getattr(theme, ground)) >= TEXT


@pytest.mark.parametrize("theme", THEMES.values(), ids=lambda t: t.name)
def test_marks_and_focus_stand_out(theme: Theme) -> None:
    assert contrast(theme.fault, theme.paper) >= GRAPHIC
    assert contrast(theme.accent, theme.panel) >= GRAPHIC
    assert contrast(QColor(theme.accent_text_hex), theme.accent) >= TEXT


@pytest.mark.parametrize("theme", THEMES.values(), ids=lambda t: t.name)
def test_neighbouring_layers_differ_and_outlines_show_on_every_wood(theme: Theme) -> None:
    for layer in range(len(theme.woods)):
        assert theme.wood(layer) != theme.wood(layer + 1)
    if not theme.dark:
        assert all(contrast(QColor(wood), theme.ink) >= TEXT for wood in theme.woods)


def test_the_bundled_font_loads(qapp) -> None:
    assert load_font() == FAMILY


def test_the_finding_colours_are_those_of_okabe_and_ito() -> None:
    # Okabe & Ito, Color Universal Design (2002): vermilion, orange, sky blue, green.
    light = THEMES["light"]
    assert light.fault_hex == "#d55e00"
    assert light.warning_hex == "#e69f00"
    assert light.note_hex == "#56b4e9"
    assert light.good_hex == "#009e73"
