"""Height of every part of a card, in points. assets/card.css bears the same sizes; a test holds both together."""

from __future__ import annotations

from collections.abc import Iterable

from kbtools.cards.boxes import CardBox, Way
from kbtools.cards.content import Message, Stop
from kbtools.cards.measure import Para, Run, lines

PAGE_WIDTH, PAGE_HEIGHT = 419.53, 595.28
"""A5 by ISO 216, 148 × 210 mm."""
MARGIN = 17.01
"""6 mm on every side."""
WIDTH = PAGE_WIDTH - 2 * MARGIN
HEIGHT = PAGE_HEIGHT - 2 * MARGIN
SPARE = 4.0
"""Left free for rounding."""

TEXT, LINE = 8.0, 9.25
TITLE, TITLE_LINE = 14.0, 16.0
HEAD = 14.0
"""A heading: gap above, rule and text."""
PADDING = 6.0
"""Indent of framed text on either side, frame included."""
BAND = 13.0
GAP = 4.0
NUMBER_COLUMN, COLUMN_GAP = 16.0, 6.0
BOX_WIDTH = WIDTH - NUMBER_COLUMN
RIGHT_COLUMN = 160.0
LEFT_COLUMN = BOX_WIDTH - COLUMN_GAP - RIGHT_COLUMN
HALF_COLUMN = (BOX_WIDTH - COLUMN_GAP) / 2
WAY_INDENT = 10.0
BOX_EDGE = 5.0
"""Padding of a box above and below, and its rule."""
CAUSE_GAP = 1.0
QR = 54.0
QR_GAP = 8.0
FOOT_COLUMN = WIDTH - QR - QR_GAP


_TRIANGLE = Run("\u00a0" * 6, True)
"""As wide as the triangle before a warning and the gap after it."""


def paragraph(para: Para, column: float) -> float:
    """Height of a paragraph of body text."""
    return lines(para, TEXT, column) * LINE


def stack(paras: Iterable[Para], column: float) -> float:
    return sum(paragraph(para, column) for para in paras)


def header(title: str, applies: str) -> float:
    """Title, what it applies to, and the rule below."""
    return lines((Run(title, True),), TITLE, WIDTH) * TITLE_LINE + paragraph((Run(applies),), WIDTH) + GAP


def intro(text: str) -> float:
    return paragraph((Run(text),), WIDTH) + GAP if text else 0


def panel(message: Message | None) -> float:
    """The grouped safety panel: band, frame, one paragraph for each hazard, gap below."""
    return BAND + stack(message.hazards, WIDTH - 2 * PADDING) + 2 * GAP if message else 0


def first(paras: tuple[Para, ...]) -> float:
    """The heading and the first steps."""
    return HEAD + stack(paras, WIDTH) if paras else 0


def stops(groups: tuple[Stop, ...]) -> float:
    """The heading, and in a frame the signs and what follows them."""
    if not groups:
        return 0
    inner = WIDTH - 2 * PADDING
    paras = [para for group in groups for para in (*((Run(sign),) for sign in group.listed), group.text)]
    return HEAD + stack(paras, inner - WAY_INDENT) + GAP


def box(entry: CardBox) -> float:
    """A numbered box: title and warning across it, below them what to do and, beside it, where it leads."""
    top = paragraph(entry.title, BOX_WIDTH) + paragraph((_TRIANGLE, *entry.hazards) if entry.hazards else (), BOX_WIDTH)
    if entry.wide:
        return top + _pairs(entry.ways) + BOX_EDGE
    left = stack((entry.steps, entry.reading), LEFT_COLUMN)
    right = stack((way.text for way in entry.ways), RIGHT_COLUMN - WAY_INDENT)
    return top + max(left, right) + BOX_EDGE


def _pairs(ways: tuple[Way, ...]) -> float:
    """Ways side by side in two columns, row by row."""
    heights = [paragraph(way.text, HALF_COLUMN - WAY_INDENT) for way in ways]
    return sum(max(heights[i : i + 2]) for i in range(0, len(heights), 2))


def note(text: str) -> float:
    """The line that sends the reader on to the manual."""
    return paragraph((Run(text, True),), WIDTH) + GAP if text else 0


def causes(paras: Iterable[Para]) -> float:
    """The heading and a paragraph for each cause."""
    paras = list(paras)
    return HEAD + stack(paras, WIDTH) + CAUSE_GAP * len(paras) if paras else 0


def foot(paras: tuple[Para, ...], qr: bool) -> float:
    """The rule, and the text beside the code."""
    text = stack(paras, FOOT_COLUMN if qr else WIDTH)
    return GAP + 2 + max(text, QR if qr else 0)
