"""The thesaurus of a manual, as an author keeps it in terms.yml: the trade's words and what callers say instead."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Literal

from pydantic import Field, model_validator

from kbtools.model import Model, Text

Words = Annotated[tuple[Text, ...], Field(strict=False)]


class Concept(Model):
    """One thing or happening, and every word for it."""

    trade: Words = ()
    """The trade's words, several-word terms included. Endings (leg, legs) need no mention."""
    said: Words = ()
    """What callers say instead."""
    part: bool = False
    """True for a thing that can be pointed at: entries about a thing that the query names are preferred."""
    ways: Mapping[Text, Literal["extend", "retract", "on", "off", "none"]] = Field(default_factory=dict)
    """What a word of direction means for this thing, where it differs: a lamp that goes out is off. none: nothing."""

    @model_validator(mode="after")
    def _some_words(self) -> Concept:
        if not self.trade and not self.said:
            raise ValueError("has neither `trade` words nor words that callers `said`")
        return self

    @property
    def words(self) -> tuple[tuple[str, int, str], ...]:
        """Every word with the list it stands in and its index there."""
        listed = [("trade", i, word) for i, word in enumerate(self.trade)]
        return (*listed, *(("said", i, word) for i, word in enumerate(self.said)))


class Terms(Model):
    """The thesaurus (terms.yml)."""

    concepts: Mapping[str, Concept] = Field(default_factory=dict)
    """Concept id → its words."""
