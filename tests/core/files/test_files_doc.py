"""docs/format.md says what is so: its example opens, its tables are the structs'."""

from __future__ import annotations

import re
from pathlib import Path

from core.files import dumps, loads
from core.files.fields import FIELDS
from core.files.handbook import filled

DOCUMENT = Path(__file__).parents[3] / "docs" / "format.md"


def test_the_example_is_a_four_bar_of_thirty_lines() -> None:
    text = DOCUMENT.read_text(encoding="utf-8")
    (example,) = re.findall(r"```json\n(.*?)```", text, re.DOTALL)
    sketch = loads(example.encode())
    assert example.count("\n") <= 30
    assert len(sketch.parts) == 4
    assert sketch.point("coupler.P").trace
    assert loads(dumps(sketch)) == sketch


def test_the_tables_are_those_of_the_structs() -> None:
    # After a change: python -m core.files.handbook docs/format.md
    text = DOCUMENT.read_text(encoding="utf-8")
    assert filled(text) == text
    for name in FIELDS:
        assert text.count(f"<!-- fields of {name} -->") == 1
