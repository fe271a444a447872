"""Scale, shares, order, words and editions by themselves."""

from __future__ import annotations

import doctest

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kbtools.library import Library
from kbtools.model import Check
from kbtools.problem import Position
from kbtools.site import authors, order, plugin, render, said, scale
from kbtools.site.edition import OWNER, SERVICE, empty
from kbtools.site.site import edit_link


@pytest.mark.parametrize("module", [authors, plugin, render, said])
def test_examples_in_the_docstrings_hold(module: object) -> None:
    result = doctest.testmod(module)  # type: ignore[arg-type]
    assert result.attempted > 0
    assert result.failed == 0


def test_the_scale_stands_from_low_to_high_with_its_bounds_between(small: Library) -> None:
    found = scale.scale_of(small.checks["step-supply"])
    assert found is not None
    assert [segment.letter for segment in found.segments] == ["A", "B", "C"]
    assert [segment.normal for segment in found.segments] == [False, False, True]
    assert [label for _, label in found.ticks] == ["1", "22"]
    assert [x for x, _ in found.ticks] == [segment.x for segment in found.segments[1:]]
    assert found.text == "A Under 1 V; B 1 to under 22 V; C 22 V or more"


def test_the_scale_is_sorted_whatever_the_order_of_outcomes() -> None:
    check = Check.model_validate(
        {
            "title": "C", "who": "o", "minutes": 1, "place": "p", "steps": ["Look."],
            "reading": {"quantity": "angle", "unit": "°"},
            "outcomes": {"hi": {"from": 2.5}, "lo": {"below": -1}, "ok": {"from": -1, "below": 2.5, "normal": True}},
        }
    )  # fmt: skip
    found = scale.scale_of(check)
    assert found is not None
    assert [s.letter for s in found.segments] == ["B", "C", "A"]
    assert [label for _, label in found.ticks] == ["−1.0", "2.5"]


def test_no_scale_without_ranges(small: Library) -> None:
    assert scale.scale_of(small.checks["step-click"]) is None


def test_letters_go_on_after_z() -> None:
    outcomes = {f"o{i}": {"label": "x", "normal": i == 0} for i in range(30)}
    check = Check.model_validate(
        {"title": "C", "who": "o", "minutes": 1, "place": "p", "steps": ["Look."], "outcomes": outcomes}
    )
    letters = list(scale.letters(check).values())
    assert letters[:2] + letters[25:28] == ["A", "B", "Z", "AA", "AB"]
    assert len(set(letters)) == 30


def test_shares_sum_to_one_and_keep_what_the_author_gave(small: Library) -> None:
    found = order.shares(small, "step-stays-in")
    assert sum(share.probability for share in found) == pytest.approx(1)
    by_id = {share.cause.id if share.cause else "unlisted": share.probability for share in found}
    assert by_id["fuse-f2-open"] == pytest.approx(0.30)
    assert by_id["unlisted"] == pytest.approx(0.05)
    # ranks 1, 3 and 4 divide the 65 per cent that are left
    assert by_id["coupled-locks-step"] == pytest.approx(0.65 / (1 + 1 / 3 + 1 / 4))


def test_quick_telling_checks_come_first_and_only_after_holds(small: Library) -> None:
    assert [check.id for check in order.checks_in_order(small, "step-stays-in")] == [
        "tractor-plugged-in", "step-click", "step-supply",
    ]  # fmt: skip


@given(st.floats(min_value=0.0005, max_value=0.9995))
def test_a_share_in_words_is_near(probability: float) -> None:
    words = said.share(probability)
    if words.startswith("about"):
        top, bottom = (int(part) for part in words.removeprefix("about ").split(" in "))
        assert top / bottom == pytest.approx(probability, rel=0.45)
    else:
        assert (words, probability < 0.008) in {("under 1 in 100", True), ("nearly all", False)}


def test_the_service_edition_shows_all_and_the_owner_edition_no_draft(small: Library) -> None:
    assert SERVICE.library_for(small) is small
    assert "door-switch-out-of-place" in small.causes
    assert set(OWNER.library_for(small).causes) == {"coupled-locks-step"}


def test_the_empty_library_has_every_kind_and_no_entry(small: Library) -> None:
    assert {kind: len(entries) for kind, entries in empty(small.folder).entries.items()} == dict.fromkeys(
        small.entries, 0
    )


def test_an_edit_link_needs_a_web_address() -> None:
    at = Position("topics/a/b.yml", 7, 3)
    assert edit_link("https://x.example/e/", at) == "https://x.example/e/topics/a/b.yml#L7"
    assert edit_link("javascript:alert(1)//", at) is None
    assert edit_link(None, at) is None
