"""What msgspec knows about the structs of the model, asked once: the answers are slow."""

from __future__ import annotations

import functools
from typing import Any, get_type_hints

import msgspec
from msgspec.structs import FieldInfo


def is_struct(kind: Any) -> bool:
    """Whether a type is a struct of the model."""
    return isinstance(kind, type) and issubclass(kind, msgspec.Struct)


@functools.cache
def fields_of(kind: type[msgspec.Struct]) -> dict[str, FieldInfo]:
    """The fields of a struct by name, the id first: that is what people look for."""
    fields = sorted(msgspec.structs.fields(kind), key=lambda field: field.name != "id")
    return {field.name: field for field in fields}


@functools.cache
def hints_of(kind: type[msgspec.Struct]) -> dict[str, Any]:
    """The types of the fields of a struct by name."""
    return get_type_hints(kind)
