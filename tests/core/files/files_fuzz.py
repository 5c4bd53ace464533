"""Breaks sketch files in every way we can think of and hands them to ``check``.

Run as a program with a seed and a count, under a memory limit; prints a line of counts, and
what went wrong. Kept out of the test itself so that memory can be bounded and a hang seen.
"""

from __future__ import annotations

import contextlib
import copy
import io
import json
import random
import re
import signal
import sys
import tempfile
import traceback
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any

from app.cli import run
from core.errors import CrankwrightError

MEMORY_BYTES = 1 << 30
HANG_S = 20
Draw = random.Random

LEAVES: list[Any] = [
    None, True, False, 0, -1, 1, 1e-300, 1e7, -1e7, 1e8, 10**30, 1.5, float("nan"),
    float("inf"), "", "x", "A", "frame", "frame.A", "a.b.c", ".", "\x00", "\ud800", "é" * 70,
    [], {}, [[]], [1, 2], [None], {"id": "x"}, {"kind": "disc", "radius_mm": 5},
    {"kind": "polygon", "outer": [[0, 0], [10, 0], [10, 10]]},
]


def broken_bytes(data: bytes, draw: Draw) -> bytes:
    """Flipped, inserted, lost, doubled or cut bytes."""
    raw = bytearray(data)
    for _ in range(draw.randrange(1, 6)):
        at = draw.randrange(len(raw) + 1)
        kind = draw.randrange(5)
        if kind == 0 and at < len(raw):
            raw[at] ^= 1 << draw.randrange(8)
        elif kind == 1:
            raw[at:at] = bytes([draw.choice(b'{}[],:"\\\x00\xff0e-.')])
        elif kind == 2:
            del raw[at:at + draw.randrange(1, 30)]
        elif kind == 3:
            raw[at:at] = raw[at:at + draw.randrange(1, 200)]
        else:
            del raw[at:]
    return bytes(raw)


def places(raw: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    """Every path into a JSON value."""
    found = [path] if path else []
    if isinstance(raw, (dict, list)):
        for key, inner in raw.items() if isinstance(raw, dict) else enumerate(raw):
            found += places(inner, (*path, key))
    return found


def broken_structure(data: bytes, draw: Draw) -> bytes:
    """Values swapped for others, keys lost or misspelt, entries doubled or mixed up."""
    raw = json.loads(data)
    for _ in range(draw.choice((1, 1, 1, 2, 4))):
        everywhere = places(raw)
        if not everywhere:
            break
        *way, last = draw.choice(everywhere)
        holder = raw
        for step in way:
            holder = holder[step]
        old = holder[last]
        kind = draw.randrange(6)
        if kind == 0:
            holder[last] = draw.choice(LEAVES)
        elif kind == 1:
            del holder[last]
        elif kind == 2 and isinstance(holder, dict):
            holder[str(last) + draw.choice("sx_")] = holder.pop(last)
        elif kind == 3 and isinstance(holder, list):
            holder.append(copy.deepcopy(old))
        elif kind == 4 and isinstance(holder, list):
            draw.shuffle(holder)
        else:
            holder[last] = copy.deepcopy(draw.choice([_at(raw, p) for p in everywhere[:200]]))
    return json.dumps(raw).encode("utf-8", "surrogatepass")


def broken_numbers(data: bytes, draw: Draw) -> bytes:
    """The very same structure with other numbers: sketches that open but hardly turn."""
    def other(match: re.Match[bytes]) -> bytes:
        if draw.random() > 0.06:
            return match[0]
        return draw.choice([b"0", b"1e-9", b"-7", b"1e6", b"0.1", b"99999999", b"3", b"-1e-300",
                            b"%.3f" % draw.gauss(0, 300)])
    return re.sub(rb"(?<=: )-?\d+(\.\d+)?", other, data)


def deep(data: bytes, draw: Draw) -> bytes:
    """Brackets within brackets, somewhere."""
    at = draw.randrange(len(data))
    many = draw.choice((10, 39, 45, 1000, 20_000))
    return data[:at] + draw.choice((b"[", b'{"a":')) * many + data[at:]


def _at(raw: Any, path: tuple[Any, ...]) -> Any:
    for step in path:
        raw = raw[step]
    return raw


BREAKERS: list[Callable[[bytes, Draw], bytes]] = [
    broken_bytes, broken_structure, broken_structure, broken_structure, broken_numbers, deep]


def verdict(path: Path) -> str:
    """What ``check`` makes of a file: its exit code, or what it must not do."""
    out, err = io.StringIO(), io.StringIO()
    try:
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
            code = run(["check", str(path)])
    except CrankwrightError as error:
        said = str(error)
        whole = said.endswith(".") and "\n" not in said and len(said) < 500 and not (
            out.getvalue() or err.getvalue())
        return "2" if whole else f"not one sentence: {said!r}"
    return str(code) if not err.getvalue() else f"on standard error: {err.getvalue()[:200]!r}"


def main(seed: int, count: int, sources: list[Path]) -> int:
    """Checks `count` broken files; the number that went wrong."""
    import resource  # only where there is such a thing; the breakers serve everywhere

    resource.setrlimit(resource.RLIMIT_DATA, (MEMORY_BYTES, MEMORY_BYTES))
    draw, counts, wrong = random.Random(seed), Counter[str](), 0
    kept = [source.read_bytes() for source in sources]
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "broken.json"
        for number in range(count):
            data = draw.choice(BREAKERS)(draw.choice(kept), draw)
            path.write_bytes(data)
            # Of the processor's time, so that a busy machine is no hang. Running out kills
            # this process, and the test then says at which file.
            signal.setitimer(signal.ITIMER_PROF, HANG_S)
            print(f"file {number}", file=sys.stderr, flush=True)
            try:
                found = verdict(path)
            except Exception:
                found = traceback.format_exc()
            signal.setitimer(signal.ITIMER_PROF, 0)
            counts[found if found in "012" else "wrong"] += 1
            if found not in ("0", "1", "2"):
                wrong += 1
                print(f"file {number} of seed {seed}: {found}\n{data[:3000]!r}")
    print(dict(sorted(counts.items())))
    return wrong


if __name__ == "__main__":
    _seed, _count, *_sources = sys.argv[1:]
    sys.exit(min(main(int(_seed), int(_count), [Path(name) for name in _sources]), 100))
