"""Simulated calls agree with the exact expectation, and slips cost what they should."""

import pytest

from kbtools.diagnosis.chart import compile_chart
from kbtools.diagnosis.posterior import State, answered
from kbtools.diagnosis.rehearse import authors_order, policy_minutes, simulate, yardstick
from tests.diagnosis.generate import problem
from tests.diagnosis.small import check, network, remedy


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("level", [0, 1])
def test_without_slips_the_mean_is_the_expectation(seed, level):
    net = problem(seed, causes=(4, 7), checks=(5, 8), places=2, levels=(60.0,))
    chart = compile_chart(net, State(level=level))
    calls = simulate(chart, 40_000, seed=seed)
    assert calls.minutes_mean == pytest.approx(chart.minutes, rel=0.03)
    assert 1 - calls.handed_over == pytest.approx(chart.settled, abs=0.01)
    assert calls.solved >= 1 - calls.handed_over


def test_partial_and_shared_cures_and_cures_by_a_check_too():
    fixes = ((False,) * 3, (True, False, False))
    net = network(
        [0.6, 0.3, 0.1],
        [remedy(0, 3, 20), remedy(1, 3, 40)],
        [check("reset", 2, [[0.3, 0.9, 0.5], [0.7, 0.1, 0.5]], fixes=fixes)],
        unsolved=120,
    )
    chart = compile_chart(net)
    calls = simulate(chart, 60_000)
    assert calls.minutes_mean == pytest.approx(chart.minutes, rel=0.02)
    assert 1 - calls.handed_over == pytest.approx(chart.settled, abs=0.01)


def test_the_seed_decides_everything():
    chart = compile_chart(problem(3))
    assert simulate(chart, 500, seed=7) == simulate(chart, 500, seed=7)
    assert simulate(chart, 500, seed=7) != simulate(chart, 500, seed=8)


def test_mistakes_and_second_faults_cost_minutes():
    nets = [problem(seed, causes=(5, 8), checks=(5, 8)) for seed in range(8)]
    charts = [compile_chart(net) for net in nets]
    plain = sum(simulate(c, 5000, seed=1).minutes_mean for c in charts)
    assert sum(simulate(c, 5000, seed=1, mistakes=0.15).minutes_mean for c in charts) > plain
    assert sum(simulate(c, 5000, seed=1, double=0.3).minutes_mean for c in charts) > plain * 1.1


def test_two_faults_end_only_when_both_are_mended():
    net = network([0.5, 0.49, 0.01], [remedy(0, 3, 10), remedy(1, 3, 10)])
    calls = simulate(compile_chart(net), 4000, double=1.0)
    assert calls.minutes_median == 20
    assert calls.solved > 0.97
    assert calls.wrong_remedies < 0.1


def test_a_trace_that_is_over_takes_no_minutes():
    fixes = ((False,) * 2, (True, False))
    net = network([0.9, 0.1], [], [check("reset", 3, [[0.1, 0.5], [0.9, 0.5]], fixes=fixes)])
    calls = simulate(compile_chart(net, answered(State(), 0, 1)), 10)
    assert (calls.minutes_mean, calls.solved, calls.handed_over) == (0, 1, 0)


@pytest.mark.parametrize("bad", [{"calls": 0}, {"calls": 5, "mistakes": 1.5}, {"calls": 5, "double": -0.1}])
def test_nonsense_is_refused(bad):
    with pytest.raises(ValueError, match="calls must be"):
        simulate(compile_chart(problem(1)), **bad)


def test_the_yardstick_is_exact_or_says_that_it_is_not():
    small = compile_chart(problem(1, causes=(4, 4), checks=(4, 4)))
    best = yardstick(small)
    assert best.kind == "exact"
    assert best.minutes <= small.minutes + 1e-9
    bounded = yardstick(small, max_states=10)
    assert bounded.kind == "best-known"
    assert best.minutes - 1e-9 <= bounded.minutes <= small.minutes + 1e-9
    assert policy_minutes(small.network, authors_order(small.network)) >= best.minutes
