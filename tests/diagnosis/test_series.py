"""Parts in series."""

import random
from functools import cache

import pytest

from kbtools.diagnosis import series
from kbtools.diagnosis.exact import optimum
from kbtools.diagnosis.series import best_split, expected, half_count, half_mass, least, walking
from tests.diagnosis.small import check, network, remedy


@pytest.mark.parametrize("seed", range(30))
def test_the_table_of_brackets_is_the_least_of_all_ways(seed):
    rng = random.Random(seed)
    parts = rng.randint(2, 7)
    odds = [rng.uniform(0.1, 1) for _ in range(parts)]
    costs = [rng.uniform(1, 30) for _ in range(parts - 1)]

    @cache
    def every(start: int, end: int) -> float:
        if end - start < 2:
            return 0.0
        mass = sum(odds[start:end])
        return min(
            costs[t - 1] + sum(odds[start:t]) / mass * every(start, t) + sum(odds[t:end]) / mass * every(t, end)
            for t in range(start + 1, end)
        )

    assert least(odds, costs) == pytest.approx(every(0, parts))
    for rule in (best_split, half_mass, half_count, walking):
        assert expected(odds, costs, rule) >= least(odds, costs) - 1e-9


def test_the_best_split_is_near_the_optimum_and_walking_is_not():
    rng = random.Random(1)
    ratios = {rule: [] for rule in (best_split, half_mass, walking)}
    for _ in range(150):
        parts = rng.randint(6, 12)
        odds = [rng.random() ** 2 + 0.01 for _ in range(parts)]
        costs = [rng.uniform(1, 30) for _ in range(parts - 1)]
        for rule, found in ratios.items():
            found.append(expected(odds, costs, rule) / least(odds, costs))
    mean = {rule: sum(found) / len(found) for rule, found in ratios.items()}
    assert mean[best_split] < 1.05 < mean[half_mass] < mean[walking]


def test_the_same_as_the_general_optimum():
    # Perfect checks along a path; the remedies are all alike, so only finding the part matters.
    odds, costs = [0.4, 0.3, 0.2, 0.1], [2.0, 9.0, 4.0]
    checks = [
        check(f"tp{t}", costs[t - 1], [[float(i >= t) for i in range(4)], [float(i < t) for i in range(4)]])
        for t in (1, 2, 3)
    ]
    net = network(odds, [remedy(i, 4, 500) for i in range(4)], checks, unsolved=10_000)
    assert optimum(net) == pytest.approx(500 + least(odds, costs))


@pytest.mark.parametrize("odds, costs", [([1], []), ([1, 1], []), ([1, 1, 1], [1, 0])])
def test_paths_without_points_or_with_free_points_are_refused(odds, costs):
    with pytest.raises(ValueError, match="points"):
        best_split(odds, costs)


def test_one_part_needs_no_measurement():
    assert least([1.0], []) == 0
    assert expected([1.0], [], series.walking) == 0
