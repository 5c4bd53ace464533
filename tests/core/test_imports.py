"""The house rules that can be read off the source: who imports whom, who touches files."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
SOURCES = sorted(p for room in ("app", "core", "tests", "assets")
                 for p in (ROOT / room).rglob("*.py"))
CORE = [path for path in SOURCES if path.relative_to(ROOT).parts[0] == "core"]

GROUND = {"errors", "wording", "units", "materials"}
MECHANICS = GROUND | {"model", "motion", "space", "effort"}
#: What each room of core may import, itself apart. `files` and `motion` both stand on
#: `model` and do not know each other.
MAY_IMPORT = {
    "errors": set(),
    "wording": set(),
    "units": {"errors"},
    "materials": {"errors", "units"},
    "model": GROUND,
    "files": GROUND | {"model"},
    "motion": GROUND | {"model"},
    "space": GROUND | {"model", "motion"},
    "effort": GROUND | {"model", "motion", "space"},
    # It reads the atlas it ships with, and no other file.
    "wanted": MECHANICS | {"files"},
    "making": MECHANICS | {"wanted"},
    "pleasant": MECHANICS | {"wanted", "making"},
    "findings": MECHANICS | {"wanted", "making", "pleasant"},
    "study": MECHANICS | {"wanted", "making", "pleasant", "findings"},
    "drawing": MECHANICS | {"wanted", "making", "pleasant", "findings", "study"},
}

#: Calls that reach outside the program.
OUTSIDE_NAMES = {"open", "print", "input", "exec", "eval"}
OUTSIDE_METHODS = {
    "write_text", "write_bytes", "read_text", "read_bytes", "mkdir", "unlink", "rmdir",
    "touch", "rename", "savetxt", "loadtxt", "genfromtxt", "fromfile", "tofile", "savez",
    "urlopen", "getenv",
}
OUTSIDE_MODULES = {
    "io", "os", "pathlib", "shutil", "socket", "subprocess", "tempfile", "urllib",
}


def relative(path: Path) -> str:
    return path.relative_to(ROOT).as_posix()


def room_of(path: Path) -> str:
    """The room of a file under core: its folder, or the module itself."""
    return path.relative_to(ROOT / "core").parts[0].removesuffix(".py")


def imported(path: Path) -> Iterator[tuple[int, str]]:
    """Line and dotted name of everything a file imports, inside functions too."""
    package = ".".join(path.relative_to(ROOT).parent.parts)
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            for alias in node.names:
                yield node.lineno, alias.name
        elif isinstance(node, ast.ImportFrom):
            base = node.module or ""
            if node.level:
                stem = package.split(".")[: len(package.split(".")) - node.level + 1]
                base = ".".join([*stem, base] if base else stem)
            for alias in node.names:
                yield node.lineno, f"{base}.{alias.name}"


@pytest.mark.parametrize("path", CORE, ids=relative)
def test_a_room_of_core_imports_only_rooms_below_it(path: Path) -> None:
    room = room_of(path)
    if room == "__init__":
        return
    assert room in MAY_IMPORT, f"core/{room} has no place in the order of rooms"
    wrong = []
    for line, name in imported(path):
        words = name.split(".")
        if words[0] in {"app", "tests", "PySide6", "pyqtgraph", "shiboken6"} or (
            words[0] == "core" and len(words) > 1
            and words[1] not in MAY_IMPORT[room] | {room}
        ):
            wrong.append(f"{relative(path)}:{line} imports {name}")
    assert not wrong


def test_the_order_of_rooms_has_no_circle() -> None:
    left = {room: set(below) for room, below in MAY_IMPORT.items()}
    while left:
        free = {room for room, below in left.items() if not below & left.keys()}
        assert free, f"these rooms import each other: {sorted(left)}"
        for room in free:
            del left[room]


def test_core_imports_with_qt_blocked() -> None:
    script = """
import importlib, pkgutil, sys

class NoQt:
    def find_spec(self, name, path=None, target=None):
        if name.split(".")[0] in {"PySide6", "shiboken6", "pyqtgraph", "app"}:
            raise ImportError(f"core asked for {name}")

sys.meta_path.insert(0, NoQt())
import core
names = [m.name for m in pkgutil.walk_packages(core.__path__, "core.")]
for name in names:
    importlib.import_module(name)
print(len(names))
"""
    done = subprocess.run([sys.executable, "-c", script], cwd=ROOT, text=True,
                          capture_output=True)
    assert done.returncode == 0, done.stderr
    assert int(done.stdout) >= 10


@pytest.mark.parametrize("path", [p for p in CORE if room_of(p) != "files"], ids=relative)
def test_only_the_files_room_reaches_outside_the_program(path: Path) -> None:
    found = [f"line {line} imports {name}" for line, name in imported(path)
             if name.split(".")[0] in OUTSIDE_MODULES]
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if not isinstance(node, ast.Call):
            continue
        call = node.func
        if isinstance(call, ast.Name) and call.id in OUTSIDE_NAMES:
            found.append(f"line {node.lineno} calls {call.id}")
        elif isinstance(call, ast.Attribute) and call.attr in OUTSIDE_METHODS:
            found.append(f"line {node.lineno} calls .{call.attr}")
    assert not found, f"{relative(path)}: {found}"


def test_the_window_leaves_the_mechanics_to_core() -> None:
    wrong = [f"{relative(path)}:{line} imports {name}"
             for path in SOURCES if path.relative_to(ROOT).parts[0] == "app"
             if path.parent.name != "bench"  # measures ours against the general solver
             for line, name in imported(path) if name.split(".")[0] == "scipy"]
    assert not wrong


@pytest.mark.parametrize("path", CORE, ids=relative)
def test_every_public_name_of_core_says_what_it_is(path: Path) -> None:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    bare = [node.name for node in tree.body
            if isinstance(node, ast.FunctionDef | ast.ClassDef)
            and not node.name.startswith("_") and not ast.get_docstring(node)]
    assert not bare, f"{relative(path)}: no docstring on {bare}"


def test_every_folder_of_sources_is_a_package() -> None:
    """Else what walks through packages, the check without Qt above too, passes it by."""
    folders = {p.parent for p in SOURCES if p.relative_to(ROOT).parts[0] in {"app", "core"}}
    assert [relative(f) for f in sorted(folders) if not (f / "__init__.py").exists()] == []


def test_every_source_file_stays_under_400_lines() -> None:
    lengths = {relative(p): len(p.read_text(encoding="utf-8").splitlines()) for p in SOURCES}
    assert {name: n for name, n in lengths.items() if n >= 400} == {}


def test_no_file_names_a_place_on_somebodys_machine() -> None:
    folders = "|".join(("work", "root", "home", "opt", "Users"))
    private = re.compile(rf"(?<![\w.~<-])/(?:{folders})/\w")
    texts = [p for p in ROOT.rglob("*")
             if p.suffix in {".py", ".md", ".toml", ".txt", ".json", ".sh", ""} and p.is_file()
             and not any(w == "out" or w.startswith(".") or w.endswith(".egg-info")
                         for w in p.relative_to(ROOT).parts)]
    assert len(texts) > 20
    found = [f"{relative(p)}: {hit.group()}" for p in texts
             for hit in private.finditer(p.read_text(encoding="utf-8", errors="replace"))]
    assert not found


def test_the_window_opens_without_loading_scipy() -> None:
    """It would take a quarter of the start; whoever needs it loads it when asked."""
    script = "import sys, app.window; sys.exit('scipy' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", script], cwd=ROOT, capture_output=True)
    assert done.returncode == 0, done.stderr
