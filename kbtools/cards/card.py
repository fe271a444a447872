"""One card: everything that may never drop, and as many checks, causes and steps as the page still holds."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

import segno

from kbtools import words
from kbtools.applies import applies, one_of
from kbtools.cards import content, layout
from kbtools.cards.boxes import AT_ONCE, CardBox, boxes_of, without_steps
from kbtools.cards.content import Message, Stop
from kbtools.cards.measure import Para, Run, shortened
from kbtools.cards.procedure import Procedure, by_proof, reader_of
from kbtools.library import Library
from kbtools.model import Applies, Symptom

MOST = 12
"""Boxes that a card holds at most; a page of them has no room for more."""
WANTED = 3
"""Boxes that a card should hold at least."""
LIKELIEST = 3
"""Causes that a card names whatever its checks lead to."""


@dataclass(frozen=True)
class Card:
    """The text of a card in the order of the page; heights are in points.

    `room` is what a page holds. `refused` cards hold neither safety text nor checks, because the safety text alone does not fit: they send the reader to the manual.
    """

    symptom: str
    path: str
    title: str
    applies: str
    intro: str
    message: Message | None
    first: tuple[Para, ...]
    stops: tuple[Stop, ...]
    summary: str
    boxes: tuple[CardBox, ...]
    continues: str
    causes: tuple[Para, ...]
    foot: tuple[Para, ...]
    qr: str
    qr_size: int
    room: float
    refused: bool = False

    @property
    def parts(self) -> dict[str, float]:
        """Height of each part."""
        return {
            "title": layout.header(self.title, self.applies) + layout.intro(self.intro),
            "safety panel": layout.panel(self.message),
            "first steps": layout.first(self.first),
            "stop signs": layout.stops(self.stops),
            "checks": layout.HEAD + sum(layout.box(box) for box in self.boxes) + layout.note(self.continues),
            "causes": layout.causes(self.causes),
            "foot": layout.foot(self.foot, bool(self.qr)),
        }

    @property
    def height(self) -> float:
        """Height of all that stands on the card."""
        return sum(self.parts.values())


def card(
    library: Library,
    symptom: str,
    procedure: Procedure | None = None,
    date: str | None = None,
    units: Applies | None = None,
) -> Card:
    """The card of a symptom. `date` is printed as the content's date; left out: the one of manual.yml.

    With a class of units it names their causes alone; the procedure has to be theirs too.

    What is left beside the safety text goes, in this order, to three boxes, to the steps that follow the stop signs, to
    further boxes, to all causes, and to the steps of the boxes.
    """
    entry = library.symptoms[symptom]
    procedure = procedure or by_proof(library, symptom, reader_of(library))
    sheet = _sheet(library, entry, procedure, units)
    bare = _bare(library, entry, procedure, date or library.manual.revised, units)
    found = replace(bare, continues=sheet.continues(bare.path, 0))
    if found.height > found.room:
        return _refused(bare)
    found = _furthest(found, (sheet.with_boxes(bare, count) for count in range(min(WANTED, sheet.total) + 1)))
    found = _furthest(found, _with_stop_steps(found, content.stops(library, entry)))
    found = _furthest(found, (sheet.with_boxes(found, count) for count in range(len(found.boxes), sheet.total + 1)))
    found = _furthest(found, [replace(found, causes=sheet.lines)])
    return _furthest(found, _with_steps(found, sheet.full(len(found.boxes))))


def least(library: Library, symptom: str, procedure: Procedure | None = None) -> Card:
    """The card with what may never drop and its first three boxes, whether the page holds them or not."""
    entry = library.symptoms[symptom]
    procedure = procedure or by_proof(library, symptom, reader_of(library))
    sheet = _sheet(library, entry, procedure)
    return sheet.with_boxes(_bare(library, entry, procedure, library.manual.revised), min(WANTED, sheet.total))


def _furthest(found: Card, fuller: Iterable[Card]) -> Card:
    """The last of ever fuller cards that the page still holds."""
    for candidate in fuller:
        if candidate.height > candidate.room:
            break
        found = candidate
    return found


def _with_stop_steps(found: Card, stops: tuple[Stop, ...]) -> Iterator[Card]:
    return (replace(found, stops=stops[:count] + found.stops[count:]) for count in range(1, len(stops) + 1))


def _with_steps(found: Card, full: tuple[CardBox, ...]) -> Iterator[Card]:
    return (replace(found, boxes=full[:count] + found.boxes[count:]) for count in range(1, len(found.boxes) + 1))


@dataclass(frozen=True)
class _Sheet:
    """All that can stand below the safety text: boxes as many as wanted, and a line for each cause."""

    library: Library
    procedure: Procedure
    letters: dict[str, str]
    lines: tuple[Para, ...]
    said: frozenset[str]

    @property
    def total(self) -> int:
        return min(len(self.procedure.boxes), MOST)

    def full(self, shown: int) -> tuple[CardBox, ...]:
        """So many boxes, with their steps."""
        return boxes_of(self.library, self.procedure, self.letters, self.said, shown)

    def with_boxes(self, found: Card, shown: int) -> Card:
        """The card with so many boxes, without steps, and the causes that they lead to and the likeliest ones."""
        boxes = self.procedure.boxes[:shown]
        named = {cause for box in boxes for leads in box.exits for cause in leads.causes[:AT_ONCE]}
        named |= {box.id for box in boxes if box.kind == "remedy"} | set(list(self.letters)[:LIKELIEST])
        lines = tuple(line for cause, line in zip(self.letters, self.lines, strict=True) if cause in named)
        rest = len(self.lines) - len(lines)
        return replace(
            found,
            boxes=tuple(without_steps(box) for box in self.full(shown)),
            causes=(*lines, (Run(f"{rest} more in the manual."),)) if rest else lines,
            continues=self.continues(found.path, shown),
        )

    def continues(self, path: str, shown: int) -> str:
        """The line that sends the reader on when boxes are missing, or to somebody else when there are none at all."""
        if not self.procedure.boxes:
            return "No check is known for this reader: hand over."
        return f"Continue in the manual: {path}" if shown < len(self.procedure.boxes) else ""


def _sheet(library: Library, entry: Symptom, procedure: Procedure, units: Applies | None = None) -> _Sheet:
    unit = one_of(units) if units else None
    listed = {cause.id: cause for cause in library.causes_of(entry.id)}
    causes = [cause for cause in listed.values() if applies(cause.applies_to, unit)]
    if units:
        causes = [cause.model_copy(update={"applies_to": ()}) for cause in causes]
    letters = content.letters_of(cause.id for cause in causes)
    said = frozenset(hazard.id for hazard in content.hazards_of_opening(library, entry))
    lines = tuple(
        content.cause_line(library, cause, letter, procedure.who)
        for cause, letter in zip(causes, letters.values(), strict=True)
    )
    return _Sheet(library, procedure, letters, lines, said)


def _bare(library: Library, entry: Symptom, procedure: Procedure, date: str, units: Applies | None = None) -> Card:
    """The card with everything that may never drop, and nothing else."""
    owner = entry.owner if library.rank(procedure.who) == 0 else None
    path = f"symptoms/{entry.id}.html"
    qr, size = qr_of(library.manual.site_url, path)
    system = library.systems[entry.system].title if entry.system in library.systems else entry.system
    who = library.people[procedure.who].title if procedure.who in library.people else procedure.who
    about = f"Only {words.applies_words(library, [units])}" if units else words.applies_words(library, entry.applies_to)
    head = f"{about} · {system} · for: {who}"
    return Card(
        symptom=entry.id,
        path=path,
        title=owner.title if owner else entry.title,
        applies=f"DRAFT, not reviewed · {head}" if entry.status == "draft" else head,
        intro=owner.text if owner else "",
        message=content.message(content.hazards_of_opening(library, entry)),
        first=content.first(library, entry),
        stops=tuple(replace(stop, steps=()) for stop in content.stops(library, entry)),
        summary=_summary(procedure),
        boxes=(),
        continues="",
        causes=(),
        foot=content.foot(library, path, date),
        qr=qr,
        qr_size=size,
        room=layout.HEIGHT - layout.SPARE,
    )


def _summary(procedure: Procedure) -> str:
    parts = []
    if procedure.minutes is not None:
        parts.append(f"about {words.minutes_words(procedure.minutes)} until fixed")
    if procedure.settled is not None:
        parts.append(f"settles {words.percent_words(procedure.settled)} of cases")
    return ", ".join(parts)


def qr_of(site_url: str | None, path: str) -> tuple[str, int]:
    """The path data of a QR code (ISO/IEC 18004) to the page and its modules a side; empty without an address."""
    if not site_url:
        return "", 0
    matrix = segno.make(f"{site_url.rstrip('/')}/{path}", error="m", micro=False).matrix
    dots = (f"M{x} {y}h1v1h-1z" for y, row in enumerate(matrix) for x, dark in enumerate(row) if dark)
    return "".join(dots), len(matrix)


def _refused(bare: Card) -> Card:
    """A card whose safety text does not fit on a page holds nothing that could be followed without it."""
    note = Run("What must be read first does not fit on one page. Work from the manual, not from this card: ", True)
    return replace(
        bare,
        title=shortened(bare.title, layout.TITLE, layout.WIDTH, 4, strong=True),
        applies=shortened(bare.applies, layout.TEXT, layout.WIDTH, 4),
        intro="",
        message=None,
        first=((note, Run(bare.path)),),
        stops=(),
        summary="",
        foot=tuple(
            (Run(shortened("".join(run.text for run in para), layout.TEXT, layout.FOOT_COLUMN, 4, True), True),)
            for para in bare.foot
        ),
        refused=True,
    )
