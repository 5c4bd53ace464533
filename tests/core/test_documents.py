"""What the documents point at is there: links, pictures, modules and commands."""

from __future__ import annotations

import re
from importlib.util import find_spec
from pathlib import Path

import pytest

from app.cli import COMMANDS

ROOT = Path(__file__).parents[2]
PAGES = sorted([*ROOT.glob("*.md"), *(ROOT / "docs").glob("*.md")])


def relative(path: Path) -> str:
    return path.relative_to(ROOT).as_posix()


@pytest.mark.parametrize("page", PAGES, ids=relative)
def test_every_link_of_a_page_leads_to_a_file(page: Path) -> None:
    links = re.findall(r"\]\(([^)#\s]+)", page.read_text(encoding="utf-8"))
    lost = [link for link in links if "://" not in link
            and not (page.parent / link).exists()]
    assert lost == []


@pytest.mark.parametrize("page", PAGES, ids=relative)
def test_every_module_a_page_runs_is_there(page: Path) -> None:
    named = re.findall(r"python -m ([\w.]+)", page.read_text(encoding="utf-8"))
    assert [name for name in named if find_spec(name) is None] == []


@pytest.mark.parametrize("page", PAGES, ids=relative)
def test_every_command_a_page_gives_is_one(page: Path) -> None:
    text = re.sub(r"\s+", " ", page.read_text(encoding="utf-8"))
    given = set(re.findall(r"`[^`]*\bcrankwright ([a-z]+)\b", text))
    assert sorted(given - set(COMMANDS)) == []


def test_every_page_is_named_in_the_readme() -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    assert [relative(page) for page in PAGES
            if page.parent.name == "docs" and relative(page) not in readme] == []
