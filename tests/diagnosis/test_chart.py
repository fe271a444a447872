"""The compiled chart: complete, short, and worth what it says."""

from dataclasses import replace

import numpy as np
import pytest

from kbtools.diagnosis.chart import ANY, Node, boxes, by_cause, compile_chart
from kbtools.diagnosis.network import network_json, network_key
from kbtools.diagnosis.posterior import State, answered
from kbtools.diagnosis.rehearse import by_rollout, policy_minutes
from tests.diagnosis.generate import problem
from tests.diagnosis.small import check, network, remedy


@pytest.mark.parametrize("seed", range(15))
def test_every_way_ends_in_a_hand_over_or_a_cure(seed):
    net = problem(seed, causes=(5, 7), checks=(6, 9), places=2, levels=(90.0,))
    for level in (0, 1):
        chart = compile_chart(net, State(level=level))
        for node in boxes(chart.root):
            if node.kind == "check":
                assert node.probability >= 0.02  # none of these remedies waits for a check
                possible = {o for o, row in enumerate(net.checks[node.index].rows) if max(row) > 0}
                assert {b.outcome for b in node.branches} == possible
                assert sum(b.probability for b in node.branches) == pytest.approx(1)
                assert net.checks[node.index].level <= level
            elif node.kind == "remedy":
                assert [b.outcome for b in node.branches] == [0]  # still there: the unlisted cause stays possible
                assert net.remedies[node.index].level <= level
            else:
                assert node.kind == "hand-over"
                assert node.then[-1].kind == "unsolved"
                assert node.index == (1 if level == 0 else -1)


@pytest.mark.parametrize("seed", range(15))
def test_unpruned_it_costs_what_the_policy_costs(seed):
    net = problem(seed, causes=(4, 7), checks=(5, 8), places=seed % 3, levels=(60.0,) if seed % 2 else ())
    whole = compile_chart(net, prune=1e-5)
    assert whole.minutes == pytest.approx(policy_minutes(net, by_rollout), rel=1e-6)


def test_pruning_costs_little_and_leaves_few_checks():
    nets = [problem(seed, causes=(4, 8), checks=(4, 8)) for seed in range(60)]
    charts = [compile_chart(net) for net in nets]
    full = np.array([policy_minutes(net, by_rollout) for net in nets])
    assert (np.array([c.minutes for c in charts]) / full).mean() < 1.01
    asked = [sum(node.kind == "check" for node in boxes(c.root)) for c in charts]
    assert np.mean(asked) <= 6
    assert max(asked) <= 20


def test_minutes_and_shares_by_cause_add_up():
    net = network(
        [0.6, 0.3, 0.1],
        [remedy(0, 3, 20), remedy(1, 3, 40)],
        [check("ask", 2, [[1.0, 0.0, 0.5], [0.0, 1.0, 0.5]])],
        unsolved=100,
    )
    chart = compile_chart(net)
    minutes, settled = by_cause(net, chart.root)
    # Ask 2; the first remedy 20, or the second 40; the unlisted cause is half and half there and then unsolved.
    assert list(minutes) == pytest.approx([22, 42, 2 + 0.5 * 20 + 0.5 * 40 + 100])
    assert list(settled) == pytest.approx([1, 1, 0])
    assert chart.minutes == pytest.approx(0.6 * 22 + 0.3 * 42 + 0.1 * 132)
    assert chart.settled == pytest.approx(0.9)


def test_a_check_that_cures_settles_its_share():
    fixes = ((False,) * 2, (True, False))
    net = network([0.9, 0.1], [], [check("reset", 3, [[0.1, 0.5], [0.9, 0.5]], fixes=fixes)], unsolved=100)
    chart = compile_chart(net)
    assert chart.settled == pytest.approx(0.81)
    assert chart.minutes == pytest.approx(3 + (0.09 + 0.1) * 100)
    assert [b.cures for b in chart.root.branches] == [False, True]


def test_a_trace_that_is_over_has_an_empty_chart():
    fixes = ((False,) * 2, (True, False))
    net = network([0.9, 0.1], [], [check("reset", 3, [[0.1, 0.5], [0.9, 0.5]], fixes=fixes)])
    chart = compile_chart(net, answered(State(), 0, 1))
    assert (chart.root.kind, chart.minutes, chart.settled) == ("done", 0, 1)


def test_in_rare_branches_a_waiting_remedy_still_comes_after_its_check():
    rows = [[0.985, 0.985, 0.5], [0.015, 0.015, 0.5]]
    tell = [[0.99, 0.01, 0.5], [0.01, 0.99, 0.5]]
    net = network(
        [0.5, 0.45, 0.05],
        [remedy(0, 3, 40, after=(0,)), remedy(1, 3, 40, after=(0,))],
        [check("mark", 20, rows, only_after=(1,)), check("tell", 2, tell)],
    )

    def walk(node: Node, done: frozenset[int]) -> int:
        if node.kind == "remedy":
            assert done == {0, 1}
        also = done | {node.index} if node.kind == "check" else done
        return (node.kind == "remedy") + sum(walk(b.node, also) for b in node.branches if b.node is not None)

    plain = compile_chart(net, prune=1.1)
    assert walk(plain.root, frozenset()) == 2
    assert [b.outcome for b in plain.root.branches] == [ANY]
    assert plain.minutes == pytest.approx(2 + 20 + 40 + 0.5 * 40 + 0.05 * 1000)
    assert plain.settled == pytest.approx(0.95)
    assert walk(compile_chart(net).root, frozenset()) >= 2
    assert compile_chart(net).minutes < plain.minutes


def test_the_key_follows_every_number_and_nothing_else():
    net = problem(4)
    again = problem(4)
    assert network_key(net) == network_key(again)
    dearer = replace(net.checks[0], minutes=net.checks[0].minutes + 0.1)
    assert network_key(replace(net, checks=(dearer, *net.checks[1:]))) != network_key(net)
    assert set(network_json(net)) == set(net.__dataclass_fields__)
