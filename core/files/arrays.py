"""Arrays that come with Crankwright: numbers made by a command, shipped compressed."""

from __future__ import annotations

import io
import os
import zipfile
import zlib
from importlib.resources import files
from typing import Any

import numpy as np
from numpy.typing import NDArray

from core.errors import FileError
from core.files.atomic import write_bytes

Arrays = dict[str, NDArray[Any]]


def shipped_arrays(folder: str, name: str) -> Arrays:
    """The arrays of ``assets/FOLDER/NAME.npz``, by name.

    Raises FileError when it is missing or damaged.
    """
    where = f"{folder}/{name}.npz"
    try:
        data = files("assets").joinpath(folder, f"{name}.npz").read_bytes()
        with np.load(io.BytesIO(data), allow_pickle=False) as found:
            return {key: found[key] for key in found.files}
    except FileNotFoundError:
        raise FileError("it is missing from this installation", where,
                        "install Crankwright anew") from None
    except (OSError, ValueError, EOFError, KeyError, zipfile.BadZipFile, zlib.error):
        raise FileError("it is damaged", where, "install Crankwright anew") from None


def write_arrays(path: str | os.PathLike[str], arrays: Arrays) -> int:
    """Write arrays compressed, all or nothing; equal arrays give equal bytes. How many
    bytes it took. Raises FileError as :func:`core.files.write_bytes`."""
    buffer = io.BytesIO()
    np.savez_compressed(buffer, allow_pickle=False,
                        **{key: arrays[key] for key in sorted(arrays)})
    write_bytes(path, buffer.getvalue())
    return buffer.getbuffer().nbytes
