"""The window and the commands. No mechanics here."""

import os

# Before numpy is loaded: the matrices of a turn are many and small, and threads for each
# cost hundreds of times what they save.
for _threads in ("OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "VECLIB_MAXIMUM_THREADS"):
    os.environ.setdefault(_threads, "1")
