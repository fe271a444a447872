"""Texts on which the terminal's search and the browser's are held to the same integers."""

from __future__ import annotations

import random
from collections.abc import Iterator
from pathlib import Path

QUERIES = [Path(__file__).parent / name for name in ("queries.tsv", "queries-desk.tsv")]
ALPHABET = "abcdefghijklmnopqrstuvwxyz '’.,-0123456789éüßﬁК🚚\u202e\u0301"


def queries() -> list[str]:
    """Every query of the evaluation."""
    lines = [line for path in QUERIES for line in path.read_text(encoding="utf-8").splitlines()[1:]]
    return [line.split("\t")[3] for line in lines]


def off_topic() -> list[str]:
    """The queries that nothing in the manual is about."""
    lines = (Path(__file__).parent / "off-topic.tsv").read_text(encoding="utf-8").splitlines()[1:]
    return [line.split("\t")[2] for line in lines]


def prefixes(texts: list[str]) -> Iterator[str]:
    """Every prefix of every text: what the browser is asked while somebody types."""
    for text in texts:
        for end in range(1, len(text) + 1):
            yield text[:end]


def fuzzed(texts: list[str], count: int, seed: int = 20_260_101) -> Iterator[str]:
    """Queries with inserted, lost, swapped and foreign characters; the same ones for the same seed."""
    chance = random.Random(seed)
    for _ in range(count):
        characters = list(chance.choice(texts))
        for _ in range(chance.randrange(1, 7)):
            at = chance.randrange(len(characters)) if characters else 0
            action = chance.random()
            if action < 0.4:
                characters.insert(at, chance.choice(ALPHABET))
            elif action < 0.7 and characters:
                characters.pop(at)
            elif at + 1 < len(characters):
                characters[at], characters[at + 1] = characters[at + 1], characters[at]
        yield "".join(characters)
