"""Writing that never leaves half a file, and keeps the one before."""

from __future__ import annotations

import contextlib
import os
import secrets
import shutil
import stat
from pathlib import Path

from core.errors import FileError


def write_bytes(path: str | os.PathLike[str], data: bytes, keep_previous: bool = False) -> None:
    """Put `data` in a file, all or nothing.

    A temporary file beside it is written, flushed to the disk and moved into place, so a
    crash or a full disk leaves the old file whole. Permissions stay; a symbolic link
    stays a link. With `keep_previous` the old file is kept as ``NAME.bak``; writing what
    is there already changes nothing, so that the kept one remains the one before.

    Raises
    ------
    FileError
        When the folder is missing or not writable, the file is read-only, the disk full.
    """
    try:
        target = Path(os.path.realpath(path))
        mode = _mode(target)
        if keep_previous and target.is_file() and _same(target, data):
            return
        _replace(target, data, mode, keep_previous)
    except FileError:
        raise
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "the name is not usable"
        raise FileError(f"it cannot be written ({reason.lower()})", str(path),
                        "save it under another name or in another folder") from None


def make_folder(folder: str | os.PathLike[str]) -> None:
    """Make a folder, and those it lies in, where they are not there yet.

    Raises
    ------
    FileError
        When that cannot be, as where a file of the name lies there.
    """
    try:
        Path(folder).mkdir(parents=True, exist_ok=True)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "the name is not usable"
        raise FileError(f"it cannot be made ({reason.lower()})", str(folder),
                        "choose another folder") from None


def _mode(target: Path) -> int | None:
    """Permission bits of the old file, None when there is none."""
    if target.is_dir():
        raise FileError("this is a folder", str(target), "add a file name")
    if not target.parent.is_dir():
        raise FileError("the folder does not exist", str(target.parent),
                        "make it or choose another")
    if not target.exists():
        return None
    mode = stat.S_IMODE(target.stat().st_mode)
    if not mode & stat.S_IWUSR or not os.access(target, os.W_OK):
        raise FileError("the file is read-only", str(target),
                        "save it under another name or allow writing")
    return mode


def _same(target: Path, data: bytes) -> bool:
    return target.stat().st_size == len(data) and target.read_bytes() == data


def _replace(target: Path, data: bytes, mode: int | None, keep_previous: bool) -> None:
    name = target.with_name(f".{target.name[:40]}.{secrets.token_hex(4)}.tmp")
    try:
        with open(name, "xb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        if mode is not None:
            os.chmod(name, mode)
        if keep_previous and target.is_file():
            _keep(target)
        os.replace(name, target)
    except BaseException:
        with contextlib.suppress(OSError):
            os.unlink(name)
        raise
    _sync_folder(target.parent)


def _keep(target: Path) -> None:
    """Keep the old file as NAME.bak. A second name for it costs nothing; where the file
    system has none, a copy. A failure must not stop the save itself."""
    kept = target.with_name(target.name + ".bak")
    half = target.with_name(f".{target.name}.bak~")
    with contextlib.suppress(OSError):
        half.unlink(missing_ok=True)
        try:
            os.link(target, half)
        except OSError:
            shutil.copy2(target, half)
        try:
            os.replace(half, kept)
        finally:
            half.unlink(missing_ok=True)


def _sync_folder(folder: Path) -> None:
    """Make the move itself safe against power loss, where folders can be opened."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
