"""A window needs a display; without one there is a sentence, not an abort."""

from __future__ import annotations

import sys

import pytest

from app.display import require_display
from core.errors import CrankwrightError

pytestmark = pytest.mark.skipif(not sys.platform.startswith("linux"),
                                reason="elsewhere there is always a display")


@pytest.mark.parametrize("environment", [
    {}, {"DISPLAY": ""}, {"QT_QPA_PLATFORM": "xcb", "WAYLAND_DISPLAY": "wayland-0"},
    {"DISPLAY": ":987"}, {"DISPLAY": "unix:987.0"},
])
def test_without_a_display_the_way_on_is_named(environment: dict[str, str]) -> None:
    with pytest.raises(CrankwrightError, match="display") as caught:
        require_display(environment)
    assert "sheets FILE" in str(caught.value)


@pytest.mark.parametrize("environment", [
    {"QT_QPA_PLATFORM": "offscreen"}, {"QT_QPA_PLATFORM": "offscreen:fonts=x"},
    {"WAYLAND_DISPLAY": "wayland-0"}, {"DISPLAY": "elsewhere:0"},
])
def test_other_platforms_are_left_to_qt(environment: dict[str, str]) -> None:
    require_display(environment)
