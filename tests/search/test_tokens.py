"""Text to tokens."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kbtools.search.constants import MAX_CHARACTERS, MAX_TOKENS
from kbtools.search.tokens import tokens


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("It won’t go up!", "it will not go up"),
        ("doesn't didn´t isnt cant", "does not did not is not can not"),
        ("the driver's lamp, they've", "the driver lamp they"),
        ("21.5V at TP6", "21.5 v at tp6"),
        ("21,5 V", "21.5 v"),
        ("Y-FL / TP2a", "y fl tp2a"),
        ("Électricité naïve", "electricite naive"),
        ("", ""),
        ("?!… --- 🚚 مرحبا", ""),
    ],
)
def test_tokens(text: str, expected: str) -> None:
    assert " ".join(token.text for token in tokens(text)) == expected


def test_spans_point_into_the_text() -> None:
    text = "Ünder, won't"
    assert [(t.text, text[t.start : t.end], t.pause) for t in tokens(text)] == [
        ("under", "Ünder", False),
        ("will", "won't", True),
        ("not", "won't", False),
    ]


@given(st.text())
def test_any_text_gives_plain_tokens_within_the_text(text: str) -> None:
    for token in tokens(text):
        assert token.text.isascii()
        assert token.text
        assert 0 <= token.start < token.end <= len(text)


def test_long_texts_are_cut() -> None:
    assert len(tokens("leg " * 10_000)) == MAX_TOKENS
    assert tokens("." * MAX_CHARACTERS + "leg") == []
