"""A binder: all cards of a system or of a manual behind a cover whose contents name their pages."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from kbtools.cards import layout
from kbtools.cards.card import Card
from kbtools.cards.measure import Para, Run, lines
from kbtools.cards.owner_card import OwnerCard
from kbtools.library import Library

SYSTEM, SYSTEM_LINE = 22.0, 26.0
ROW, ROW_LINE, ROW_GAP = 9.0, 11.0, 5.0
PAGE_COLUMN = 28.0
COVER_FIXED = 174.0
"""Everything on the cover whose height does not depend on its text: rules, gaps, lines to write on, the page's number."""
CONTENTS_FIXED = 70.0
"""The same on a further page of contents."""


@dataclass(frozen=True)
class Row:
    """A line of the contents: a card's title, whether it is a draft, and its page."""

    title: str
    draft: bool
    page: int


@dataclass(frozen=True)
class Binder:
    """What stands in a binder. `contents` has the rows of each page of contents; the first of them is the cover.

    `path` is the page of the manual to which it belongs.
    """

    path: str
    title: str
    summary: str
    foot: tuple[Para, ...]
    contents: tuple[tuple[Row, ...], ...]
    cards: tuple[Card | OwnerCard, ...]

    @property
    def pages(self) -> int:
        """A5 pages, cover included."""
        return len(self.contents) + len(self.cards)


def binder(library: Library, system: str, cards: Sequence[Card], date: str) -> Binder:
    """The binder of a system with these cards. `date` is printed as the content's date."""
    entry = library.systems[system]
    return bound(library, entry.title, cards, date, path=f"systems/{system}.html", summary=entry.summary or "")


def bound(
    library: Library, title: str, cards: Sequence[Card | OwnerCard], date: str, *, path: str, summary: str = ""
) -> Binder:
    """These cards under a title. `path` is the page to which they belong."""
    manual = library.manual
    foot: tuple[Para, ...] = (
        (Run(f"{manual.organisation}, {manual.telephone}{f', {manual.hours}' if manual.hours else ''}", True),),
        (Run(manual.emergency_call, True),),
        (Run(f"{manual.hand_over} {manual.defer}"),),
        (Run(f"{manual.title}, revision {library.revision}, {date}. Page: {path}"),),
    )
    head = lines((Run(title, True),), SYSTEM, layout.WIDTH) * SYSTEM_LINE
    head += layout.paragraph((Run(summary),), layout.WIDTH) + layout.stack(foot, layout.WIDTH) + COVER_FIXED
    heights = [_row_height(card) for card in cards]
    counts = _split(heights, layout.HEIGHT - head, layout.HEIGHT - CONTENTS_FIXED)
    rows = [
        Row(card.title, library.symptoms[card.symptom].status == "draft", len(counts) + number)
        for number, card in enumerate(cards, 1)
    ]
    contents, start = [], 0
    for count in counts:
        contents.append(tuple(rows[start : start + count]))
        start += count
    return Binder(path, title, summary, foot, tuple(contents), tuple(cards))


def _row_height(card: Card | OwnerCard) -> float:
    title = (Run(f"{card.title} (draft)"),)
    return lines(title, ROW, layout.WIDTH - PAGE_COLUMN - layout.COLUMN_GAP) * ROW_LINE + ROW_GAP


def _split(heights: Sequence[float], first: float, further: float) -> list[int]:
    """How many rows stand on each page, with so much room on the first one and on further ones.

    >>> _split([10, 10, 10], 25, 100), _split([10], 5, 100)
    ([2, 1], [0, 1])
    """
    counts, room = [0], first
    for height in heights:
        if height > room and (counts[-1] or len(counts) == 1):
            counts.append(0)
            room = further
        counts[-1] += 1
        room -= height
    return counts
