"""The order of remedies and the hand-over, against brute force."""

from dataclasses import replace
from itertools import permutations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kbtools.diagnosis.batch import Batch, batch_of
from kbtools.diagnosis.cost import hand_over, repair
from kbtools.diagnosis.network import Network
from kbtools.diagnosis.order import _sorted, _stepwise
from kbtools.diagnosis.posterior import State, answered
from tests.diagnosis.generate import problem
from tests.diagnosis.small import check, network, remedy


def minutes(net: Network, state: State | None = None) -> float:
    state = state or State()
    return float(repair(net, batch_of(net, [state]), state.level).minutes[0])


def order(net: Network) -> list[int]:
    plan = repair(net, batch_of(net, [State()]), 0)
    return [int(r) for r in plan.order[0, : plan.stop[0]]]


def spelled_out(net: Network, tried: tuple[int, ...], level: int = 0, weight=None, unsolved=None) -> float:
    """Add up one order step by step, places reached once, then the end."""
    left = list(weight or net.prior)
    seen: set[int] = set()
    total = 0.0
    for r in tried:
        one = net.remedies[r]
        way = net.reach_minutes[one.place] if one.place >= 0 and one.place not in seen else 0.0
        total += sum(left) * (one.minutes + way)
        seen.add(one.place)
        left = [w * (1 - c) for w, c in zip(left, one.cures, strict=True)]
    return total + sum(left) * (net.unsolved_minutes if unsolved is None else unsolved)


weights = st.lists(st.integers(1, 40), min_size=2, max_size=5)


@settings(max_examples=60, deadline=None)
@given(weights, st.lists(st.integers(1, 60), min_size=5, max_size=5), st.integers(1, 300))
def test_probability_over_cost_is_the_best_order_of_all(shares, costs, unsolved):
    # Kadane and Simon 1975, Kalagnanam and Henrion 1990: with a hand-over, a first part of that order is best.
    prior = np.array([*shares, 2.0]) / (sum(shares) + 2)
    net = network(prior, [remedy(i, len(prior), costs[i]) for i in range(len(shares))], unsolved=unsolved)
    every = (
        spelled_out(net, tried) for size in range(len(shares) + 1) for tried in permutations(range(len(shares)), size)
    )
    assert minutes(net) == pytest.approx(min(every), rel=1e-9)


@pytest.mark.parametrize("seed", range(25))
def test_sorting_and_stepping_agree_where_places_must_be_reached(seed):
    net = problem(seed, causes=(5, 12), places=3)
    states = [State(), answered(State(), 0, 0), State(places=frozenset({1})), State(failed=frozenset({2}))]
    batch = batch_of(net, states)
    usable = np.tile(np.ones(len(net.remedies), dtype=bool), (len(states), 1)) & ~batch.used
    base = np.maximum(net.arrays.remedy_minutes[None], 1e-9)
    one, other = _sorted(net, batch, usable, base), _stepwise(net, batch, usable, base)
    worth = np.isfinite(one.spent[:, 1:])
    assert np.array_equal(worth, np.isfinite(other.spent[:, 1:]))
    assert np.array_equal(one.remedies[worth], other.remedies[worth])
    assert one.spent == pytest.approx(other.spent, rel=1e-9)
    assert one.left == pytest.approx(other.left, abs=1e-12)


def test_ties_go_by_list_position():
    assert order(network([0.3, 0.3, 0.3, 0.1], [remedy(i, 4, 7) for i in (2, 0, 1)])) == [0, 1, 2]


def test_the_first_remedy_at_a_place_pays_the_way_and_the_next_follows():
    # 0.2/(1+9) ties neither 0.3/10: at the far place 0.3/(1+9) leads and then 0.2/1 follows at once
    net = network([0.3, 0.2, 0.25, 0.25], [remedy(0, 4, 1, 0), remedy(1, 4, 1, 0), remedy(2, 4, 9)], reach=[9.0])
    assert order(net) == [0, 1, 2]
    assert minutes(net) == pytest.approx(1 * 10 + 0.7 * 1 + 0.5 * 9 + 0.25 * 1000)


def test_a_place_seen_already_costs_no_way():
    net = network([0.9, 0.1], [remedy(0, 2, 1, 0)], reach=[30.0], unsolved=100)
    assert minutes(net) == pytest.approx(31 + 10)
    assert minutes(net, State(places=frozenset({0}))) == pytest.approx(1 + 10)


def test_hand_over_pays_the_visit_and_asks_the_next_level():
    net = network(
        [0.5, 0.4, 0.1],
        [remedy(0, 3, 5, level=0), remedy(1, 3, 20, 0, level=1)],
        unsolved=200,
        reach=[7.0],
        visits=(0.0, 60.0),
    )
    above = 1 * (20 + 7) + 0.2 * 200  # of what is left: 0.4 and 0.1 of 0.5
    assert minutes(net) == pytest.approx(5 + 0.5 * (60 + above))
    alone = batch_of(net, [State(failed=frozenset({0}))])
    assert float(hand_over(net, alone, 0)[0]) == pytest.approx(60 + above)
    # Standing there already does not spare the next person the way.
    there = batch_of(net, [State(failed=frozenset({0}), places=frozenset({0}))])
    assert float(hand_over(net, there, 0)[0]) == pytest.approx(60 + above)


def test_handing_over_costs_less_the_better_the_cause_is_known():
    rows = [[0.98, 0.02, 0.5], [0.02, 0.98, 0.5]]
    net = network(
        [0.5, 0.45, 0.05],
        [remedy(0, 3, 40, level=1), remedy(1, 3, 40, level=1)],
        [check("ask", 1, rows)],
        visits=(0.0, 90.0),
    )
    assert minutes(net, answered(State(), 0, 1)) < minutes(net)


@pytest.mark.parametrize("seed", range(20))
def test_levels_against_every_stop_at_every_level(seed):
    net = problem(seed, causes=(3, 6), places=2, levels=(60.0, 120.0))
    state = State()
    assert minutes(net, state) == pytest.approx(slow_repair(net, list(net.prior), 0), rel=1e-9)


def slow_repair(net: Network, left: list[float], level: int) -> float:
    """The definition in plain loops, for one situation."""
    seen: set[int] = set()
    spent, best, tried = 0.0, float("inf"), set()
    while True:
        best = min(best, spent + slow_hand_over(net, left, level))
        ranked = []
        for r, one in enumerate(net.remedies):
            odds = sum(w * c for w, c in zip(left, one.cures, strict=True))
            if one.level <= level and r not in tried and odds > 1e-12:
                way = net.reach_minutes[one.place] if one.place >= 0 and one.place not in seen else 0.0
                ranked.append((odds / (one.minutes + way), -r, one.minutes + way))
        if not ranked:
            return best
        _, minus, cost = max(ranked)
        one = net.remedies[-minus]
        spent += sum(left) * cost
        seen.add(one.place)
        tried.add(-minus)
        left = [w * (1 - c) for w, c in zip(left, one.cures, strict=True)]


def slow_hand_over(net: Network, left: list[float], level: int) -> float:
    if level == net.top:
        return sum(left) * net.unsolved_minutes
    return sum(left) * net.levels[level + 1].visit_minutes + slow_repair(net, left, level + 1)


def test_a_remedy_that_waits_for_a_check_counts_the_check():
    rows = [[0.9, 0.1], [0.1, 0.9]]
    net = network([0.9, 0.1], [remedy(0, 2, 10, after=(0,))], [check("mark", 25, rows)])
    assert minutes(net) == pytest.approx(35 + 0.1 * 1000)
    done = State(unsure=frozenset({0}))
    assert minutes(net, done) == pytest.approx(10 + 0.1 * 1000)


def test_shared_and_partial_cures():
    both = replace(remedy(0, 3, 10), cures=(1.0, 0.5, 0.0))
    net = network([0.6, 0.3, 0.1], [both, remedy(1, 3, 30)], unsolved=500)
    assert minutes(net) == pytest.approx(10 + 0.25 * 30 + 0.1 * 500)
    levels = network([0.6, 0.3, 0.1], [both, remedy(1, 3, 30, level=1)], unsolved=500, visits=(0.0, 45.0))
    assert minutes(levels) == pytest.approx(10 + 0.25 * (45 + 30) + 0.1 * 500)


def test_what_cannot_be_done_here_may_be_done_by_the_next_level():
    net = network([0.9, 0.1], [remedy(0, 2, 10)], unsolved=500, visits=(0.0, 45.0))
    assert minutes(net, State(no_remedies=frozenset({0}))) == pytest.approx(45 + 10 + 0.1 * 500)


def test_an_empty_list_of_remedies_is_a_hand_over():
    assert minutes(network([1.0], [], unsolved=77)) == 77
    assert isinstance(batch_of(network([1.0], []), [State()]), Batch)
