"""The published schema: valid by itself, true of our files, complete in words."""

from __future__ import annotations

import contextlib
import copy
import json
import random
from collections.abc import Iterator
from typing import Any

import jsonschema
import msgspec
import pytest
from files_fuzz import broken_numbers, broken_structure
from files_samples import EVERYTHING, FORMATS, FOUR_BAR

import core.model
from core.errors import CrankwrightError
from core.files import loads, schema
from core.files.fields import FIELDS

STRUCTS = {name: kind for name, kind in vars(core.model).items()
           if isinstance(kind, type) and issubclass(kind, msgspec.Struct)}


@pytest.fixture(scope="module")
def judge() -> jsonschema.Draft202012Validator:
    return jsonschema.Draft202012Validator(schema())


def test_it_is_a_valid_schema_of_draft_2020_12() -> None:
    # jsonschema carries the meta-schema published at json-schema.org/draft/2020-12.
    jsonschema.Draft202012Validator.check_schema(schema())
    assert schema()["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    assert json.dumps(schema()) == json.dumps(schema())


@pytest.mark.parametrize("path", sorted((FORMATS / "v1").glob("*.json")), ids=lambda p: p.stem)
def test_sound_files_pass(path: Any, judge: jsonschema.Draft202012Validator) -> None:
    judge.validate(json.loads(path.read_text()))


def test_the_sample_of_everything_has_every_key_there_is() -> None:
    used: dict[str, set[str]] = {}

    def collect(value: Any) -> None:
        if isinstance(value, msgspec.Struct):
            known = used.setdefault(type(value).__name__, set())
            for field in msgspec.structs.fields(value):
                inner = getattr(value, field.name)
                if field.required or inner != field.default:
                    known.add(field.name)
                collect(inner)
        elif isinstance(value, tuple):
            for inner in value:
                collect(inner)

    collect(msgspec.convert(EVERYTHING, core.model.Sketch))
    for name, kind in STRUCTS.items():
        missing = {field.name for field in msgspec.structs.fields(kind)} - used[name]
        # Values that are the default in any sound file, or in this one.
        assert missing <= {"format", "version", "g_m_s2"}, name


def test_every_field_has_words() -> None:
    assert set(FIELDS) == set(STRUCTS)
    for name, kind in STRUCTS.items():
        assert list(FIELDS[name]) == [
            field.name for field in sorted(msgspec.structs.fields(kind),
                                           key=lambda f: f.name != "id")], name
    for definition in schema()["$defs"].values():
        for key, form in definition["properties"].items():
            assert form.get("description") or key == "kind"


def broken() -> Iterator[tuple[str, Any]]:
    """Files that the schema itself can see are wrong."""
    for label, place, value in [
        ("other format", ("format",), "other"), ("newer version", ("version",), 2),
        ("unknown key", ("part",), []), ("units", ("units",), "ft"),
        ("text for a number", ("parts", 0, "points", 0, "x"), "3"),
        ("far away", ("parts", 0, "points", 0, "x"), 1e8),
        ("full stop in a name", ("parts", 0, "id"), "a.b"), ("no name", ("parts", 0, "id"), ""),
        ("no reference", ("pins", 0, "at", 0), "crank"),
        ("lone pin", ("pins", 0, "at"), ["a.b"]),
        ("no thickness", ("parts", 0, "thickness_mm"), 0),
        ("negative mass", ("parts", 0, "mass"), {"mass_kg": -1, "x": 0, "y": 0}),
        ("no teeth", ("meshes",), [{"id": "m", "a": "a.b", "b": "c.d", "teeth_a": 0,
                                    "teeth_b": 3}]),
        ("unknown outline", ("parts", 0, "outline"), {"kind": "blob"}),
    ]:
        raw: Any = copy.deepcopy(FOUR_BAR)
        inner = raw
        for step in place[:-1]:
            inner = inner[step]
        inner[place[-1]] = value
        yield label, raw


@pytest.mark.parametrize("raw", [pytest.param(raw, id=name) for name, raw in broken()])
def test_unsound_files_fail(raw: Any, judge: jsonschema.Draft202012Validator) -> None:
    assert not judge.is_valid(raw)


def test_format_and_version_are_required(judge: jsonschema.Draft202012Validator) -> None:
    assert not judge.is_valid({})
    assert judge.is_valid({"format": "crankwright", "version": 1})


def test_whatever_opens_passes_the_schema(judge: jsonschema.Draft202012Validator) -> None:
    draw, opened = random.Random(5), 0
    for _ in range(400):
        data = draw.choice((broken_structure, broken_numbers))(
            json.dumps(draw.choice((FOUR_BAR, EVERYTHING))).encode(), draw)
        with contextlib.suppress(CrankwrightError):
            loads(data)
            opened += 1
            trouble = next(judge.iter_errors(json.loads(data)), None)
            assert trouble is None, trouble
    assert opened > 20
