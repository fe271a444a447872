"""The contents of a binder: every card once, on the page that they name, however long the titles are."""

from __future__ import annotations

from dataclasses import replace

import pytest

from kbtools.cards import card
from kbtools.cards.binder import binder
from kbtools.library import Library


def test_the_tiny_binder(small: Library) -> None:
    cards = [card(small, ident) for ident in small.symptoms]
    found = binder(small, "step", cards, "2026-01-31")
    assert [[(row.title, row.page) for row in page] for page in found.contents] == [
        [("The step will not come out", 2), ("The step will not fold", 3)]
    ]
    assert found.pages == 3


@pytest.mark.parametrize("words", [1, 12, 60])
@pytest.mark.parametrize("count", [1, 17, 100])
def test_every_card_once_and_in_order(small: Library, words: int, count: int) -> None:
    one = card(small, "step-stays-in")
    cards = [replace(one, title=f"{number} " + "sinks " * words) for number in range(count)]
    found = binder(small, "step", cards, "2026-01-31")
    rows = [row for page in found.contents for row in page]
    assert [row.title for row in rows] == [c.title for c in cards]
    assert [row.page for row in rows] == list(range(len(found.contents) + 1, found.pages + 1))
    assert all(page for page in found.contents[1:])
    assert found.pages == len(found.contents) + count
    if count == 100:
        assert len(found.contents) > 3
