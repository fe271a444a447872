"""An owner's card: one A5 page for the wall or the locker, in plain words and in letters as large as its text allows."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from kbtools import words
from kbtools.cards import content
from kbtools.cards.boxes import hazards_of_work, reminder
from kbtools.cards.card import qr_of
from kbtools.cards.content import Message, Stop
from kbtools.cards.layout import WIDTH
from kbtools.cards.measure import Para, Run, shortened
from kbtools.cards.owner_layout import ROOM, SIZES, SMALL, TITLE, Measure
from kbtools.cards.owner_steps import QUESTIONS, Mending, checks_of, may_mend, mendings_of
from kbtools.cards.procedure import Box, Exit, Procedure
from kbtools.diagnosis.network import Network
from kbtools.library import Library
from kbtools.model import Check, Remedy, Symptom

TRIES = 2
"""Remedies that one answer leads to at most; who has tried two calls."""
ENOUGH = 2
"""Questions for which a card takes smaller letters."""
CALL = ("type and serial number", "which lamps are lit or blink, and how often", "what was done just before")
"""What the desk asks every owner, whatever the trouble."""
SAYS_STOP = "An answer below says stop"


@dataclass(frozen=True)
class Question:
    """A numbered question. `ways` are answers and where they lead, or on a card that mends nothing just the answers."""

    number: int
    hazards: Para
    text: Para
    ways: tuple[Para, ...]


@dataclass(frozen=True)
class OwnerCard:
    """The text of an owner's card in the order of the page; heights are in points, `size` is that of its type.

    `refused` cards hold neither safety text nor questions, because what must be read first does not fit: they only say whom to call.
    """

    symptom: str
    path: str
    size: int
    title: str
    shows: str
    applies: str
    message: Message | None
    first: tuple[Para, ...]
    listed: bool
    stops: tuple[Stop, ...]
    means: tuple[Para, ...]
    normal: tuple[Para, ...]
    mends: bool
    questions: tuple[Question, ...]
    tries: tuple[Para, ...]
    telephone: str
    hours: str
    tell: Para
    foot: tuple[Para, ...]
    qr: str
    qr_size: int
    room: float = ROOM
    refused: bool = False

    @property
    def parts(self) -> dict[str, float]:
        """Height of each part."""
        m = Measure(self.size)
        asked = sum(m.question(q.hazards, q.text, q.ways) for q in self.questions)
        return {
            "title": m.header(self.title, self.shows, self.applies),
            "safety panel": m.panel(self.message.hazards if self.message else ()),
            "first steps": m.list(self.first) if self.listed else m.section(self.first),
            "stop signs": m.list(
                para for stop in self.stops for para in (*((Run(s),) for s in stop.listed), stop.text)
            ),
            "meaning": m.section(self.means) + m.section(self.normal),
            "questions": m.heading + asked if self.questions else 0,
            "remedies": m.list(self.tries),
            "call": m.call(self.hours, self.tell),
            "foot": m.foot(self.foot, bool(self.qr)),
        }

    @property
    def height(self) -> float:
        """Height of all that stands on the card."""
        return sum(self.parts.values())

    @property
    def fits(self) -> bool:
        return self.height <= self.room


def owner_card(library: Library, network: Network, symptom: str, procedure: Procedure, date: str) -> OwnerCard:
    """The card of a symptom, from the owner's library, network and short procedure.

    It takes the largest type in which all of it fits. In the smaller ones the safety text, the meaning and the call stay whole, and
    what is left goes to two questions with what they lead to, the steps after the stop signs, what is normal, and further questions;
    where an owner may mend nothing, the questions come last.
    """
    sheet = _Sheet(library, network, library.symptoms[symptom], procedure, date)
    for size in SIZES[:-1]:
        if (found := sheet.whole(size)).fits:
            return found
    for size in SIZES[-2:]:
        found = sheet.fullest(size)
        if found.fits and (size == SIZES[-1] or sheet.is_enough(found)):
            return found
    return sheet.refused()


@dataclass(frozen=True)
class _Sheet:
    """All that can stand on a symptom's card."""

    library: Library
    network: Network
    entry: Symptom
    procedure: Procedure
    date: str

    def whole(self, size: int) -> OwnerCard:
        return self._listed(self._with(self._with_normal(self._with_stops(self.bare(size))), len(self.procedure.boxes)))

    def fullest(self, size: int) -> OwnerCard:
        """The card with as much of it as the page holds."""
        found = self.bare(size)
        found = self._asking(found, ENOUGH) if found.mends else found
        for fuller in (self._with_stops, self._with_normal, self._asking, self._listed):
            more = fuller(found)
            found = more if more.fits else found
        return found

    def is_enough(self, found: OwnerCard) -> bool:
        """Whether the card need not take smaller letters: somebody who may mend something has questions and a remedy."""
        some = bool(self._with(found, len(self.procedure.boxes)).tries)
        asked = len(found.questions) >= min(ENOUGH, len(self.procedure.boxes))
        return not found.mends or (asked and bool(found.tries) is some)

    def _asking(self, found: OwnerCard, most: int = QUESTIONS) -> OwnerCard:
        """The card with as many questions and remedies as fit, remedies before questions."""
        cards = [found]
        for count in range(1, min(most, len(self.procedure.boxes)) + 1):
            full = self._with(found, count)
            cards += [full, *(self._with(found, count, tries) for tries in range(len(full.tries)))]
        fitting = [card for card in cards if card.fits] or cards[:1]
        return max(fitting, key=lambda card: (len(card.questions) + len(card.tries), len(card.tries)))

    def bare(self, size: int) -> OwnerCard:
        """The card with what may never drop, and nothing else."""
        library, entry, manual = self.library, self.entry, self.library.manual
        path = f"symptoms/{entry.id}.html"
        qr, qr_size = qr_of(manual.site_url, path)
        mendings = mendings_of(library, self.network)
        return OwnerCard(
            symptom=entry.id,
            path=path,
            size=size,
            title=entry.title,
            shows=" · ".join(entry.shows),
            applies=f"Only {words.applies_words(library, entry.applies_to)}" if entry.applies_to else "",
            message=_together(content.message(content.hazards_of_opening(library, entry))),
            first=content.first(library, entry),
            listed=False,
            stops=tuple(replace(stop, steps=()) for stop in content.stops(library, entry)),
            means=((Run(" ".join(entry.owner.text.split()) if entry.owner else ""),),),
            normal=(),
            mends=may_mend(checks_of(library, self.network), mendings),
            questions=(),
            tries=(),
            telephone=manual.telephone,
            hours=manual.hours or "",
            tell=(
                Run(f"{manual.emergency_call} Tell us: ", True),
                Run(f"{'; '.join(('the title of this card', *CALL))}."),
            ),
            foot=(
                (Run(f"{manual.defer} {manual.hand_over}"),),
                (Run(f"{manual.organisation}. Revision {library.revision} of {self.date}. Page: {path}"),),
            ),
            qr=qr,
            qr_size=qr_size,
        )

    def _with_stops(self, found: OwnerCard) -> OwnerCard:
        """The card with the steps that follow the stop signs."""
        told = {stop.then: stop.steps for stop in content.stops(self.library, self.entry)}
        return replace(found, stops=tuple(replace(stop, steps=told.get(stop.then, stop.steps)) for stop in found.stops))

    def _with_normal(self, found: OwnerCard) -> OwnerCard:
        normal = self.entry.normal
        said = ((Run(f"{normal.text} "), Run("Beyond this it is not: ", True), Run(normal.limit)),) if normal else ()
        return replace(found, normal=said)

    def _listed(self, found: OwnerCard) -> OwnerCard:
        """The card with each of its first steps on a line of its own."""
        precautions = [self.library.precautions[ident] for ident in self.entry.first]
        steps = tuple((Run(step.do),) for p in precautions for step in p.steps)
        message = content.message(content.hazards_of_opening(self.library, self.entry))
        return replace(found, message=message, first=steps, listed=True)

    def _with(self, found: OwnerCard, count: int, tries: int | None = None) -> OwnerCard:
        """The card with so many questions, and so many of the remedies to which they lead; left out: all."""
        mendings = {mending.id: mending for mending in mendings_of(self.library, self.network)}
        asked = _Asked(self.library, self.procedure.boxes[:count], found.mends, mendings, tries)
        said = {hazard.id for hazard in content.hazards_of_opening(self.library, self.entry)}
        known = tuple(stop for stop in found.stops if stop.signs != (SAYS_STOP,))
        questions = asked.questions(said)
        return replace(found, questions=questions, tries=asked.tries(said), stops=(*known, *asked.stops(self.entry)))

    def refused(self) -> OwnerCard:
        bare = self.bare(SIZES[-1])
        note = "What must be read first does not fit on one page. Do not work from this card. Get everybody clear and call us."
        return replace(
            bare,
            title=shortened(bare.title, TITLE, WIDTH, 4, strong=True),
            shows="",
            applies=shortened(bare.applies, SMALL, WIDTH, 4),
            message=None,
            first=(),
            stops=(),
            means=((Run(note, True),),),
            foot=tuple((Run(shortened("".join(r.text for r in para), SMALL, WIDTH / 2, 4)),) for para in bare.foot),
            refused=True,
        )


@dataclass(frozen=True)
class _Asked:
    """The first questions of a procedure, and what their answers lead to."""

    library: Library
    boxes: Sequence[Box]
    mends: bool
    mendings: dict[str, Mending]
    tried: int | None

    def letters(self) -> dict[str, str]:
        """The remedies that are led to, in the order of the questions, with their letters."""
        led = [self._under(cause) for box in self.boxes for cause in _led(box)]
        return content.letters_of(list(dict.fromkeys(ident for ident in led if ident in self.mendings))[: self.tried])

    def _under(self, cause: str) -> str:
        return self.library.remedy_owner(cause) or cause

    def questions(self, said: set[str]) -> tuple[Question, ...]:
        letters = self.letters()
        return tuple(self._question(box, letters, said) for box in self.boxes)

    def _question(self, box: Box, letters: dict[str, str], said: set[str]) -> Question:
        if box.kind == "remedy":
            ways = (
                (Run("It is gone "), Run("→\u00a0all is well", True)),
                (Run("It is still there "), self._lead(box.exits[-1], letters)),
            )
            return Question(
                box.number, (), (Run(f"Try {letters.get(self._under(box.id), '')} below. Is it gone?", True),), ways
            )
        check = self.library.checks[box.id]
        hazards = hazards_of_work(self.library, check)
        told = reminder(hazards, said)
        said |= {hazard.id for hazard in hazards}
        return Question(box.number, told, _asked(self.library, check), self._ways(check, box.exits, letters))

    def _ways(self, check: Check, exits: Sequence[Exit], letters: dict[str, str]) -> tuple[Para, ...]:
        """Where the answers lead; answers that lead the same way share a line."""
        by_lead: dict[Run, list[str]] = {}
        for leads in exits:
            by_lead.setdefault(self._way(check, leads, letters), []).append(words.outcome_words(check, leads.outcome))
        ways = [
            (label, lead)
            for lead, labels in by_lead.items()
            for label in ([" / ".join(labels)] if lead.text else labels)
        ]
        return tuple((Run(f"{label} "), lead) if lead.text else (Run(label),) for label, lead in ways)

    def _way(self, check: Check, leads: Exit, letters: dict[str, str]) -> Run:
        then = check.outcomes[leads.outcome].then
        if then in self.library.precautions:
            return Run(f"→\u00a0stop: {self.library.precautions[str(then)].title}. Call us.", True)
        return self._lead(leads, letters) if self.mends else Run("", True)

    def _lead(self, leads: Exit, letters: dict[str, str]) -> Run:
        if leads.done:
            return Run("→\u00a0that was it. Try it once more.", True)
        known = [letters[self._under(cause)] for cause in leads.causes if self._under(cause) in letters][:TRIES]
        shown = leads.box is not None and any(box.number == leads.box for box in self.boxes)
        onward = f"go to\u00a0{leads.box}" if shown else "call us"
        if not known:
            return Run(f"→\u00a0{onward}", True)
        return Run(f"→\u00a0try {', then '.join(known)}{f'; not gone: {onward}' if shown else ''}", True)

    def tries(self, said: set[str]) -> tuple[Para, ...]:
        return tuple(self._try(letter, self.mendings[ident], said) for ident, letter in self.letters().items())

    def _try(self, letter: str, mending: Mending, said: set[str]) -> Para:
        library, remedy = self.library, mending.remedy
        title = "; ".join(cause.title for cause in mending.causes)
        hazards = hazards_of_work(library, remedy)
        told = reminder(hazards, said)
        said |= {hazard.id for hazard in hazards}
        warning = (*told, Run(" ")) if told else ()
        return (
            Run(f"{letter}\u00a0 {title}. ", True), *warning, Run(_before(library, remedy)), *content.numbered(remedy.steps), Run(" "), Run("Gone? ", True), Run(_proof(library, remedy)),
        )  # fmt: skip

    def stops(self, entry: Symptom) -> tuple[Stop, ...]:
        """What follows answers at which all work ends, unless the stop signs lead there too."""
        known = {*entry.first, *(stop.then for stop in entry.stop_if)}
        found: dict[str, None] = {}
        for box in self.boxes:
            if box.kind == "check":
                found |= dict.fromkeys(o.then for o in self.library.checks[box.id].outcomes.values() if o.then)
        return tuple(
            Stop((SAYS_STOP,), p.title, content.numbered(p.steps))
            for p in (self.library.precautions[ident] for ident in found if ident not in known)
        )


def _together(message: Message | None) -> Message | None:
    """The hazards in one paragraph."""
    if message is None:
        return None
    runs = [run for i, para in enumerate(message.hazards) for run in (*((Run(" "),) if i else ()), *para)]
    return Message(message.word, (tuple(runs),))


def _led(box: Box) -> Iterable[str]:
    """The causes whose remedies a box leads to, as many of each answer as a card names."""
    own = (box.id,) if box.kind == "remedy" else ()
    return (*own, *(cause for leads in box.exits for cause in leads.causes[:TRIES]))


def _asked(library: Library, check: Check) -> Para:
    """The question as it is put to an owner, where, and what has to be seen to first."""
    text = f"{_before(library, check)}"
    if check.ask:
        return (Run(f"{check.ask} ", True), Run(text))
    return (Run(f"{check.title} ", True), Run(text), *content.numbered(check.steps))


def _before(library: Library, action: Check | Remedy) -> str:
    """Where it is done and what must hold first: 'In the rear service locker. First: Wheels chocked. '."""
    place = f"{library.places[action.place].title}. " if action.place in library.places else ""
    needs = [library.states[state].title for state in action.needs if state in library.states]
    return (
        place + (f"First: {'; '.join(needs)}. " if needs else "") + ("With a second person. " if action.helpers else "")
    )


def _proof(library: Library, remedy: Remedy) -> str:
    proof = remedy.prove_by
    check = library.checks.get(proof.check or "")
    if check is None:
        return " ".join(part for part in (proof.do, proof.expect) if part)
    normal = words.normal_outcome(check)
    return (
        f"{check.ask or check.title} It should be: {words.outcome_words(check, normal)}."
        if normal
        else str(check.ask or check.title)
    )
