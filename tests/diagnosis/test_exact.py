"""The optimum against a plain recursion that knows no tricks."""

from dataclasses import replace

import pytest

from kbtools.diagnosis.exact import optimum
from kbtools.diagnosis.network import Network
from kbtools.diagnosis.posterior import State, answered, failed
from tests.diagnosis.generate import problem
from tests.diagnosis.small import check, network, remedy


def recursion(net: Network, weights: tuple[float, ...], done=frozenset(), used=frozenset(), seen=frozenset()) -> float:
    """Return the least minutes, times mass, by trying every check, every remedy and the hand-over everywhere."""
    mass = sum(weights)

    def way(place: int) -> float:
        return net.reach_minutes[place] if place >= 0 and place not in seen else 0.0

    values = [mass * net.unsolved_minutes]
    for k, one in enumerate(net.checks):
        if k in done or not done.issuperset(one.only_after):
            continue
        total = mass * (one.minutes + way(one.place))
        for outcome, row in enumerate(one.rows):
            fixes = one.fixes[outcome] if one.fixes else (False,) * len(row)
            after = tuple(0.0 if f else w * p for w, p, f in zip(weights, row, fixes, strict=True))
            total += recursion(net, after, done | {k}, used, seen | {one.place})
        values.append(total)
    for r, one in enumerate(net.remedies):
        if r not in used and done.issuperset(one.only_after):
            after = tuple(w * (1 - c) for w, c in zip(weights, one.cures, strict=True))
            total = mass * (one.minutes + way(one.place))
            values.append(total + recursion(net, after, done, used | {r}, seen | {one.place}))
    return min(values)


@pytest.mark.parametrize("seed", range(10))
def test_equals_the_recursion(seed):
    net = problem(seed, causes=(2, 3), checks=(2, 3), places=seed % 3)
    assert optimum(net) == pytest.approx(recursion(net, net.prior), rel=1e-9)


@pytest.mark.parametrize("seed", range(6))
def test_with_gates_and_checks_that_cure(seed):
    net = problem(seed, causes=(3, 3), checks=(3, 3), places=2)
    fixes = ((False,) * 4, (True, False, True, False), *((False,) * 4 for _ in net.checks[0].outcomes[2:]))
    checks = (replace(net.checks[0], fixes=fixes), replace(net.checks[1], only_after=(0,)), net.checks[2])
    remedies = (replace(net.remedies[0], only_after=(1, 2)), *net.remedies[1:])
    net = replace(net, checks=checks, remedies=remedies)
    assert optimum(net) == pytest.approx(recursion(net, net.prior), rel=1e-9)


def test_starts_from_what_is_known():
    net = problem(3, causes=(3, 3), checks=(3, 3))
    state = failed(answered(State(), 0, 1), 2)
    weights = [p * c for p, c in zip(net.prior, net.checks[0].rows[1], strict=True)]
    weights[2] = 0.0
    known = tuple(w / sum(weights) for w in weights)
    expected = recursion(net, known, frozenset({0}), frozenset({2}), frozenset({-1}))
    assert optimum(net, state) == pytest.approx(expected, rel=1e-9)


def test_too_many_states_give_none():
    net = problem(1, causes=(6, 6), checks=(6, 6))
    assert optimum(net, max_states=1000) is None
    assert optimum(problem(1, causes=(20, 20), checks=(30, 30))) is None


def test_a_useless_check_is_never_worth_its_minutes():
    net = network([0.5, 0.5], [remedy(0, 2, 10)], [check("idle", 1, [[0.5, 0.5], [0.5, 0.5]])], unsolved=50)
    assert optimum(net) == pytest.approx(10 + 25)


def test_below_the_top_the_end_is_the_hand_over():
    net = network([0.6, 0.4], [remedy(0, 2, 10, level=1)], unsolved=300, visits=(0.0, 60.0))
    assert optimum(net) == pytest.approx(60 + 10 + 0.4 * 300)
    assert optimum(net, State(level=1)) == pytest.approx(10 + 0.4 * 300)
