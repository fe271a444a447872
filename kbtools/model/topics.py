"""Symptoms, causes and checks."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Literal

from pydantic import Field, model_validator

from kbtools.model.actions import Action, AnyRemedy
from kbtools.model.base import Ids, Likelihood, Model, Number, Percent, Ref, Reviewed, ShortForm, Text, YesNo


class RankedCause(Model):
    """A cause in a symptom's list; its rank is its prior."""

    cause: Annotated[str, Ref("cause")]
    """Id of the cause. A bare id is short for this."""
    share: Percent | None = None
    """Per cent of all cases of this symptom, where it is known."""


class StopIf(Model):
    """A sign at which all work ends."""

    sign: Text
    """What is seen, heard or smelt."""
    then: Annotated[str, Ref("precaution")]
    """Id of the precaution that follows."""


class Direction(Model):
    """What a symptom does and which way, so that opposite symptoms are told apart."""

    does: Literal["no", "by-itself", "slow", "fast", "is"]
    """no: it will not; by-itself: unasked; slow, fast; is: a plain state."""
    way: Literal["extend", "retract", "on", "off"]
    """Which way the movement or state goes."""


class Normal(Model):
    """What is normal after all, and the limit beyond which it is not."""

    text: Text
    """What is normal, kindly."""
    limit: Text
    """The limit beyond which it is a fault."""


class Unlike(Model):
    """A symptom that is easily taken for this one."""

    symptom: Annotated[str, Ref("symptom")]
    """Id of the other symptom."""
    tell: Text
    """How to tell them apart."""


class OwnerText(Model):
    """The page in plain words for whoever runs the equipment."""

    title: Text
    """Title in plain words."""
    text: Text
    """What it means and what to do, make-safe first."""


class Symptom(Reviewed):
    """What somebody sees, hears, smells or reads, and what can be behind it."""

    heard_as: Annotated[tuple[Text, ...], Ids] = ()
    """What callers say, in their words; at least three phrases."""
    shows: Annotated[tuple[Text, ...], Ids] = ()
    """Lamps and readings exactly as the equipment shows them, such as "FAULT 4"."""
    direction: Direction | None = None
    """What it does and which way."""
    notice: Text | None = None
    """What this symptom is: what is noticed, and under which condition."""
    unlike: Annotated[tuple[Unlike, ...], Ids] = ()
    """What this symptom is not."""
    normal: Normal | None = None
    """What is normal after all, with the limit."""
    hazards: Annotated[tuple[Annotated[str, Ref("hazard")], ...], Ids] = ()
    """Hazards of the symptom itself."""
    first: Annotated[tuple[Annotated[str, Ref("precaution")], ...], Ids] = ()
    """Precautions that come before everything else, in order."""
    stop_if: Annotated[tuple[StopIf, ...], Ids] = ()
    """Signs at which all work ends."""
    causes: Annotated[tuple[Annotated[RankedCause, ShortForm("cause")], ...], Ids] = ()
    """Causes, most common first."""
    unlisted: Percent = 5
    """Per cent of cases whose cause is not in the list."""
    only_checks: Annotated[tuple[Annotated[str, Ref("check")], ...], Ids] = ()
    """The only checks that may be done while this symptom stands; left out: every check that names one of its causes."""
    owner: OwnerText | None = None
    """Title and text for owners."""


class Interim(Model):
    """Whether the equipment may be used and towed until the cause is mended."""

    use: YesNo
    """May it be used meanwhile?"""
    tow: YesNo
    """May it be towed meanwhile?"""
    text: Text | None = None
    """Under which limits."""


class Cause(Reviewed):
    """What is behind a symptom, and what mends it."""

    nature: Literal["fault", "setting", "operation", "site", "normal"]
    """A broken part, a setting, the way it was used, the place it stands on, or nothing wrong at all."""
    part: Annotated[str, Ref("part")] | None = None
    """Id of the part concerned."""
    explains: Text
    """How it brings the symptom about."""
    look_for: Text | None = None
    """Why a protective part opened: what to look for before it is replaced."""
    interim: Interim
    """Use and towing until it is mended."""
    remedy: AnyRemedy
    """What mends it."""


class Reading(Model):
    """What is measured, in which unit, under which condition and where."""

    quantity: Text
    """What is measured."""
    unit: Text
    """Its unit."""
    condition: Text | None = None
    """State of the equipment while reading: idle, load, rest, unplugged and so on."""
    point: Annotated[str, Ref("point")] | None = None
    """Test point where it is read."""
    of: Annotated[tuple[Annotated[str, Ref("point")], Annotated[str, Ref("point")]] | None, Ids] = None
    """Two test points whose difference (first minus second) is read."""

    @model_validator(mode="after")
    def _one_place(self) -> Reading:
        if self.point is not None and self.of is not None:
            raise ValueError("names one `point` or a difference `of` two, not both")
        return self


class Outcome(Model):
    """One way a check can turn out."""

    label: Text | None = None
    """What is seen. May be left out when the range says it."""
    from_: Annotated[Number | None, Field(alias="from")] = None
    """Lower end of the range, included."""
    below: Number | None = None
    """Upper end of the range, excluded."""
    normal: bool = False
    """True for the one outcome of equipment that is well in this respect."""
    seen_with: Mapping[Annotated[str, Ref("cause")], Likelihood] = Field(default_factory=dict)
    """How often each cause shows this outcome: always, usually, sometimes, rarely, never, or a number."""
    fixed: bool = False
    """True when this outcome means that the check itself cured the cause, as a reset does."""
    means: Text | None = None
    """What this outcome tells, in a sentence."""
    then: Annotated[str, Ref("precaution")] | None = None
    """Precaution that follows at once when this is seen."""


class Check(Reviewed, Action):
    """A look, a try or a measurement that tells causes apart."""

    ask: Text | None = None
    """The words for the phone."""
    reading: Reading | None = None
    """What is measured, when it is a measurement."""
    outcomes: Mapping[str, Outcome]
    """Outcome id → outcome; exactly one is normal."""
    shows_only_while_faulty: bool = False
    """True when it says nothing while an intermittent fault is away."""
    note: Text | None = None
    """What a careful reader should know about it."""
