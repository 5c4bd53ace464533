"""Thousands of broken files through ``check``: a result or one sentence, never a traceback,
a hang or a gigabyte."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[3]
SOURCES = sorted([*(ROOT / "tests" / "formats" / "v1").glob("*.json"),
                  *(ROOT / "assets" / "demos").glob("*.json")])


@pytest.mark.parametrize("seed", [11, 12])
def test_a_broken_file_is_checked_or_refused_in_one_sentence(seed: int) -> None:
    # A process of its own, so that the memory limit and the hang guard hold for it alone.
    done = subprocess.run(
        [sys.executable, str(Path(__file__).with_name("files_fuzz.py")), str(seed), "1000",
         *map(str, SOURCES)],
        cwd=ROOT, env={**os.environ, "PYTHONPATH": str(ROOT)}, capture_output=True, text=True)
    last = done.stderr.strip().rpartition("\n")[2]
    assert done.returncode == 0, f"{done.stdout}\nlast: {last}, seed {seed}"
    counts = done.stdout.strip().rpartition("\n")[2]
    assert all(f"'{code}'" in counts for code in "012")
