"""What a chart achieves: exact expectations of several procedures, and simulated calls with human slips."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from kbtools.diagnosis.batch import (
    CHECK,
    HAND_OVER,
    REMEDY,
    Batch,
    batch_of,
    open_checks,
    outstanding,
)
from kbtools.diagnosis.chart import ANY, Chart, Node
from kbtools.diagnosis.cost import repair
from kbtools.diagnosis.exact import optimum
from kbtools.diagnosis.network import Bools, Ints, Network
from kbtools.diagnosis.policy import Choices, act, myopic, rollout
from kbtools.diagnosis.posterior import State

Decide = Callable[[Network, Batch, int], Choices]
SURE = 0.9
TINY = 1e-5
COARSE = 1e-3


def policy_minutes(network: Network, decide: Decide, state: State | None = None, tiny: float = TINY) -> float:
    """Return the exact expected minutes of a way to decide; branches rarer than ``tiny`` count as repair
    alone.
    """
    state = state or State()
    batch, total = batch_of(network, [state]), 0.0
    while len(batch):
        minutes, following, _, _ = act(network, batch, state.level, decide(network, batch, state.level))
        total += float(minutes.sum())
        light = following.mass < tiny
        if light.any():
            total += float(repair(network, following.take(light), state.level).minutes.sum())
        batch = following.take(~light)
    return total


def by_rollout(network: Network, batch: Batch, level: int) -> Choices:
    """Decide as terminal, page and chart do."""
    return rollout(network, batch, level)[0]


def in_fixed_order(checks: Sequence[int], sure: float = SURE) -> Decide:
    """Return a way to decide: checks in this order until a cause reaches ``sure``, then the remedies."""

    def decide(network: Network, batch: Batch, level: int) -> Choices:
        plan = repair(network, batch, level)
        kind = np.where(plan.stop > 0, REMEDY, HAND_OVER)
        index = np.where(plan.stop > 0, plan.order[:, 0] if plan.order.shape[1] else -1, -1)
        ready = open_checks(network, batch, level)
        asks = (batch.weight.max(axis=1) < sure * batch.mass) & ready.any(axis=1)
        waits: Bools = np.any(outstanding(network, batch, level), axis=2)
        if waits.shape[1]:
            asks |= (kind == REMEDY) & np.asarray(waits)[np.arange(len(batch)), np.maximum(index, 0)]
        if len(checks):
            ranked = np.array(checks, dtype=np.intp)
            first = ranked[np.argmax(ready[:, ranked], axis=1)]
            kind, index = np.where(asks, CHECK, kind), np.where(asks, first, index)
        return Choices(kind, index)

    return decide


def authors_order(network: Network) -> Decide:
    """Return the way of a plain list: the checks as the author wrote them, then the remedies."""
    return in_fixed_order(range(len(network.checks)))


def cost_order(network: Network) -> Decide:
    """Return the way of the impatient: the quickest check first, then the remedies."""
    return in_fixed_order(sorted(range(len(network.checks)), key=lambda k: network.checks[k].minutes))


@dataclass(frozen=True)
class Yardstick:
    """The least expected minutes known, and whether they are ``exact`` or only the ``best-known``."""

    minutes: float
    kind: str


def yardstick(chart: Chart, max_states: int | None = None) -> Yardstick:
    """Return the optimum where it can be worked out, else the least of chart, rollout and myopic policy."""
    exact = optimum(chart.network, chart.state, max_states)
    if exact is not None:
        return Yardstick(exact, "exact")
    ways = [policy_minutes(chart.network, decide, chart.state, COARSE) for decide in (by_rollout, myopic)]
    return Yardstick(min(chart.minutes, *ways), "best-known")


@dataclass(frozen=True)
class Calls:
    """Simulated calls. ``solved``: fixed by somebody in the end; ``handed_over``: not fixed by the first
    reader.

    Both are shares of the calls, minutes are per call; ``wrong_remedies`` is the mean number of remedies per
    call that mended nothing.
    """

    calls: int
    solved: float
    minutes_mean: float
    minutes_median: float
    minutes_p90: float
    handed_over: float
    wrong_remedies: float


@dataclass
class _Run:
    network: Network
    rng: np.random.Generator
    mistakes: float
    faults: Bools  # call × cause, the faults still there
    minutes: np.ndarray[tuple[int], np.dtype[np.float64]]
    wrong: Ints
    handed: Bools
    fallback: Node


def simulate(chart: Chart, calls: int, seed: int = 0, mistakes: float = 0.0, double: float = 0.0) -> Calls:
    """Follow the chart through so many calls.

    ``mistakes`` is the probability that an answer is another outcome than the true one, ``double`` that of a
    second fault beside the first. A call with two faults ends only when both are mended. The seed decides
    everything.
    """
    if calls < 1 or not 0 <= mistakes <= 1 or not 0 <= double <= 1:
        raise ValueError("calls must be 1 or more, mistakes and double between 0 and 1")
    rng = np.random.default_rng(seed)
    run = _Run(
        chart.network,
        rng,
        mistakes,
        _faults(rng, np.array(chart.root.belief), calls, double),
        np.zeros(calls),
        np.zeros(calls, dtype=np.intp),
        np.zeros(calls, dtype=bool),
        chart.fallback,
    )
    if chart.root.kind != "done":
        _follow(run, chart.root, np.arange(calls))
    return Calls(
        calls,
        float(1 - run.faults.any(axis=1).mean()) if chart.root.kind != "done" else 1.0,
        float(run.minutes.mean()),
        float(np.median(run.minutes)),
        float(np.quantile(run.minutes, 0.9)),
        float(run.handed.mean()),
        float(run.wrong.mean()),
    )


def _faults(rng: np.random.Generator, belief: np.ndarray, calls: int, double: float) -> Bools:
    faults = np.zeros((calls, len(belief)), dtype=bool)
    line = np.arange(calls)
    first = rng.choice(len(belief), calls, p=belief / belief.sum())
    faults[line, first] = True
    twice = np.flatnonzero(rng.random(calls) < double)
    if len(twice):
        odds = np.where(faults[twice], 0.0, belief)
        odds[:, -1] = 0.0
        some = odds.sum(axis=1) > 0
        twice, odds = twice[some], odds[some]
        faults[twice, _drawn(rng, odds / odds.sum(axis=1, keepdims=True))] = True
    return faults


def _drawn(rng: np.random.Generator, odds: np.ndarray) -> Ints:
    """Return one position per row, drawn with the row's probabilities."""
    picks = (rng.random((len(odds), 1)) > np.cumsum(odds, axis=1)).sum(axis=1)
    return np.asarray(np.minimum(picks, odds.shape[1] - 1), dtype=np.intp)


def _follow(run: _Run, node: Node, at: Ints) -> None:
    """Lead the calls ``at`` through a box and all that follows."""
    if not len(at):
        return
    if node.kind == "hand-over":
        _hand_over(run, node, at)
        return
    run.minutes[at] += node.minutes
    if node.kind == "remedy":
        rest = _try(run, node.index, at)
        _follow_branch(run, node, 0, rest)
        return
    true = _true_outcomes(run, node.index, at)
    _cure_by_check(run, node.index, at, true)
    going = run.faults[at].any(axis=1)
    at, seen = at[going], _reported(run, node.index, true[going])
    for outcome in range(len(run.network.checks[node.index].outcomes)):
        _follow_branch(run, node, outcome, at[seen == outcome])


def _follow_branch(run: _Run, node: Node, outcome: int, at: Ints) -> None:
    branch = next((b for b in node.branches if b.outcome in (outcome, ANY)), None)
    _follow(run, branch.node if branch is not None and branch.node is not None else run.fallback, at)


def _true_outcomes(run: _Run, check: int, at: Ints) -> Ints:
    """Return what each call's check shows; of two faults, what is not normal shows."""
    normal = run.network.checks[check].normal
    rows = run.network.arrays.rows[check]
    shown = np.full(len(at), normal, dtype=np.intp)
    for cause in range(rows.shape[1]):
        here = np.flatnonzero(run.faults[at, cause])
        if len(here):
            drawn = _drawn(run.rng, np.tile(rows[:, cause], (len(here), 1)))
            shown[here] = np.where(shown[here] == normal, drawn, shown[here])
    return shown


def _reported(run: _Run, check: int, true: Ints) -> Ints:
    """Return the outcomes as the caller gives them, some mistaken for another."""
    outcomes = len(run.network.checks[check].outcomes)
    slips = run.rng.random(len(true)) < run.mistakes
    other = (true + run.rng.integers(1, max(outcomes, 2), len(true))) % outcomes
    return np.where(slips, other, true)


def _cure_by_check(run: _Run, check: int, at: Ints, true: Ints) -> None:
    fixes = run.network.checks[check].fixes
    for outcome, cured in enumerate(fixes):
        here = at[true == outcome]
        run.faults[here] &= ~np.array(cured, dtype=bool)


def _try(run: _Run, remedy: int, at: Ints) -> Ints:
    """Mend what the remedy mends and return the calls that still have a fault."""
    cures = run.network.arrays.cures[remedy]
    mended = run.faults[at] & (run.rng.random((len(at), len(cures))) < cures)
    run.wrong[at] += ~mended.any(axis=1)
    run.faults[at] &= ~mended
    return at[run.faults[at].any(axis=1)]


def _hand_over(run: _Run, node: Node, at: Ints) -> None:
    run.handed[at] = True
    for step in node.then:
        run.minutes[at] += step.minutes
        if step.kind == "remedy":
            at = _try(run, step.index, at)
