"""What does not fit the model, in an author's words: where, what was found, and a way out."""

from __future__ import annotations

import difflib
from collections.abc import Mapping
from typing import Any

from pydantic import BaseModel, ValidationError

from kbtools.model import Path
from kbtools.problem import Position, Problem, did_you_mean, problem
from kbtools.source import Where


def not_a_mapping(at: Position, data: Any, what: str) -> Problem:
    kind = {list: "a list", str: "a text", type(None): "empty"}.get(type(data), "a single value")
    return problem(
        at,
        "not-a-mapping",
        f"{what} is {kind}; it must be a mapping of keys to values",
        "Write key: value, indented by two spaces.",
    )


def model_problems(error: ValidationError, model: type[BaseModel], where: Where, data: Any, what: str) -> list[Problem]:
    found = error.errors(include_url=False)
    missing = {one["loc"] for one in found if one["type"] == "missing"}
    problems = []
    for one in found:
        if one["type"] == "extra_forbidden" and (meant := _meant(one["loc"], missing)):
            missing.discard(meant)
            at = where.at(_path_in_data(one["loc"], data), key=True)
            hint = f"Did you mean {meant[-1]}?"
            problems.append(problem(at, "unknown-key", f"{what}: unknown key {str(one['loc'][-1])!r}", hint))
        elif one["type"] != "missing":
            problems.append(_model_problem(dict(one), model, where, data, what))
    return problems + [
        _model_problem(dict(one), model, where, data, what)
        for one in found
        if one["type"] == "missing" and one["loc"] in missing
    ]


def _meant(loc: tuple[Any, ...], missing: set[tuple[Any, ...]]) -> tuple[Any, ...] | None:
    """The missing key of the same mapping that an unknown key is near to."""
    beside = {str(one[-1]): one for one in missing if one[:-1] == loc[:-1]}
    near = difflib.get_close_matches(str(loc[-1]), sorted(beside), n=1)
    return beside[near[0]] if near else None


_MESSAGES = {
    "bool_type": "must be true or false",
    "tuple_type": "must be a list",
    "string_type": "must be a text",
    "model_type": "must be a mapping of keys to values",
    "dict_type": "must be a mapping of keys to values",
    "mapping_type": "must be a mapping of keys to values",
    "int_type": "must be a whole number",
}
"""What pydantic calls a type, in an author's words."""


def _model_problem(found: dict[str, Any], model: type[BaseModel], where: Where, data: Any, what: str) -> Problem:
    path = _path_in_data(found["loc"], data)
    if found["type"] == "extra_forbidden":
        return unknown_key(where.at(path, key=True), str(path[-1]), _model_at(model, path[:-1]), what, found["input"])
    if found["type"] == "missing":
        key = str(found["loc"][-1])
        inside = f"{what}, {_spoken(path)}" if path else what
        return problem(
            where.at(path, key=True),
            "missing-key",
            f"{inside}: the key {key!r} is missing",
            _describe(model, path, key),
        )
    value = found["input"]
    if value is None and path:
        about = _describe(model, path[:-1], str(path[-1]))
        return problem(where.at(path), "wrong-value", f"{what}, {_spoken(path)} has no value yet", about)
    message = _MESSAGES.get(found["type"]) or found["msg"].removeprefix("Value error, ")
    message = message[:1].lower() + message[1:]
    shown = "" if isinstance(value, dict | list) or repr(value) in message else f" (here: {_short(value)})"
    name = f"{_spoken(path)}: " if path else ""
    return problem(
        where.at(path),
        "wrong-value",
        f"{what}, {name}{message}{shown}" if path else f"{what}: {message}{shown}",
        _describe(model, path[:-1], str(path[-1])) if path else "",
    )


def unknown_key(at: Position, key: str, model: type[BaseModel] | None, what: str, value: Any = 0) -> Problem:
    known = _keys(model) if model else []
    hint = did_you_mean(key, known)
    if not hint and value is None and " " in key:
        hint = "A comma inside {…} ends a value: put the text in quotes."
    if not hint:
        hint = f"Known keys: {', '.join(known)}." if known else "Delete it."
    return problem(at, "unknown-key", f"{what}: unknown key {key!r}", hint)


def _keys(model: type[BaseModel]) -> list[str]:
    return [
        f.alias or name for name, f in model.model_fields.items() if (f.json_schema_extra or {}) != {"internal": True}
    ]


def _path_in_data(loc: tuple[Any, ...], data: Any) -> Path:
    """The part of a pydantic location that exists in the data; union tags, short forms and missing keys drop out."""
    path: list[str | int] = []
    for part in loc:
        if (isinstance(data, Mapping) and part in data) or (
            isinstance(data, list) and isinstance(part, int) and part < len(data)
        ):
            path.append(part)
            data = data[part]
    return tuple(path)


def _spoken(path: Path) -> str:
    """A path as an author would say it: outcomes › good › from, steps › 3."""
    return " › ".join(str(part + 1) if isinstance(part, int) else part for part in path)


def _short(value: Any) -> str:
    text = repr(value)
    return text if len(text) <= 60 else text[:57] + "…"


def _model_at(model: type[BaseModel], path: Path) -> type[BaseModel] | None:
    """The model that describes the value at `path` inside `model`."""
    current: type[BaseModel] | None = model
    for part in path:
        if isinstance(part, int) or current is None:
            continue
        field_info = next((f for name, f in current.model_fields.items() if (f.alias or name) == part), None)
        if field_info is None:
            continue
        inner = _models_in(field_info.annotation)
        current = inner[0] if inner else None
    return current


def _models_in(annotation: Any) -> list[type[BaseModel]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return [annotation]
    return [model for part in getattr(annotation, "__args__", ()) for model in _models_in(part)]


def _describe(model: type[BaseModel], path: Path, key: str) -> str:
    inner = _model_at(model, path)
    if inner is None:
        return ""
    for name, info in inner.model_fields.items():
        if (info.alias or name) == key:
            return info.description or ""
    return ""
