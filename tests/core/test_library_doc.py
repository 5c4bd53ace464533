"""docs/library.md is run as it is printed."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]


def test_the_library_page_runs_as_printed() -> None:
    page = (ROOT / "docs" / "library.md").read_text(encoding="utf-8")
    blocks = re.findall(r"```python\n(.*?)```", page, re.DOTALL)
    assert len(blocks) == 6
    done = subprocess.run([sys.executable, "-c", "\n".join(blocks)], cwd=ROOT, text=True,
                          capture_output=True)
    assert done.returncode == 0, done.stderr
    travel, need = re.findall(r"(\d+) (?:mm up|N·mm at)", done.stdout)
    assert int(travel) > 20
    assert int(need) > 0
    off, before, after = map(float, re.findall(
        r"([\d.]+) (?:mm at worst|before the fit|after)", done.stdout))
    assert off < 2.0
    assert after < 1.0 < before
    push, small, large = re.search(
        r"([\d.]+) N to push.*?(\d+) into (\d+) teeth", done.stdout, re.DOTALL).groups()
    assert float(push) > 0
    assert 2.5 <= int(large) / int(small) <= 3.125
    assert "cross pin" in done.stdout


def test_the_first_example_is_ten_lines_or_fewer() -> None:
    page = (ROOT / "docs" / "library.md").read_text(encoding="utf-8")
    first = re.search(r"```python\n(.*?)```", page, re.DOTALL)
    assert first is not None
    assert len([line for line in first[1].splitlines() if line.strip()]) <= 10
