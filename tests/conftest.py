"""Settings of every test: windows without a screen, repeatable draws, one BLAS thread."""

from __future__ import annotations

import os

# Before numpy or Qt is imported anywhere.
os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from hypothesis import HealthCheck, settings

# No deadline: a test never asserts a wall-clock time.
settings.register_profile("repeatable", derandomize=True, deadline=None, print_blob=True,
                          suppress_health_check=[HealthCheck.too_slow])
settings.register_profile("search", deadline=None, max_examples=1000)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "repeatable"))
