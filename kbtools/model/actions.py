"""What somebody does somewhere: steps, actions, and remedies with their proof."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated

from pydantic import Discriminator, Field, Tag, model_validator

from kbtools.model.base import Ids, Minutes, Model, Ref, ShortForm, Text


class Step(Model):
    """One instruction: at most 20 words, one thing to do."""

    do: Text
    """The instruction. A bare text is short for this."""
    hazards: Annotated[tuple[Annotated[str, Ref("hazard")], ...], Field(strict=False)] = ()
    """Hazards of this step; their panels stand right before it."""
    tools: Annotated[tuple[Annotated[str, Ref("tool")], ...], Field(strict=False)] = ()
    """Tools that only this step needs."""


Steps = Annotated[tuple[Annotated[Step, ShortForm("do")], ...], Field(strict=False)]


class Action(Model):
    """What a check and a remedy share: somebody does something somewhere."""

    who: Annotated[str, Ref("person")]
    """Lowest person allowed to do it."""
    minutes: Minutes
    """Minutes it takes: doing and reading, without reaching the place. A remedy's include its proof."""
    place: Annotated[str, Ref("place")]
    """Where it is done."""
    tools: Annotated[tuple[Annotated[str, Ref("tool")], ...], Ids] = ()
    """Tools it needs."""
    helpers: Annotated[int, Field(ge=0, le=5)] = 0
    """Further pairs of hands it needs, at the panel for example."""
    hazards: Annotated[tuple[Annotated[str, Ref("hazard")], ...], Ids] = ()
    """Hazards of the whole action, besides those of its place and tools."""
    needs: Annotated[tuple[Annotated[str, Ref("state")], ...], Ids] = ()
    """States that must hold before the first step."""
    leaves: Annotated[tuple[Annotated[str, Ref("state")], ...], Ids] = ()
    """States it leaves behind, to be put back at the end."""
    only_after: Annotated[tuple[Annotated[str, Ref("check")], ...], Ids] = ()
    """Checks that come first, so that nothing invasive is tried on a mere guess."""
    steps: Annotated[Steps, Field(min_length=1)]
    """The instructions in order."""


class Proof(Model):
    """How it is shown that a remedy worked: a check, or something to do and what is then seen."""

    check: Annotated[str, Ref("check")] | None = None
    """Id of a check that then reads normal. A bare id is short for this."""
    do: Text | None = None
    """What to do instead of a check."""
    expect: Text | None = None
    """What is then seen when all is well."""

    @model_validator(mode="after")
    def _one_way(self) -> Proof:
        if (self.check is None) == (self.do is None):
            raise ValueError("names either a check, or what to `do` and what to `expect`")
        if self.do is not None and self.expect is None:
            raise ValueError("says what to `do` but not what to `expect`")
        return self


class Remedy(Action):
    """What mends a cause."""

    parts: Annotated[tuple[Annotated[str, Ref("part")], ...], Ids] = ()
    """Parts to bring, besides the cause's own part."""
    prove_by: Annotated[Proof, ShortForm("check")]
    """How it is shown that the cause is gone."""


class SameRemedy(Model):
    """One action that mends several causes is written once."""

    same_as: Annotated[str, Ref("cause")]
    """Id of the cause whose remedy this is."""


AnyRemedy = Annotated[
    Annotated[Remedy, Tag("remedy")] | Annotated[SameRemedy, Tag("same")],
    Discriminator(
        lambda v: "same" if (isinstance(v, Mapping) and "same_as" in v) or isinstance(v, SameRemedy) else "remedy"
    ),
]
