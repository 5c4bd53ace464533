"""Work for crews, done in processes that have to find it by name."""

from __future__ import annotations

import os
import signal
import sys
import time
from collections.abc import Callable

from core.wanted.find.crew import Crew

Keep = Callable[[], bool]


def adding(common: int, job: int, going: Keep) -> tuple[int, int]:
    """A sum, and who made it."""
    return common + job, os.getpid()


def dying(owner: int, job: int, going: Keep) -> int:
    """Some jobs are the end of any process but the owner."""
    if job % 5 == 2 and os.getpid() != owner:
        os.kill(os.getpid(), signal.SIGTERM)
        time.sleep(600)
    return job


def failing(common: None, job: int, going: Keep) -> int:
    """A fault of ours in one job."""
    if job == 3:
        raise ZeroDivisionError("nothing to divide by")
    return job


def patient(common: None, job: int, going: Keep) -> int:
    """Goes on until it is stopped."""
    while going():
        time.sleep(0.005)
    return job


def _main() -> None:
    """Have two workers at work for ever, once that is said."""
    crew = Crew(2)
    crew.ready()

    def going() -> bool:
        if all(one.doing is not None for one in crew._hands):
            print("busy", flush=True)
        return True

    for _ in crew.share(patient, None, range(8), going):
        pass


if __name__ == "__main__":
    _main() if sys.argv[1:] == ["busy"] else Crew(2).ready()
