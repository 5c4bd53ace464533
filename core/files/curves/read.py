"""One door for curves in files of any kind."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from core.errors import CrankwrightError, FileError
from core.files.curves.curve import Curve, tidied
from core.files.raw import LARGEST_BYTES, read_bytes

KINDS = ("svg", "dxf", "csv")
_ENDINGS = {"svg": "svg", "dxf": "dxf", "csv": "csv", "tsv": "csv", "txt": "csv", "dat": "csv"}


def read_curves(source: str | Path | bytes, kind: str = "", *,
                where: str = "") -> tuple[Curve, ...]:
    """The curves in a file, the longest first.

    Parameters
    ----------
    source : the file, or its bytes.
    kind : "svg", "dxf" or "csv"; "" goes by the ending of the file's name.
    where : name of the file for messages; "" takes it from `source`.

    SVG lengths without a unit are CSS pixels (96 to the inch), y is turned up from the foot
    of the page; DXF lengths go by the header's $INSUNITS, mm without; CSV lengths are mm
    unless a heading says otherwise (see `core.files.curves.table`). Nothing outside the
    file is read, whatever it refers to.

    Raises
    ------
    FileError
        The file cannot be read, is of no known kind, damaged, too large or has no curve.
    """
    if isinstance(source, bytes):
        data = source
    else:
        where = where or Path(source).name
        kind = kind or _ENDINGS.get(Path(source).suffix.casefold().lstrip("."), "")
        data = read_bytes(Path(source))
    if kind not in KINDS:
        raise FileError("only SVG, DXF and CSV can be read as a path", where,
                        "save the path as one of these")
    if len(data) > LARGEST_BYTES:
        raise FileError(f"the file is larger than {LARGEST_BYTES // 1_000_000} MB", where,
                        "save the path alone in it")
    if not data.strip(b"\xef\xbb\xbf \t\r\n\0"):
        raise FileError("the file is empty", where, "choose another file")
    try:
        return tidied(_reader(kind)(data, where), where)
    except CrankwrightError:
        raise
    except RecursionError:
        raise FileError("it is nested too deep", where, "save the path alone in it") from None
    except Exception as fault:  # libraries meet damaged files with errors of many kinds
        raise FileError(f"it cannot be read as {kind.upper()} ({type(fault).__name__})", where,
                        "save it anew where it was drawn") from None


def _reader(kind: str) -> Callable[[bytes, str], list[Curve]]:
    """The reader of a kind; loaded when first asked for."""
    if kind == "svg":
        from core.files.curves.svg import svg_curves as read
    elif kind == "dxf":
        from core.files.curves.dxf import dxf_curves as read
    else:
        from core.files.curves.table import table_curves as read
    return read
