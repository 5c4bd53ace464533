"""Freed memory stays with the program where the C library can be asked for it."""

from __future__ import annotations

import subprocess
import sys

import pytest

from app.memory import keep_freed_memory

#: Allocates and frees 40 MB over and over and prints the page faults of one round.
ROUNDS = """
import resource, sys
import numpy as np
from app.memory import keep_freed_memory
if sys.argv[1] == "keep":
    keep_freed_memory()
def round_():
    blocks = [np.ones(1 << 17) for _ in range(40)]
    del blocks
for _ in range(5):
    round_()
before = resource.getrusage(resource.RUSAGE_SELF).ru_minflt
for _ in range(10):
    round_()
print((resource.getrusage(resource.RUSAGE_SELF).ru_minflt - before) // 10)
"""


def faults(how: str) -> int:
    done = subprocess.run([sys.executable, "-c", ROUNDS, how], capture_output=True, text=True,
                          check=True)
    return int(done.stdout)


@pytest.mark.skipif(not keep_freed_memory(), reason="the C library offers no such setting")
def test_arrays_made_anew_take_no_page_faults() -> None:
    assert faults("keep") < 100 < faults("leave")
