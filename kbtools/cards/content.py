"""What stands on a card, part by part, as paragraphs ready to print and to measure."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from kbtools import words
from kbtools.cards.measure import Para, Run
from kbtools.cards.procedure import Box, Exit
from kbtools.library import Library
from kbtools.model import Action, Cause, Check, Hazard, Precaution, Step, Symptom

SHORT_REMEDY = 110
"""A remedy whose steps are no longer than this, in characters, is printed whole."""


@dataclass(frozen=True)
class Message:
    """A safety message: the signal word of its greatest hazard, and a paragraph for each hazard."""

    word: str
    hazards: tuple[Para, ...]


@dataclass(frozen=True)
class Stop:
    """Signs at which all work ends, and what follows. `steps` is empty when there is no room, or when they stand above."""

    signs: tuple[str, ...]
    then: str
    steps: Para = ()

    @property
    def text(self) -> Para:
        return (Run(f"→\u00a0{self.then}", True), *((Run(": "), *self.steps) if self.steps else ()))


@dataclass(frozen=True)
class Way:
    """One outcome and where it leads."""

    text: Para
    normal: bool = False


@dataclass(frozen=True)
class CardBox:
    """One numbered box. `word` and `hazards` warn before the steps; `steps` is empty when there is no room for them."""

    number: int
    kind: str
    title: Para
    word: str
    hazards: Para
    reading: Para
    steps: Para
    ways: tuple[Way, ...]

    @property
    def wide(self) -> bool:
        """True when the ways have the whole width, because there is nothing beside them."""
        return not self.reading and not self.steps


def message(hazards: Sequence[Hazard]) -> Message | None:
    """The hazards of one message, most severe first as they come; None when there are none."""
    if not hazards:
        return None
    paras = tuple(
        (Run(f"{h.title}. ", True), Run(h.consequence), Run(f" {h.avoid}" if h.avoid else "", True)) for h in hazards
    )
    return Message(hazards[0].signal_word, paras)


def hazards_of_opening(library: Library, symptom: Symptom) -> tuple[Hazard, ...]:
    """Hazards of the symptom and of its first steps. What follows a stop sign says itself how to keep clear."""
    ids = list(symptom.hazards)
    for precaution in _first(library, symptom):
        ids += precaution.hazards
        ids += (hazard.id for step in precaution.steps for hazard in library.hazards_of_step(step))
    return library.most_severe_first(ids)


def _first(library: Library, symptom: Symptom) -> list[Precaution]:
    return [library.precautions[ident] for ident in symptom.first if ident in library.precautions]


def numbered(steps: Iterable[Step]) -> Para:
    """Steps one after the other, each behind its number."""
    runs: list[Run] = []
    for number, step in enumerate(steps, 1):
        runs += [Run(f"{' ' if runs else ''}{number}\u00a0", True), Run(step.do)]
    return tuple(runs)


def first(library: Library, symptom: Symptom) -> tuple[Para, ...]:
    """The precautions that come before everything else, one paragraph each."""
    return tuple((Run(f"{p.title}: ", True), *numbered(p.steps)) for p in _first(library, symptom))


def stops(library: Library, symptom: Symptom) -> tuple[Stop, ...]:
    """The stop signs by what follows them; steps that stand under `first` already are not written twice."""
    groups: dict[str, list[str]] = {}
    for stop in symptom.stop_if:
        groups.setdefault(stop.then, []).append(stop.sign)
    found = []
    for then, signs in groups.items():
        precaution = library.precautions.get(then)
        steps = numbered(precaution.steps) if precaution and then not in symptom.first else ()
        found.append(Stop(tuple(signs), precaution.title if precaution else "Stop all work", steps))
    return tuple(found)


# --- boxes -----------------------------------------------------------------------------------------------------------


def box(library: Library, number: Box, letters: dict[str, str], said: frozenset[str], who: str) -> CardBox:
    """A box with its steps. A hazard whose id is in `said` is only named: its message stands further up the card."""
    if number.kind == "remedy":
        return _remedy_box(library, number, letters)
    check = library.checks[number.id]
    hazards = hazards_of_check(library, check)
    return CardBox(
        number=number.number,
        kind="check",
        title=(Run(f"{check.title} ", True), Run(_meta(library, check, who))),
        word=hazards[0].signal_word if hazards else "",
        hazards=_reminder(hazards, said),
        reading=_reading(library, check),
        steps=numbered(check.steps),
        ways=_ways(library, check, number.exits, letters),
    )


def hazards_of_check(library: Library, check: Check) -> tuple[Hazard, ...]:
    """Hazards of a check, its place, tools and steps."""
    found = [*library.hazards_of(check), *(h for step in check.steps for h in library.hazards_of_step(step))]
    return library.most_severe_first(hazard.id for hazard in found)


def without_steps(full: CardBox) -> CardBox:
    return replace(full, steps=())


def _reminder(hazards: Sequence[Hazard], said: frozenset[str]) -> Para:
    """What a box says of its hazards: the ones that are new on the card with the way to avoid them, the others by name."""
    if not hazards:
        return ()
    runs = [Run(hazards[0].signal_word, True)]
    for hazard in hazards:
        runs.append(Run(f" {hazard.title}.", True))
        if hazard.id not in said:
            runs.append(Run(f" {hazard.avoid or hazard.consequence}"))
    return tuple(runs)


def _meta(library: Library, action: Action, who: str) -> str:
    """Place, time, tools, helpers, and what must hold before: 'Beside a leg · 65 min · Steel ruler'."""
    parts = [library.places[action.place].title if action.place in library.places else action.place]
    parts.append(words.minutes_words(action.minutes))
    tools = dict.fromkeys([*action.tools, *(tool for step in action.steps for tool in step.tools)])
    parts += [library.tools[tool].title for tool in tools if tool in library.tools]
    if action.helpers:
        parts.append("1 helper" if action.helpers == 1 else f"{action.helpers} helpers")
    if library.rank(action.who) > library.rank(who) and action.who in library.people:
        parts.append(library.people[action.who].title)
    if isinstance(action, Check) and action.applies_to:
        parts.append(f"only {words.applies_words(library, action.applies_to)}")
    needs = [library.states[state].title for state in action.needs if state in library.states]
    return " · ".join(parts) + (f". Before: {', '.join(needs)}" if needs else "")


def _reading(library: Library, check: Check) -> Para:
    """What is measured and what it should read; for a look or a try, nothing: the outcomes say it."""
    normal = words.normal_outcome(check)
    if check.reading is None or normal is None:
        return ()
    expected = words.outcome_range(check, normal) or words.outcome_label(check, normal)
    quantity = words.reading_words(library, check.reading)
    return (Run(f"{quantity}: "), Run(f"expect {expected}", True))


def _ways(library: Library, check: Check, exits: Sequence[Exit], letters: dict[str, str]) -> tuple[Way, ...]:
    """Where each outcome leads. Of three and more that lead the same way, the normal one aside, one line speaks for all."""
    ways = [_way(library, check, leads, letters) for leads in exits]
    ends = Counter(way.text[-1] for way in ways if not way.normal)
    common, count = ends.most_common(1)[0] if ends else (Run(""), 0)
    if count < 3:
        return tuple(ways)
    kept = [way for way in ways if way.normal or way.text[-1] != common]
    return (*kept, Way((Run("Anything else " if kept else "Any outcome "), common)))


def _way(library: Library, check: Check, leads: Exit, letters: dict[str, str]) -> Way:
    outcome = check.outcomes[leads.outcome]
    label = words.outcome_words(check, leads.outcome)
    at_once = library.precautions[outcome.then].title if outcome.then and outcome.then in library.precautions else ""
    then = f"at once: {at_once}; then " if at_once else ""
    return Way((Run(f"{label} "), Run(f"→\u00a0{then}{target(leads, letters)}", True)), outcome.normal)


def target(leads: Exit, letters: dict[str, str]) -> str:
    """Where an outcome leads, in words."""
    if leads.done:
        return "cured: try it again"
    known = [letters[cause] for cause in leads.causes if cause in letters]
    after = f"check {leads.box}" if leads.box is not None else ""
    if known:
        causes = f"{'cause' if len(known) == 1 else 'causes'} {', '.join(known)}"
        return f"{causes}; not cured: {after}" if after else causes
    return after or "hand over"


def _remedy_box(library: Library, number: Box, letters: dict[str, str]) -> CardBox:
    cause = library.causes[number.id]
    said = {"cured": "Cured", "not-cured": "Not cured"}
    ways = tuple(
        Way((Run(f"{said[leads.outcome]} "), Run(f"→ {'done' if leads.done else target(leads, letters)}", True)))
        for leads in number.exits
    )
    title = f"Mend cause {letters[number.id]}: {cause.title}"
    return CardBox(number.number, "remedy", (Run(title, True),), "", (), (), (), ways)


# --- causes and foot -------------------------------------------------------------------------------------------------


def letters_of(causes: Iterable[str]) -> dict[str, str]:
    """A letter for each cause in its rank: A to Z, then AA, AB and so on."""
    return {cause: _letter(index) for index, cause in enumerate(causes)}


def _letter(index: int) -> str:
    head, last = divmod(index, 26)
    return (_letter(head - 1) if head else "") + chr(ord("A") + last)


def cause_line(library: Library, cause: Cause, letter: str, who: str) -> Para:
    """A cause and its remedy in a line: who, how long, where, which part; short remedies with their steps."""
    runs = [Run(f"{letter}\u00a0 {cause.title}. ", True)]
    remedy = library.remedy_of(cause.id)
    if remedy is None:
        return (*runs, Run("Hand over."))
    if library.rank(remedy.who) > library.rank(who):
        person = library.people[remedy.who].title if remedy.who in library.people else remedy.who
        return (*runs, Run(f"Hand over to: {person}."))
    place = library.places[remedy.place].title if remedy.place in library.places else remedy.place
    text = f"{words.minutes_words(remedy.minutes)}, {place[:1].lower()}{place[1:]}."
    if cause.part and cause.part in library.parts:
        part = library.parts[cause.part]
        text += f" {part.title}{f', {part.rating}' if part.protective and part.rating else ''}."
        text += " Find out first why it opened." if part.protective else ""
    steps = " ".join(step.do for step in remedy.steps)
    harmless = not library.hazards_of(remedy) and not any(library.hazards_of_step(step) for step in remedy.steps)
    text += f" {steps}" if len(steps) <= SHORT_REMEDY and harmless else ""
    only = f" Only {words.applies_words(library, cause.applies_to)}." if cause.applies_to else ""
    return (*runs, Run(text + only))


def foot(library: Library, path: str, date: str) -> tuple[Para, ...]:
    """Whom to call, what comes before this card, and which revision it is."""
    manual = library.manual
    hours = f", {manual.hours}" if manual.hours else ""
    return (
        (Run(f"Hand over, questions: {manual.organisation}, {manual.telephone}", True), Run(hours)),
        (Run(manual.emergency_call, True),),
        (Run(f"{manual.hand_over} {manual.defer}"),),
        (Run(f"{manual.title}, revision {library.revision}, {date}. Page: {path}"),),
    )
