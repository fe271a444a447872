"""Signal words against their published definitions.

Source: ANSI Z535.4 / ISO 3864-2 as restated by nema.org, "Designing Effective Product Safety Labels":
DANGER: *will* result in death or serious injury; WARNING: *could* result in death or serious injury; CAUTION: *could* result
in minor or moderate injury; NOTICE: property damage, not injury. DANGER and WARNING never stand for property damage alone.
Several hazards in one message: the word of the greatest, every hazard addressed (safetysign.com, header page).
"""

from __future__ import annotations

import pytest

from kbtools.model import SIGNAL_WORDS, Hazard


def _hazard(harm: str, likelihood: str) -> Hazard:
    return Hazard.model_validate(
        {"title": "A", "harm": harm, "likelihood": likelihood, "consequence": "B", "avoid": "C", "who": "owner"}
    )


@pytest.mark.parametrize(
    ("harm", "likelihood", "word"),
    [
        ("death", "will", "DANGER"),
        ("serious", "will", "DANGER"),
        ("death", "could", "WARNING"),
        ("serious", "could", "WARNING"),
        ("minor", "could", "CAUTION"),
        # The definitions name no word for minor harm that is certain; the word for minor harm is CAUTION.
        ("minor", "will", "CAUTION"),
        ("property", "could", "NOTICE"),
        ("property", "will", "NOTICE"),
    ],
)
def test_word_by_definition(harm: str, likelihood: str, word: str) -> None:
    assert _hazard(harm, likelihood).signal_word == word


def test_the_greatest_hazard_sorts_first() -> None:
    given = [("property", "will"), ("minor", "could"), ("serious", "could"), ("death", "could"), ("death", "will")]
    ordered = sorted((_hazard(*pair) for pair in given), key=lambda hazard: hazard.severity)
    assert [(h.harm, h.likelihood) for h in ordered] == given[::-1]
    assert [h.signal_word for h in ordered] == ["DANGER", "WARNING", "WARNING", "CAUTION", "NOTICE"]


def test_the_words_stand_in_the_published_order() -> None:
    assert SIGNAL_WORDS == ("DANGER", "WARNING", "CAUTION", "NOTICE")
