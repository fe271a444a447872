"""The content model: what an author may write, typed, frozen and described field by field.

Nothing here reads files or knows about other entries. A field that names another entry is marked with `Ref`, so that one
walk over the model finds every reference.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Annotated, Any, Literal

from pydantic import (
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Discriminator,
    Field,
    GetCoreSchemaHandler,
    GetJsonSchemaHandler,
    StringConstraints,
    Tag,
    model_validator,
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

SIGNAL_WORDS = ("DANGER", "WARNING", "CAUTION", "NOTICE")
"""Signal words, most severe first (ANSI Z535.4, ISO 3864-2)."""

SERIOUS = ("death", "serious")


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


# --- actions ---------------------------------------------------------------------------------------------------------


class Step(Model):
    """One instruction: at most 20 words, one thing to do."""

    do: Text
    """The instruction. A bare text is short for this."""
    hazards: Annotated[tuple[Annotated[str, Ref("hazard")], ...], Field(strict=False)] = ()
    """Hazards of this step; their panels stand right before it."""
    tools: Annotated[tuple[Annotated[str, Ref("tool")], ...], Field(strict=False)] = ()
    """Tools that only this step needs."""


Steps = Annotated[tuple[Annotated[Step, ShortForm("do")], ...], Field(strict=False)]
Ids = Field(strict=False)


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

# --- topics ----------------------------------------------------------------------------------------------------------


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


# --- equipment -------------------------------------------------------------------------------------------------------


class System(Entry):
    """A part of the equipment that people name when they call."""

    summary: Text | None = None
    """What belongs to it, in a sentence or two."""


class Type(Entry):
    """A type of the equipment."""

    serial_prefix: Text | None = None
    """Letters before the serial number's digits."""
    serial_digits: Annotated[int, Field(ge=1, le=9)] = 5
    """How many digits a serial number has after those letters."""
    summary: Text | None = None
    """What it is."""


class Person(Entry):
    """Somebody who may do things. File order is rank, lowest first."""

    visit_minutes: Waiting
    """Minutes until this person is there."""
    summary: Text | None = None
    """Who that is and what they may do."""


class Place(Entry):
    """Where something is done."""

    who: Annotated[str, Ref("person")]
    """Lowest person allowed there."""
    reach_minutes: Waiting
    """Minutes to get there the first time."""
    where: Text
    """Words by which a caller finds it."""
    hazards: Annotated[tuple[Annotated[str, Ref("hazard")], ...], Ids] = ()
    """Hazards of being there."""


class Tool(Entry):
    """Something that is needed in the hand."""

    who: Annotated[str, Ref("person")]
    """Lowest person allowed to use it."""
    hazards: Annotated[tuple[Annotated[str, Ref("hazard")], ...], Ids] = ()
    """Hazards of using it."""
    summary: Text | None = None
    """Which one, and how it is used well."""


class Hazard(Entry):
    """What can hurt somebody or something. Its signal word is computed, never typed."""

    harm: Literal["death", "serious", "minor", "property"]
    """Worst credible harm."""
    likelihood: Literal["will", "could"]
    """Will it happen if not avoided, or could it?"""
    symbol: Literal[
        "general",
        "electricity",
        "hot",
        "starts-by-itself",
        "crushing",
        "hands",
        "corrosive",
        "battery",
        "pressure",
        "falling",
        "injection",
        "fire",
        "rolling",
    ] = "general"
    """What the drawing beside the triangle shows."""
    consequence: Text
    """What happens."""
    avoid: Text | None = None
    """How it is avoided."""
    who: Annotated[str, Ref("person")]
    """Lowest person who may be exposed to it."""

    @property
    def signal_word(self) -> str:
        """DANGER, WARNING, CAUTION or NOTICE.

        By ANSI Z535.4 and ISO 3864-2: DANGER *will*, WARNING *could* result in death or serious injury; CAUTION *could* result
        in minor or moderate injury; NOTICE is property damage only.
        """
        if self.harm == "property":
            return "NOTICE"
        if self.harm == "minor":
            return "CAUTION"
        return "DANGER" if self.likelihood == "will" else "WARNING"

    @property
    def severity(self) -> tuple[int, int, int]:
        """Sorts most severe first: signal word, then harm, then likelihood."""
        harms = ("death", "serious", "minor", "property")
        return SIGNAL_WORDS.index(self.signal_word), harms.index(self.harm), int(self.likelihood != "will")


class Precaution(Entry):
    """Steps that make safe, written once and named wherever they are due."""

    who: Annotated[str, Ref("person")]
    """Lowest person allowed to do it."""
    steps: Annotated[Steps, Field(min_length=1)]
    """The steps in order."""
    hazards: Annotated[tuple[Annotated[str, Ref("hazard")], ...], Ids] = ()
    """Hazards it protects from."""


class Part(Entry):
    """A part of the equipment."""

    system: Annotated[str, Ref("system")]
    """Id of its system."""
    where: Text
    """Words by which a caller finds it."""
    place: Annotated[str, Ref("place")] | None = None
    """Id of the place where it is reached."""
    rating: Text | None = None
    """Rating or size to replace it by."""
    protective: bool = False
    """True for a fuse or switch that protects: it opens for a reason, and the reason is looked for."""
    summary: Text | None = None
    """What it does."""


class Point(Entry):
    """A test point."""

    place: Annotated[str, Ref("place")]
    """Id of the place where it is reached."""
    system: Annotated[str, Ref("system")] | None = None
    """Id of its system."""
    where: Text | None = None
    """Words by which it is found, pins included."""
    idle: Text | None = None
    """What it reads with nothing running."""
    load: Text | None = None
    """What it reads under load."""


class State(Entry):
    """A condition of the equipment that an action needs or leaves behind."""

    how: Text | None = None
    """How to bring it about."""
    put_back: Text | None = None
    """What to do to undo it, when an action leaves it."""


class Manual(Model):
    """The manual as a whole (manual.yml)."""

    title: Text
    """Title of the manual."""
    owner_title: Text | None = None
    """Title of the owner edition; left out: the manual's title."""
    organisation: Text
    """Who answers for it."""
    telephone: Text
    """Whom to call: the support line's number."""
    hours: Text | None = None
    """When the support line answers."""
    serial_where: Text | None = None
    """A sentence that says where a reader finds the serial number of the unit."""
    revised: Date
    """Date of the content, YYYY-MM-DD."""
    stale_days: Annotated[int, Field(gt=0, le=10_000)] = 365
    """Days after `revised` from which the contents page tells its reader to ask for a newer manual."""
    unsolved_minutes: Minutes = 240
    """What a case costs that the highest person cannot settle, in minutes."""
    site_url: Text | None = None
    """Address where the manual is published; without it, cards print a path instead of a QR code."""
    edit_base: Text | None = None
    """Address under which the content's files can be edited; without it, pages print file and line."""
    emergency: Annotated[tuple[Annotated[str, Ref("precaution")], ...], Ids] = ()
    """Precautions on the emergency page, in order."""
    emergency_call: Text = "Call the local emergency number first, then the support line."
    """The line at the top of the emergency page."""
    defer: Text = "Local codes and the rules of licensed practice come before this manual."
    """The line on every page that defers to local codes and licensed practice."""
    hand_over: Text = "Mains voltage, structure and pressure settings are work for licensed trades only."
    """The line that says which work is handed over in any case."""


KINDS: dict[str, tuple[str, type[Entry]]] = {
    "symptom": ("symptoms", Symptom),
    "cause": ("causes", Cause),
    "check": ("checks", Check),
    "system": ("systems", System),
    "type": ("types", Type),
    "person": ("people", Person),
    "place": ("places", Place),
    "tool": ("tools", Tool),
    "hazard": ("hazards", Hazard),
    "precaution": ("precautions", Precaution),
    "part": ("parts", Part),
    "point": ("points", Point),
    "state": ("states", State),
}
"""Kind → the key under which its entries stand, and their model."""

TOPIC_KINDS = ("symptom", "cause", "check")
EQUIPMENT_KINDS = tuple(kind for kind in KINDS if kind not in TOPIC_KINDS)


def references(model: BaseModel) -> Iterator[tuple[str, str, Path]]:
    """Every reference in an entry: kind, id and the path of keys that leads to it.

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
