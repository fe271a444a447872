"""Quick cards: one A5 page for each symptom, with what a technician needs in the hand. Content and height only."""

from kbtools.cards.card import Card, card, least
from kbtools.cards.charted import from_chart
from kbtools.cards.procedure import Box, Exit, Procedure, by_proof, reader_of

__all__ = ["Box", "Card", "Exit", "Procedure", "by_proof", "card", "from_chart", "least", "reader_of"]
