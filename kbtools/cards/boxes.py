"""The numbered boxes of a card: what to do, what to expect, and where each outcome leads."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from kbtools import words
from kbtools.cards.content import numbered
from kbtools.cards.measure import Para, Run
from kbtools.cards.procedure import Box, Exit, Procedure
from kbtools.library import Library
from kbtools.model import Action, Check, Hazard

HAND_OVER, MANUAL = "hand over", "the manual"
ELSE = "Anything else "

AT_ONCE = 3
"""Causes that a way names before it sends the reader on: more letters in a row are no help with a spanner in the hand."""


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


@dataclass(frozen=True)
class Signposts:
    """What a way can lead to on this card: the letters of causes, and how many boxes there are."""

    letters: Mapping[str, str]
    shown: int


def boxes_of(
    library: Library, procedure: Procedure, letters: Mapping[str, str], said: Iterable[str], shown: int
) -> tuple[CardBox, ...]:
    """The first `shown` boxes with their steps. What leads to a further box leads to the manual.

    A hazard is explained once on the card, then only named; the hazards of `said` stand in its panel already. What must hold
    before is written once, then referred to; so is a check that comes again on another way.
    """
    signposts = Signposts(letters, shown)
    known, needs, done, boxes = set(said), dict[tuple[str, ...], int](), dict[str, int](), []
    for box in procedure.boxes[:shown]:
        found = _box(library, box, signposts, known, needs, procedure.who)
        if box.id in done and box.kind == "check":
            found = replace(found, title=(found.title[0], Run(f"as check {done[box.id]}")), steps=())
        boxes.append(found)
        if box.kind == "check":
            done.setdefault(box.id, box.number)
            known |= {hazard.id for hazard in hazards_of_work(library, library.checks[box.id])}
            needs.setdefault(library.checks[box.id].needs, box.number)
    return tuple(boxes)


def _box(
    library: Library,
    number: Box,
    signposts: Signposts,
    said: set[str],
    needs: dict[tuple[str, ...], int],
    who: str,
) -> CardBox:
    if number.kind == "remedy":
        return _remedy_box(library, number, signposts)
    check = library.checks[number.id]
    hazards = hazards_of_work(library, check)
    return CardBox(
        number=number.number,
        kind="check",
        title=(Run(f"{check.title} ", True), Run(_meta(library, check, who) + _before(library, check, needs))),
        word=hazards[0].signal_word if hazards else "",
        hazards=reminder(hazards, said),
        reading=_reading(library, check),
        steps=numbered(check.steps),
        ways=_ways(library, check, number.exits, signposts),
    )


def hazards_of_work(library: Library, action: Action) -> tuple[Hazard, ...]:
    """Hazards of a check or remedy, its place, tools and steps."""
    found = [*library.hazards_of(action), *(h for step in action.steps for h in library.hazards_of_step(step))]
    return library.most_severe_first(hazard.id for hazard in found)


def without_steps(full: CardBox) -> CardBox:
    """The box without its steps. Ways that then stand two in a row are put beside those as long as themselves."""
    bare = replace(full, steps=())
    return replace(bare, ways=tuple(sorted(bare.ways, key=_length))) if bare.wide else bare


def _length(way: Way) -> tuple[bool, bool, int]:
    """The ordinary outcome first, then the shortest line; what stands for all others comes last."""
    return not way.normal, way.text[0].text == ELSE, sum(len(run.text) for run in way.text)


def reminder(hazards: Sequence[Hazard], said: set[str]) -> Para:
    """What a box says of its hazards: the ones that are new on the card with the way to avoid them, the others by name."""
    if not hazards:
        return ()
    runs = [Run(hazards[0].signal_word, True)]
    for hazard in hazards:
        runs.append(Run(f" {hazard.title}.", True))
        if hazard.id not in said:
            runs.append(Run(f" {hazard.avoid or hazard.consequence}"))
    return tuple(runs)


def _meta(library: Library, check: Check, who: str) -> str:
    """Place, time, tools and helpers: 'Beside a leg · 65 min · Steel ruler'."""
    parts = [library.places[check.place].title if check.place in library.places else check.place]
    parts.append(words.minutes_words(check.minutes))
    tools = dict.fromkeys([*check.tools, *(tool for step in check.steps for tool in step.tools)])
    parts += [library.tools[tool].title for tool in tools if tool in library.tools]
    if check.helpers:
        parts.append("1 helper" if check.helpers == 1 else f"{check.helpers} helpers")
    if library.rank(check.who) > library.rank(who) and check.who in library.people:
        parts.append(library.people[check.who].title)
    if check.applies_to:
        parts.append(f"only {words.applies_words(library, check.applies_to)}")
    return " · ".join(parts)


def _before(library: Library, check: Check, needs: Mapping[tuple[str, ...], int]) -> str:
    """The states that must hold first; for those of an earlier check, that check's number."""
    states = [state for state in check.needs if state in library.states]
    if not states:
        return ""
    held = max((known for known in needs if known and set(known) <= set(check.needs)), key=len, default=())
    written = [f"as check {needs[held]}"] if held else []
    return f". Before: {', '.join([*written, *(library.states[s].title for s in states if s not in held)])}"


def _reading(library: Library, check: Check) -> Para:
    """What is measured and what it should read; for a look or a try, nothing: the outcomes say it."""
    normal = words.normal_outcome(check)
    if check.reading is None or normal is None:
        return ()
    expected = words.outcome_range(check, normal) or words.outcome_label(check, normal)
    quantity = words.reading_words(library, check.reading)
    return (Run(f"{quantity}: "), Run(f"expect {expected}", True))


def _ways(library: Library, check: Check, exits: Sequence[Exit], signposts: Signposts) -> tuple[Way, ...]:
    """Where each outcome leads. One line speaks for three and more that lead the same way, or two that lead where the normal
    one leads; the normal one itself is always named.
    """
    ways = [_way(library, check, leads, signposts) for leads in exits]
    normal = {way.text[-1] for way in ways if way.normal}
    ends = Counter(way.text[-1] for way in ways if not way.normal)
    common, count = ends.most_common(1)[0] if ends else (Run(""), 0)
    if count < (2 if common in normal else 3):
        return tuple(ways)
    kept = [way for way in ways if way.normal or way.text[-1] != common]
    return (*kept, Way((Run(ELSE if kept else "Any outcome "), common)))


def _way(library: Library, check: Check, leads: Exit, signposts: Signposts) -> Way:
    outcome = check.outcomes[leads.outcome]
    label = words.outcome_words(check, leads.outcome)
    at_once = library.precautions[outcome.then].title if outcome.then and outcome.then in library.precautions else ""
    then = f"at once: {at_once}; then " if at_once else ""
    return Way((Run(f"{label} "), Run(f"→\u00a0{then}{target(leads, signposts)}", True)), outcome.normal)


def target(leads: Exit, signposts: Signposts) -> str:
    """Where an outcome leads, in words."""
    if leads.done:
        rest = target(replace(leads, done=False), signposts)
        return "cured: try it again" if rest == HAND_OVER else f"cured: try it again; if not, {rest}"
    known = [signposts.letters[cause] for cause in leads.causes if cause in signposts.letters]
    after = ""
    if len(known) > AT_ONCE:
        after = MANUAL
    elif leads.box is not None:
        after = f"check\u00a0{leads.box}" if leads.box <= signposts.shown else MANUAL
    if known:
        causes = f"{'cause' if len(known) == 1 else 'causes'} {', '.join(known[:AT_ONCE])}"
        return f"{causes}, then {after}" if after else causes
    return after or HAND_OVER


def _remedy_box(library: Library, number: Box, signposts: Signposts) -> CardBox:
    cause = library.causes[number.id]
    said = {"cured": "Cured", "not-cured": "Not cured"}
    ways = tuple(
        Way((Run(f"{said[leads.outcome]} "), Run(f"→ {'done' if leads.done else target(leads, signposts)}", True)))
        for leads in number.exits
    )
    title = f"Mend cause {signposts.letters[number.id]}: {cause.title}"
    return CardBox(number.number, "remedy", (Run(title, True),), "", (), (), (), ways)
