"""Every id that an entry names, found by one walk over its model."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Annotated, Any, get_args, get_origin

from pydantic import BaseModel

from kbtools.model.base import Path, Ref, ShortForm


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


def references_in(data: Any, model: Any) -> Iterator[tuple[str, str, Path]]:
    """The same for data that need not fit its model: what stands where the model has an id, and is a text.

    >>> from kbtools.model.topics import StopIf
    >>> list(references_in({"sign": 7, "then": "get-clear", "titel": "Smoke"}, StopIf))
    [('precaution', 'get-clear', ('then',))]
    """
    yield from _walk_data(data, model, ())


def _walk_data(data: Any, annotation: Any, path: Path) -> Iterator[tuple[str, str, Path]]:
    inner = get_args(annotation)
    if get_origin(annotation) is Annotated:
        yield from _walk_marked(data, inner[0], inner[1:], path)
    elif isinstance(annotation, type) and issubclass(annotation, BaseModel):
        for name, field in annotation.model_fields.items() if isinstance(data, Mapping) else ():
            key = field.alias or name
            if key in data:
                yield from _walk_marked(data[key], field.annotation, field.metadata, (*path, key))
    elif get_origin(annotation) is tuple:
        for index, item in enumerate(data) if isinstance(data, list) else ():
            yield from _walk_data(item, inner[0], (*path, index))
    elif get_origin(annotation) is Mapping:
        for key, item in data.items() if isinstance(data, Mapping) else ():
            yield from _walk_data(key, inner[0], (*path, key))
            yield from _walk_data(item, inner[1], (*path, key))
    else:
        for part in inner:
            yield from _walk_data(data, part, path)


def _walk_marked(data: Any, annotation: Any, marks: Iterable[Any], path: Path) -> Iterator[tuple[str, str, Path]]:
    for mark in marks:
        if isinstance(mark, Ref) and isinstance(data, str):
            yield mark.kind, data, path
        if isinstance(mark, ShortForm) and isinstance(data, str):
            data = {mark.key: data}
    yield from _walk_data(data, annotation, path)
