"""docs/findings.md lists every kind of finding there is, and no other."""

from __future__ import annotations

import re
from pathlib import Path

ROOT = Path(__file__).parents[3]


def test_the_page_lists_exactly_the_codes_in_the_source() -> None:
    page = (ROOT / "docs" / "findings.md").read_text(encoding="utf-8")
    listed = re.findall(r"^\| `([a-z-]+)` \|", page, re.MULTILINE)
    source = "".join(path.read_text(encoding="utf-8")
                     for path in sorted((ROOT / "core" / "findings").glob("*.py")))
    used = set(re.findall(r"Finding\(\s*\"([a-z-]+)\"", source))
    used |= set(re.findall(r"\bcode(?:, grade)? = \"([a-z-]+)\"", source))
    used |= set(re.findall(r"code = \"([a-z-]+)\" if .* else \"([a-z-]+)\"", source)[0])
    assert len(listed) == len(set(listed))
    assert set(listed) == used
