"""Limits of sentences.

Source: ASD-STE100 as described in a tcworld.info article on Simplified Technical English: procedural sentences at most 20
words and one instruction, descriptive sentences at most 25 words.
"""

from __future__ import annotations

from kbtools.rules.language import LONGEST_STEP


def test_the_longest_step_is_the_published_one() -> None:
    assert LONGEST_STEP == 20
