"""Geometry of the small scale that shows what a reading should be."""

from __future__ import annotations

from dataclasses import dataclass

from kbtools import words
from kbtools.model import Check

MOST = 6
"""Most ranges that still read well side by side; the table says the same for more."""
WIDTH = 320
MARGIN = 2


@dataclass(frozen=True)
class Segment:
    """One range: where it stands (in the drawing's units), its letter in the table, and whether it is the normal one."""

    x: float
    width: float
    letter: str
    normal: bool


@dataclass(frozen=True)
class Scale:
    """Ranges side by side from low to high, not to scale, with the bounds between them."""

    segments: tuple[Segment, ...]
    ticks: tuple[tuple[float, str], ...]
    unit: str
    text: str
    width: int = WIDTH


def letters(check: Check) -> dict[str, str]:
    """Outcome id → the letter under which it stands in the table: A, B, … Z, then AA."""
    return {ident: _letter(index) for index, ident in enumerate(check.outcomes)}


def _letter(index: int) -> str:
    head = _letter(index // 26 - 1) if index >= 26 else ""
    return head + chr(ord("A") + index % 26)


def scale_of(check: Check) -> Scale | None:
    """The scale of a check that measures; None when it has fewer than two ranges or too many to draw."""
    ranged = [
        (outcome.from_ if outcome.from_ is not None else float("-inf"), ident)
        for ident, outcome in check.outcomes.items()
        if outcome.from_ is not None or outcome.below is not None
    ]
    if check.reading is None or not 2 <= len(ranged) <= MOST:
        return None
    ordered = [ident for _, ident in sorted(ranged)]
    named = letters(check)
    step = (WIDTH - 2 * MARGIN) / len(ordered)
    segments = tuple(
        Segment(round(MARGIN + i * step, 1), round(step, 1), named[ident], check.outcomes[ident].normal)
        for i, ident in enumerate(ordered)
    )
    decimals = words.decimals_of(words.bounds_of(check))
    ticks = tuple(
        (segment.x, words.number_words(bound, decimals))
        for segment, ident in zip(segments[1:], ordered[1:], strict=True)
        if (bound := check.outcomes[ident].from_) is not None
    )
    text = "; ".join(f"{named[ident]} {words.outcome_words(check, ident)}" for ident in ordered)
    return Scale(segments, ticks, check.reading.unit, text)
