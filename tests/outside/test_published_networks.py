"""Posteriors and whole traces on published networks, inferred independently by pyagrum."""

from __future__ import annotations

import gzip
from pathlib import Path

import numpy as np
import pyagrum
import pytest

from kbtools.diagnosis.chart import boxes, compile_chart
from kbtools.diagnosis.network import Check, Network, Remedy
from kbtools.diagnosis.policy import next_action
from kbtools.diagnosis.posterior import State, answered, failed, posterior
from kbtools.diagnosis.rehearse import authors_order, policy_minutes
from tests.diagnosis.generate import problem

NETWORKS = Path(__file__).parent / "networks"


@pytest.fixture(scope="module")
def read(tmp_path_factory):
    folder = tmp_path_factory.mktemp("networks")

    def reader(name: str):
        path = folder / name
        path.write_bytes(gzip.decompress((NETWORKS / f"{name}.gz").read_bytes()))
        return pyagrum.loadBN(str(path))

    return reader


def table(bn, name: str, parent: str) -> list[list[float]]:
    """Return P(name | parent) as rows[outcome][state of the parent]."""
    cpt = bn.cpt(name)
    return [
        [float(cpt[{parent: c, name: o}]) for c in range(bn.variable(parent).domainSize())]
        for o in range(bn.variable(name).domainSize())
    ]


def certain(prior: list[float], findings: dict[str, list[list[float]]], minutes: list[float], repair: float) -> Network:
    """Return a network with one remedy of ``repair`` minutes per cause; rows are scaled to sum to 1 exactly."""
    whole = np.array(prior) / sum(prior)
    checks = []
    for (name, rows), cost in zip(findings.items(), minutes, strict=True):
        scaled = np.array(rows) / np.sum(rows, axis=0)
        checks.append(
            Check(name, cost, tuple(tuple(map(float, row)) for row in scaled), tuple(map(str, range(len(rows)))))
        )
    cures = np.eye(len(prior))
    remedies = tuple(Remedy(f"cause-{i}", repair, tuple(map(float, cures[i]))) for i in range(len(prior)))
    return Network(tuple(f"cause-{i}" for i in range(len(prior))), tuple(map(float, whole)), tuple(checks), remedies)


def test_asia(read):
    # Lauritzen and Spiegelhalter 1988; P(lung | xray, dysp) = .62125 and P(tub | xray, dysp) = .11393 by pgmpy
    # and pyagrum alike. Here by one cause per joint state of the four that the two findings depend on.
    bn = read("asia.bif")
    causes = [(t, lung, b) for t in (0, 1) for lung in (0, 1) for b in (0, 1)]
    joint = pyagrum.LazyPropagation(bn)
    joint.addJointTarget({"tub", "lung", "bronc"})
    joint.makeInference()
    together = joint.jointPosterior({"tub", "lung", "bronc"})
    prior = [float(together[{"tub": t, "lung": lung, "bronc": b}]) for t, lung, b in causes]
    either = [0 if t == 0 or lung == 0 else 1 for t, lung, _ in causes]
    xray = [float(bn.cpt("xray")[{"either": e, "xray": 0}]) for e in either]
    dysp = [
        float(bn.cpt("dysp")[{"either": e, "bronc": b, "dysp": 0}]) for e, (_, _, b) in zip(either, causes, strict=True)
    ]
    net = certain(prior, {"xray": [xray, [1 - p for p in xray]], "dysp": [dysp, [1 - p for p in dysp]]}, [1, 1], 5)
    found = posterior(net, answered(answered(State(), 0, 0), 1, 0))
    lung = sum(p for p, (_, is_lung, _) in zip(found, causes, strict=True) if is_lung == 0)
    tub = sum(p for p, (is_tub, _, _) in zip(found, causes, strict=True) if is_tub == 0)
    assert lung == pytest.approx(0.62125, abs=5e-6)
    assert tub == pytest.approx(0.11393, abs=5e-6)


@pytest.fixture(scope="module")
def pathfinder(read):
    bn = read("pathfinder-findings.bif")
    names = sorted(set(bn.names()) - {"Fault"}, key=lambda name: int(name[1:]))
    prior = [float(p) for p in bn.cpt("Fault").toarray()]
    findings = {name: table(bn, name, "Fault") for name in names}
    rng = np.random.default_rng(4)
    return bn, names, certain(prior, findings, list(rng.uniform(1, 10, len(names))), 60)


def test_pathfinder_is_the_single_fault_model(pathfinder):
    _, names, net = pathfinder
    assert len(net.causes) == 63
    assert len(names) == 51


@pytest.mark.parametrize("seed", range(8))
def test_pathfinder_posterior(pathfinder, seed):
    # Heckerman, Horvitz and Nathwani 1992, findings of one sampled case.
    bn, names, net = pathfinder
    rng = np.random.default_rng(seed)
    cause = rng.choice(63, p=np.array(net.prior))
    state, evidence = State(), {}
    for k in rng.choice(51, 15, replace=False):
        odds = [row[cause] for row in net.checks[k].rows]
        outcome = int(rng.choice(len(odds), p=odds))
        state, evidence[names[k]] = answered(state, int(k), outcome), outcome
    engine = pyagrum.LazyPropagation(bn)
    engine.setEvidence(evidence)
    engine.makeInference()
    # The file rounds its rows to eight digits, so they sum to 1 only nearly.
    assert posterior(net, state) == pytest.approx(engine.posterior("Fault").toarray(), abs=1e-6)


def test_a_full_trace_on_pathfinder_finds_the_cause(pathfinder):
    _, _, net = pathfinder
    rng = np.random.default_rng(0)
    cause = int(np.argmax(net.prior))
    state, steps = State(), 0
    while True:
        action = next_action(net, state)
        steps += 1
        assert steps < 60
        assert action.index is not None
        if action.kind == "remedy" and action.index == cause:
            break
        if action.kind == "remedy":
            state = failed(state, action.index)
        else:
            assert action.kind == "check"
            odds = [row[cause] for row in net.checks[action.index].rows]
            state = answered(state, action.index, int(rng.choice(len(odds), p=odds)))
    assert posterior(net, state)[cause] == max(posterior(net, state))
    assert steps < 51


# Leaves that share no uncertain ancestor with each other or with a symptom: given the roots they are independent.
FINDINGS = ("PrtStatPaper", "PrtStatToner", "PrtStatMem", "PrtStatOff", "PrtIcon", "REPEAT")


def roots(bn) -> list[str]:
    return [bn.variable(n).name() for n in sorted(bn.nodes()) if not bn.parents(n)]


def single_fault(bn, symptom: str) -> tuple[list[str], Network]:
    """Return the causes able to show the symptom, the network of one of them bad, and their joint odds.

    Outcome 0 of every root is the good one; the root that only says which printer is used stays as it is.
    """
    choice = "NetPrint"
    causes = [name for name in roots(bn) if name != choice]
    good = dict.fromkeys(roots(bn), 0)
    odds, rows = [], []
    for cause in causes:
        engine = pyagrum.LazyPropagation(bn)
        engine.setEvidence({**good, cause: 1})
        engine.makeInference()
        shown = float(engine.posterior(symptom)[1])
        p = float(bn.cpt(cause)[1])
        odds.append(p / (1 - p) * shown)
        rows.append([engine.posterior(name).toarray() for name in FINDINGS])
    kept = [i for i, value in enumerate(odds) if value > 0]
    findings = {name: np.array([rows[i][f] for i in kept]).T.tolist() for f, name in enumerate(FINDINGS)}
    weights = [odds[i] for i in kept]
    return [causes[i] for i in kept], certain(weights, findings, [1.0] * len(FINDINGS), 10.0)


@pytest.mark.parametrize("symptom", [f"Problem{i}" for i in range(1, 7)])
def test_win95pts_with_one_cause_bad(read, symptom):
    bn = read("win95pts.bif")
    assert len(roots(bn)) == 34
    causes, net = single_fault(bn, symptom)
    assert len(causes) >= 2
    rng = np.random.default_rng(1)
    for cause in range(len(causes)):
        odds = [[row[cause] for row in one.rows] for one in net.checks]
        outcomes = [int(rng.choice(len(p), p=p)) for p in odds]
        state = State(answers=tuple(enumerate(outcomes)))
        good = dict.fromkeys(roots(bn), 0)
        joint = []
        for other in causes:
            engine = pyagrum.LazyPropagation(bn)
            evidence = {**good, other: 1, symptom: 1} | dict(zip(FINDINGS, outcomes, strict=True))
            engine.setEvidence(evidence)
            joint.append(engine.evidenceProbability() if _possible(engine) else 0.0)
        assert posterior(net, state) == pytest.approx(np.array(joint) / sum(joint), abs=1e-6)


def _possible(engine) -> bool:
    try:
        engine.makeInference()
    except pyagrum.IncompatibleEvidence:
        return False
    return True


@pytest.mark.parametrize("symptom", ["Problem1", "Problem4"])
def test_a_chart_for_win95pts_beats_a_fixed_list(read, symptom):
    _, net = single_fault(read("win95pts.bif"), symptom)
    chart = compile_chart(net)
    assert chart.minutes < policy_minutes(net, authors_order(net))
    # Every cause of the reduction has a sure remedy, so nothing is handed over.
    assert {node.kind for node in boxes(chart.root)} == {"check", "remedy"}
    assert chart.settled == pytest.approx(1)


@pytest.mark.parametrize("seed", range(10))
def test_random_networks_by_general_inference(seed):
    net = problem(seed, causes=(3, 9), checks=(3, 9))
    bn = pyagrum.BayesNet()
    fault = bn.add(pyagrum.LabelizedVariable("fault", "", len(net.causes)))
    bn.cpt(fault).fillWith(list(net.prior))
    rng = np.random.default_rng(seed)
    state, evidence = State(), {}
    for k, one in enumerate(net.checks):
        node = bn.add(pyagrum.LabelizedVariable(one.id, "", len(one.outcomes)))
        bn.addArc(fault, node)
        bn.cpt(node)[:] = np.ascontiguousarray(np.array(one.rows).T)
        if rng.random() < 0.7:
            evidence[one.id] = int(rng.integers(len(one.outcomes)))
            state = answered(state, k, evidence[one.id])
    engine = pyagrum.LazyPropagation(bn)
    engine.setEvidence(evidence)
    engine.makeInference()
    assert posterior(net, state) == pytest.approx(engine.posterior("fault").toarray(), abs=1e-10)
