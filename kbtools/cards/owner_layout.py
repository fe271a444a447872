"""Height of every part of an owner's card, in points, in a type that is as large as the text allows.

assets/owner-card.css bears the same sizes, most of them in multiples of the type size; a test holds both together.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from kbtools.cards.layout import HEIGHT, SPARE, WIDTH
from kbtools.cards.measure import Para, Run, lines

SIZES = (13, 12, 11, 10, 9)
"""Type sizes in points; a card takes the largest in which all of it stands, and the last two also with less."""

ROOM = HEIGHT - SPARE
LINE, HEAD, GAP, PADDING, INDENT = 1.18, 1.7, 0.4, 0.7, 1.4
"""In multiples of the type size: a line, a heading, a gap, the padding of a frame, the indent behind a number or a mark."""
TITLE, TITLE_LINE = 19.0, 21.0
SMALL, SMALL_LINE = 8.0, 9.5
NUMBER, NUMBER_LINE = 26.0, 30.0
CALL_COLUMN = 178.0
"""Width of the telephone number beside what to tell."""
COLUMN_GAP = 12.0
FRAME = 2.0
"""Width of the frame about the number."""
QR, QR_GAP = 62.0, 8.0


@dataclass(frozen=True)
class Measure:
    """Heights for one type size."""

    size: float

    @property
    def heading(self) -> float:
        return self.size * (HEAD + GAP)

    def text(self, para: Para, column: float = WIDTH) -> float:
        """Height of a paragraph."""
        return lines(para, self.size, column) * self.size * LINE

    def stack(self, paras: Iterable[Para], column: float = WIDTH) -> float:
        return sum(self.text(para, column) for para in paras)

    def header(self, title: str, shows: str, applies: str) -> float:
        """Title, in a line what the equipment shows and which of it this is about, and the gap below."""
        line = self.text((Run(shows, True), Run(f" {applies}")))
        return lines((Run(title, True),), TITLE, WIDTH) * TITLE_LINE + line + self.size * GAP

    def panel(self, hazards: Iterable[Para]) -> float:
        """The signal word's band, the hazards in their frame, and the gap below."""
        hazards = list(hazards)
        inner = WIDTH - 2 * self.size * PADDING - 2
        return self.size * (HEAD + 2 * GAP) + 2 + self.stack(hazards, inner) if hazards else 0

    def list(self, paras: Iterable[Para]) -> float:
        """Paragraphs behind numbers or marks, under a heading."""
        paras = list(paras)
        return self.heading + self.stack(paras, WIDTH - self.size * INDENT) if paras else 0

    def section(self, paras: Iterable[Para]) -> float:
        """Paragraphs over the whole width, under a heading."""
        paras = [para for para in paras if para]
        return self.heading + self.stack(paras) if paras else 0

    def question(self, hazards: Para, text: Para, ways: Iterable[Para]) -> float:
        """A numbered question: warning and question, below them the answers in two columns."""
        inner = WIDTH - self.size * INDENT
        column = (inner - COLUMN_GAP) / 2 - self.size * INDENT
        heights = [self.text(way, column) for way in ways]
        pairs = sum(max(heights[i : i + 2]) for i in range(0, len(heights), 2))
        return self.stack((hazards, text), inner) + pairs + self.size * GAP

    def call(self, hours: str, tell: Para) -> float:
        """The framed telephone number, and beside it what to tell."""
        inner = WIDTH - 2 * (FRAME + self.size * PADDING)
        left = self.size * LINE + NUMBER_LINE + self.text((Run(hours),), CALL_COLUMN)
        right = self.text(tell, inner - CALL_COLUMN - COLUMN_GAP)
        return max(left, right) + 2 * FRAME + self.size * 3 * GAP

    def foot(self, paras: Iterable[Para], qr: bool) -> float:
        """Small print, beside the code."""
        column = WIDTH - QR - QR_GAP if qr else WIDTH
        text = sum(lines(para, SMALL, column) * SMALL_LINE for para in paras)
        return self.size * GAP + max(text, QR if qr else 0)
