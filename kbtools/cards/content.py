"""What stands on a card, part by part, as paragraphs ready to print and to measure."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from kbtools import words
from kbtools.cards.measure import Para, Run
from kbtools.library import Library
from kbtools.model import Cause, Hazard, Precaution, Step, Symptom

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
        """What follows; for one sign alone, behind that sign."""
        sign = (Run(f"{self.signs[0]} "),) if len(self.signs) == 1 else ()
        return (*sign, Run(f"→\u00a0{self.then}", True), *((Run(": "), *self.steps) if self.steps else ()))

    @property
    def listed(self) -> tuple[str, ...]:
        """The signs that stand on lines of their own."""
        return self.signs if len(self.signs) > 1 else ()


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
