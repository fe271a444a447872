"""Ranks, shares and words become numbers."""

import doctest

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kbtools.diagnosis import learning, numbers
from kbtools.diagnosis.numbers import likelihood, named_row, overfull, prior, unlisted_row, unnamed_row
from kbtools.model import LIKELIHOODS


def test_the_examples_in_the_docstrings_hold():
    assert doctest.testmod(numbers).failed == 0
    assert doctest.testmod(numbers).attempted > 0


def test_ranks_alone_divide_what_the_unlisted_cause_leaves():
    assert prior([None, None, None]) == pytest.approx([0.95 * 6 / 11, 0.95 * 3 / 11, 0.95 * 2 / 11, 0.05])


def test_a_share_is_of_the_whole_and_the_rest_goes_by_rank_in_the_whole_list():
    # 1/2 and 1/3 for the second and third of the list
    assert prior([40, None, None]) == pytest.approx([0.40, 0.55 * 3 / 5, 0.55 * 2 / 5, 0.05])


def test_when_every_cause_has_a_share_they_fill_what_is_left():
    assert prior([30, 10], unlisted=20) == pytest.approx([0.6, 0.2, 0.2])


def test_causes_of_another_unit_are_removed_and_ranks_stay():
    whole = prior([None, None, None])
    assert prior([None, None, None], applies=[True, False, True]) == pytest.approx(
        [whole[0] / (1 - whole[1]), 0, whole[2] / (1 - whole[1]), whole[3] / (1 - whole[1])]
    )


def test_no_causes_leave_everything_to_the_unlisted_one():
    assert prior([]) == (1.0,)


@pytest.mark.parametrize(
    "shares, unlisted", [([60, 40, None], 5), ([95, None], 5), ([0, None], 5), ([None], 100), ([-3], 5)]
)
def test_impossible_shares_are_refused(shares, unlisted):
    with pytest.raises(ValueError, match="share"):
        prior(shares, unlisted)


@given(st.lists(st.one_of(st.none(), st.floats(0.1, 9)), min_size=1, max_size=9), st.floats(0.1, 15))
def test_a_prior_is_positive_and_sums_to_one(shares, unlisted):
    found = prior(shares, unlisted)
    assert len(found) == len(shares) + 1
    assert sum(found) == pytest.approx(1)
    assert min(found) > 0


@pytest.mark.parametrize(
    "named, expected",
    [
        ({2: "always"}, [0.01, 0.01, 0.98]),
        ({1: "usually", 2: "sometimes"}, [0.01 / 1.11, 0.80 / 1.11, 0.30 / 1.11]),
        ({2: "sometimes"}, [0.69, 0.01, 0.30]),  # what is missing goes to the normal outcome
        ({0: "rarely"}, [0.08, 0.46, 0.46]),  # which is named here, so to the others equally
        ({1: 0.5}, [0.49, 0.5, 0.01]),
        ({0: 0.2, 1: 0.2, 2: 0.2}, [1 / 3, 1 / 3, 1 / 3]),
    ],
)
def test_a_row_of_a_named_cause(named, expected):
    assert named_row(named, 3, normal=0) == pytest.approx(expected)


def test_rows_of_causes_that_are_not_named():
    assert unnamed_row(3, 1) == pytest.approx([0.015, 0.97, 0.015])
    assert unlisted_row(4) == (0.25,) * 4


@given(st.dictionaries(st.integers(0, 3), st.sampled_from([*LIKELIHOODS, 0.15, 0.6]), max_size=4), st.integers(0, 3))
def test_no_row_ever_holds_a_zero_or_a_one(named, normal):
    row = named_row(named, 4, normal)
    assert sum(row) == pytest.approx(1)
    assert 0 < min(row) <= max(row) < 1


@pytest.mark.parametrize("value", ["mostly", 0, 1, 1.5, -0.1])
def test_likelihoods_out_of_range_are_refused(value):
    with pytest.raises(ValueError, match=r"one of|over 0"):
        likelihood(value)


def test_words_stay_near_their_published_medians():
    # Mosteller and Youtz 1990, Table 2 (read in a transcription): always 99.7 %, usually 75 %, sometimes 25 %
    # (17.5 to 35), rarely 7.2 %, never 0.3 %. Always and never are kept away from certainty on purpose.
    medians = {"always": 0.997, "usually": 0.75, "sometimes": 0.25, "rarely": 0.072, "never": 0.003}
    for word, median in medians.items():
        assert LIKELIHOODS[word] == pytest.approx(median, abs=0.051)
    assert 0.175 <= LIKELIHOODS["sometimes"] <= 0.35


def test_too_much_named_is_told():
    assert overfull({0: "usually", 1: "usually"}) == pytest.approx(1.6)
    assert overfull({0: "always", 1: "sometimes"}) == 0


def test_learning_is_the_mean_of_a_dirichlet():
    assert learning.updated([0.5, 0.3, 0.2], [0, 0, 0]) == pytest.approx([0.5, 0.3, 0.2])
    assert learning.updated([0.5, 0.5], [10, 0], strength=20) == pytest.approx([20 / 30, 10 / 30])
    with pytest.raises(ValueError, match="one count"):
        learning.updated([0.5, 0.5], [1])


def test_older_calls_fade():
    assert learning.faded_counts([0, 1, 0], 3) == pytest.approx([1 + 0.985**2, 0.985, 0])
