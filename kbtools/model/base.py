"""What all entries are made of: texts, numbers, marks for ids and short forms, and what every entry has."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any, Literal

from pydantic import (
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    GetCoreSchemaHandler,
    GetJsonSchemaHandler,
    StringConstraints,
)
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema, core_schema

Path = tuple[str | int, ...]


@dataclass(frozen=True)
class Ref:
    """Marks a text field as the id of an entry of `kind`."""

    kind: str


Text = Annotated[str, StringConstraints(strip_whitespace=True, min_length=1)]
Date = Annotated[str, StringConstraints(pattern=r"^\d{4}-\d{2}-\d{2}$")]
LIKELIHOODS: dict[str, float] = {"always": 0.98, "usually": 0.80, "sometimes": 0.30, "rarely": 0.08, "never": 0.02}
"""Likelihood words and their numbers. Nothing is ever 0 or 1."""


def _likelihood(value: Any) -> Any:
    if isinstance(value, str) and value not in LIKELIHOODS:
        raise ValueError(f"is not one of {', '.join(LIKELIHOODS)} or a number from 0.001 to 0.999")
    return value


def _number(value: Any) -> Any:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise ValueError(f"must be a number, not {value!r}")
    return value


@dataclass(frozen=True)
class ShortForm:
    """A bare text stands for a mapping with this one key."""

    key: str

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        def widen(value: Any) -> Any:
            return {self.key: value} if isinstance(value, str) else value

        return core_schema.no_info_before_validator_function(widen, handler(source))

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: GetJsonSchemaHandler) -> JsonSchemaValue:
        return {"anyOf": [{"type": "string", "minLength": 1}, handler(schema)]}


Number = Annotated[float, Field(allow_inf_nan=False), BeforeValidator(_number)]
Minutes = Annotated[float, Field(gt=0, le=10_000, allow_inf_nan=False), BeforeValidator(_number)]
Waiting = Annotated[float, Field(ge=0, le=100_000, allow_inf_nan=False), BeforeValidator(_number)]
Percent = Annotated[float, Field(gt=0, lt=100, allow_inf_nan=False), BeforeValidator(_number)]
Likelihood = Annotated[
    Literal["always", "usually", "sometimes", "rarely", "never"] | Number, BeforeValidator(_likelihood)
]
YesNo = Literal["yes", "no", "limited"]


class Model(BaseModel):
    """Base of every model: frozen, unknown keys refused."""

    model_config = ConfigDict(
        frozen=True, extra="forbid", populate_by_name=True, use_attribute_docstrings=True, strict=True
    )


class Applies(Model):
    """A type of equipment, all of it or a range of its serial numbers."""

    type: Annotated[str, Ref("type")]
    """Id of the type."""
    from_: Annotated[int | None, Field(alias="from", ge=0)] = None
    """First serial number (digits only) that this applies to; left out: from the beginning."""
    below: Annotated[int | None, Field(ge=0)] = None
    """First serial number that this no longer applies to; left out: to the end."""


AppliesTo = Annotated[tuple[Annotated[Applies, ShortForm("type")], ...], Field(strict=False)]


class Entry(Model):
    """What every entry has."""

    id: str = Field(default="", exclude=True, json_schema_extra={"internal": True})
    title: Text
    """The name under which readers know it."""


class Reviewed(Entry):
    """What every symptom, cause and check has besides."""

    system: str = Field(default="", exclude=True, json_schema_extra={"internal": True})
    status: Literal["draft", "reviewed"] = "reviewed"
    """A draft is marked in the service edition and left out of the owner edition."""
    reviewed: Date | None = None
    """Date of the last review, YYYY-MM-DD."""
    applies_to: AppliesTo = ()
    """Types, or serial ranges of a type, that this is about; left out: all."""


Ids = Field(strict=False)
"""A list in the file becomes a tuple in memory."""
