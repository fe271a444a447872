"""Rules about the quick cards."""

from __future__ import annotations

from collections.abc import Iterator

from kbtools.cards import least
from kbtools.cards.compiled import compiled
from kbtools.cards.procedure import Procedure
from kbtools.library import Library
from kbtools.rules.registry import Finding, rule

_MM = 25.4 / 72
"""Millimetres in a point."""


@rule("card-overflows", "warning")
def card_overflows(library: Library) -> Iterator[Finding]:
    """A quick card has room for its safety text and three checks.

    A card is one A5 page in type of 8 points. Its panel, first steps and stop signs are never cut, so the checks give way; a
    card with fewer than three of them is of little use in the hand. Where the safety text alone fills the page, the card
    only sends its reader to the manual.

    Fails:

        first: [clear-the-site, isolate, chock, cordon-off, call-in]     # five precautions of ten steps each

    Passes:

        first: [clear-the-site]
        stop_if:
          - {sign: Oil sprays, then: oil-injection}
    """
    for ident in library.symptoms:
        card = least(library, ident, _procedure(library, ident))
        if card.height > card.room:
            parts = sorted(card.parts.items(), key=lambda part: -part[1])
            yield Finding(
                library.at("symptom", ident, key=True),
                f"the card of {ident} needs {card.height * _MM:.0f} mm for its safety text and {len(card.boxes)} checks; "
                f"an A5 page holds {card.room * _MM:.0f} mm",
                f"Shorten the longest: {', '.join(f'{name} {height * _MM:.0f} mm' for name, height in parts[:4])}.",
            )


def _procedure(library: Library, symptom: str) -> Procedure | None:
    """The one on the card; None (the order by proof) where other errors leave no numbers to compile."""
    try:
        return compiled(library, symptom)
    except ValueError:
        return None
