"""Costs of repair and of measuring against published examples."""

from dataclasses import replace
from itertools import permutations

import numpy as np
import pytest

from kbtools.diagnosis.batch import batch_of
from kbtools.diagnosis.cost import repair
from kbtools.diagnosis.learning import updated
from kbtools.diagnosis.network import Network
from kbtools.diagnosis.posterior import State
from kbtools.diagnosis.series import best_split, expected, half_count, half_mass, least, walking
from tests.diagnosis.small import network, remedy
from tests.diagnosis.test_cost import spelled_out


def best_order(net: Network) -> tuple[float, list[int]]:
    plan = repair(net, batch_of(net, [State()]), 0)
    return float(plan.minutes[0]), [int(r) for r in plan.order[0, : plan.stop[0]]]


def test_two_boxes():
    # cs.stackexchange.com question 144646: p (.8, .2), cost (3, 2); order 1-2 costs 3.4, order 2-1 costs 4.4.
    net = network([0.8, 0.2], [remedy(0, 2, 3), remedy(1, 2, 2)])
    assert best_order(net) == (pytest.approx(3.4), [0, 1])
    assert spelled_out(net, (0, 1)) == pytest.approx(3.4)
    assert spelled_out(net, (1, 0)) == pytest.approx(4.4)


def test_repairs_that_overlap():
    # A textbook exercise (its statement seen, the answer by brute force): causes .8/.15/.05, repairs of cost
    # 1, 2, 25 and 500; the first mends the first cause, the second the second at .95, the third either of them
    # at .99, the last everything. Order 1-2-3-4 costs 27.875, the next best 29.3325.
    blank = remedy(0, 3, 1)
    cures = [(1.0, 0.0, 0.0), (0.0, 0.95, 0.0), (0.99, 0.99, 0.0), (1.0, 1.0, 1.0)]
    costs = [1, 2, 25, 500]
    repairs = [replace(blank, id=f"r{i}", minutes=costs[i], cures=cures[i]) for i in range(4)]
    net = network([0.8, 0.15, 0.05], repairs, unsolved=100_000)
    assert best_order(net) == (pytest.approx(27.875), [0, 1, 2, 3])
    whole = sorted(spelled_out(net, order, unsolved=0) for order in permutations(range(4)))
    complete = [spelled_out(net, order) for order in permutations(range(4))]
    assert min(complete) == pytest.approx(27.875)
    assert whole[0] == pytest.approx(27.875)
    assert whole[1] == pytest.approx(29.3325)


@pytest.mark.parametrize("parts, optimum, walk", [(8, 3.0, 4.375), (10, 3.4, 5.4)])
def test_equal_parts_in_series(parts, optimum, walk):
    # Own, exact: 8 equal parts need 3.0 measurements on average and 4.375 walking from the supply; 10 need 3.4.
    odds, costs = [1.0] * parts, [1.0] * (parts - 1)
    assert least(odds, costs) == pytest.approx(optimum)
    assert expected(odds, costs, best_split) == pytest.approx(optimum)
    assert expected(odds, costs, walking) == pytest.approx(walk)
    assert least(odds, costs) >= np.log2(parts) - 1e-12


def test_ten_bulbs_in_series_need_at_most_four_measurements():
    # Seen in a training text on bracketing: ten bulbs in series, at most four measurements.
    def worst(parts: int) -> int:
        if parts < 2:
            return 0
        at = half_count([1.0] * parts, [1.0] * (parts - 1))
        return 1 + max(worst(at), worst(parts - at))

    assert worst(10) == 4


def test_unequal_parts_in_series():
    # Own, exact.
    odds, costs = [0.40, 0.05, 0.05, 0.10, 0.05, 0.05, 0.20, 0.10], [1.0] * 7
    assert least(odds, costs) == pytest.approx(2.6)
    assert expected(odds, costs, half_mass) == pytest.approx(2.7)
    assert expected(odds, costs, half_count) == pytest.approx(3.0)
    assert expected(odds, costs, walking) == pytest.approx(3.7)
    assert -sum(p * np.log2(p) for p in odds) == pytest.approx(2.522, abs=5e-4)


def test_points_that_differ_in_cost():
    # Own, exact.
    odds, costs = [0.40, 0.05, 0.05, 0.10, 0.05, 0.05, 0.20, 0.10], [5.0, 1, 10, 2, 2, 20, 3]
    assert least(odds, costs) == pytest.approx(12.3)
    assert expected(odds, costs, half_mass) == pytest.approx(24.1)


def test_bracketing():
    # US Army IT0338: measure at or before the middle of the bracket, then move the bracket to the bad half.
    for parts in range(2, 20):
        assert half_count([1.0] * parts, [1.0] * (parts - 1)) <= (parts + 1) // 2
        assert best_split([1.0] * parts, [1.0] * (parts - 1)) == parts // 2


def test_learning_from_counts():
    # Gelman et al., Bayesian Data Analysis, section 3.4 (counts seen): 727, 583 and 137 answers, uniform prior.
    means = updated([1 / 3] * 3, [727, 583, 137], strength=3)
    assert means == pytest.approx([0.50207, 0.40276, 0.09517], abs=5e-6)
    draws = np.random.default_rng(0).gamma(np.array(means) * (727 + 583 + 137 + 3), size=(1_000_000, 3))
    assert (draws[:, 0] > draws[:, 1]).mean() == pytest.approx(0.99997, abs=2e-5)
