"""A compiled chart as boxes: every way through the tree is a way through the boxes."""

from __future__ import annotations

import numpy as np
import pytest

from kbtools.cards import Procedure
from kbtools.cards.charted import from_chart
from kbtools.diagnosis.chart import Chart, Node, compile_chart
from kbtools.diagnosis.network import Check, Level, Network, Remedy


def network(seed: int, causes: int = 6, checks: int = 6) -> Network:
    """Causes with skewed priors, checks that each tell some of them apart, one remedy for each cause but the last."""
    draw = np.random.default_rng(seed)
    prior = draw.dirichlet(np.ones(causes)).tolist()
    made = []
    for k in range(checks):
        bad = draw.random(causes) < 0.4
        rows = (tuple(np.where(bad, 0.05, 0.95)), tuple(np.where(bad, 0.95, 0.05)))
        cures = (tuple(bool(b) and k == 0 for b in bad), (False,) * causes)
        made.append(
            Check(f"k{k}", float(draw.integers(1, 9)), rows, ("good", "bad"), fixes=cures[::-1] if k == 0 else ())
        )
    remedies = tuple(
        Remedy(f"c{i}", float(draw.integers(5, 60)), tuple(float(i == j) for j in range(causes)))
        for i in range(causes - 1)
    )
    levels = (Level("technician"), Level("specialist", 120.0))
    return Network(tuple(f"c{i}" for i in range(causes)), tuple(prior), tuple(made), remedies, (), levels)


def ways_of_tree(chart: Chart, node: Node | None) -> set[tuple[str, ...]]:
    """Every sequence of answers and remedies from here to the end."""
    if node is None or node.kind == "done":
        return {("fixed",)}
    if node.kind == "hand-over":
        return {("hand over",)}
    found: set[tuple[str, ...]] = set()
    if node.kind == "remedy":
        name = chart.network.remedies[node.index].id
        later = ways_of_tree(chart, node.branches[0].node) if node.branches else {("fixed",)}
        return {(name, *way) for way in later}
    check = chart.network.checks[node.index]
    for branch in node.branches:
        answer = f"{check.id}={check.outcomes[branch.outcome]}"
        later = ways_of_tree(chart, branch.node)
        found |= {(answer, "cured?" if branch.cures else "", *way) for way in later}
    return found


def ways_of_boxes(procedure: Procedure, number: int) -> set[tuple[str, ...]]:
    box = procedure.boxes[number - 1]
    found: set[tuple[str, ...]] = set()
    for leads in box.exits:
        if box.kind == "remedy" and leads.done:
            continue
        head = (box.id,) if box.kind == "remedy" else (f"{box.id}={leads.outcome}", "cured?" if leads.done else "")
        after = ways_of_boxes(procedure, leads.box) if leads.box else {("hand over",)}
        found |= {(*head, *leads.causes, *way) for way in after}
    return found


@pytest.mark.parametrize("seed", range(12))
def test_boxes_and_tree_lead_the_same_ways(seed: int) -> None:
    chart = compile_chart(network(seed))
    procedure = from_chart(chart, "technician")
    tree, boxes = ways_of_tree(chart, chart.root), ways_of_boxes(procedure, 1)
    ends_fixed = {way[:-1] for way in tree if way[-1] == "fixed"}
    assert {way for way in tree if way[-1] != "fixed"} | {(*way, "hand over") for way in ends_fixed} == boxes
    assert (procedure.minutes, procedure.settled) == (chart.minutes, chart.settled)


@pytest.mark.parametrize("seed", range(12))
def test_no_box_stands_twice_and_each_is_led_to(seed: int) -> None:
    procedure = from_chart(compile_chart(network(seed)), "technician")
    assert [box.number for box in procedure.boxes] == list(range(1, len(procedure.boxes) + 1))
    assert len({(box.kind, box.id, box.exits) for box in procedure.boxes}) == len(procedure.boxes)
    led_to = {leads.box for box in procedure.boxes for leads in box.exits if leads.box}
    assert led_to == set(range(2, len(procedure.boxes) + 1))
    assert all(leads.box is None or leads.box > box.number for box in procedure.boxes for leads in box.exits)


def test_a_chart_that_begins_with_a_remedy_begins_with_a_box_for_it() -> None:
    sure = Network(("a", "b"), (0.9, 0.1), (), (Remedy("a", 1.0, (1.0, 0.0)),), levels=(Level("t"),))
    procedure = from_chart(compile_chart(sure), "t")
    (box,) = procedure.boxes
    assert (box.kind, box.id) == ("remedy", "a")
    assert [(leads.outcome, leads.done, leads.box) for leads in box.exits] == [
        ("cured", True, None),
        ("not-cured", False, None),
    ]


def test_a_remedy_written_elsewhere_is_called_by_a_cause_of_this_symptom() -> None:
    shared = Network(("a", "b"), (0.9, 0.1), (), (Remedy("elsewhere", 1.0, (1.0, 0.0)),), levels=(Level("t"),))
    assert from_chart(compile_chart(shared), "t").boxes[0].id == "a"


def test_a_chart_that_only_hands_over_has_no_boxes() -> None:
    procedure = from_chart(compile_chart(Network(("a",), (1.0,), (), (), levels=(Level("t"),))), "t")
    assert procedure.boxes == ()
    assert procedure.settled == 0
