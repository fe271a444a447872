"""Every id that an entry names, found by one walk over its model."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from pydantic import BaseModel

from kbtools.model.base import Path, Ref


def references(model: BaseModel) -> Iterator[tuple[str, str, Path]]:
    """Every reference in an entry: kind, id and the path of keys that leads to it.

    >>> from kbtools.model.topics import StopIf
    >>> list(references(StopIf(sign="Smoke", then="get-clear")))
    [('precaution', 'get-clear', ('then',))]
    """
    for name, field in type(model).model_fields.items():
        value = getattr(model, name)
        key = field.alias or name
        refs = [mark for mark in field.metadata if isinstance(mark, Ref)]
        yield from _walk(value, field.annotation, refs[0] if refs else None, (key,))


def _walk(value: Any, annotation: Any, ref: Ref | None, path: Path) -> Iterator[tuple[str, str, Path]]:
    if isinstance(value, BaseModel):
        for kind, ident, rest in references(value):
            yield kind, ident, path + rest
        return
    if isinstance(value, str):
        mark = ref or _find_ref(annotation)
        if mark:
            yield mark.kind, value, path
    elif isinstance(value, Mapping):
        key_ref = _find_ref(annotation)
        for key, item in value.items():
            if key_ref and not isinstance(item, BaseModel):
                yield key_ref.kind, key, (*path, key)
            yield from _walk(item, None, None, (*path, key))
    elif isinstance(value, tuple):
        for index, item in enumerate(value):
            yield from _walk(item, annotation, ref, (*path, index))


def _find_ref(annotation: Any) -> Ref | None:
    """The first Ref mark inside a type annotation."""
    for mark in getattr(annotation, "__metadata__", ()):
        if isinstance(mark, Ref):
            return mark
    for part in getattr(annotation, "__args__", ()):
        found = _find_ref(part)
        if found:
            return found
    return None
