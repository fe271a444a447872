"""The policy compiled to a short fixed procedure, for paper and for rehearsal."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np

from kbtools.diagnosis.batch import (
    CHECK,
    HAND_OVER,
    REMEDY,
    Batch,
    batch_of,
    check_minutes,
    outstanding,
    remedy_minutes,
)
from kbtools.diagnosis.cost import handed_over, repair
from kbtools.diagnosis.network import Floats, Network
from kbtools.diagnosis.policy import KINDS, Choices, act, rollout
from kbtools.diagnosis.posterior import State, cured_by, posterior

PRUNE = 0.02


@dataclass(frozen=True)
class Step:
    """One step of whoever takes over: a visit, a remedy or the end unsolved; ``index`` is the level or
    remedy.
    """

    kind: str
    index: int
    minutes: float


@dataclass(frozen=True)
class Branch:
    """One answer: an outcome of a check, or (0) a remedy that failed; ``node`` follows, None when all is
    cured.
    """

    outcome: int
    probability: float
    cures: bool
    node: Node | None


@dataclass(frozen=True)
class Node:
    """One box: ``kind`` check, remedy, hand-over or done; ``index`` check, remedy or the level that takes
    over.

    ``minutes`` includes the way to a place not reached before; ``probability`` is that of coming here;
    ``belief`` is the posterior here. ``then`` is what follows a hand-over.
    """

    kind: str
    index: int
    minutes: float
    probability: float
    belief: tuple[float, ...]
    branches: tuple[Branch, ...] = ()
    then: tuple[Step, ...] = ()


@dataclass(frozen=True)
class Chart:
    """A compiled procedure: its first box, the expected minutes and the share of cases settled without
    hand-over.

    ``minutes_by_cause`` are the expected minutes if that cause is the true one; ``fallback`` is the hand-over
    for what the procedure did not foresee.
    """

    network: Network
    state: State
    root: Node
    minutes: float
    settled: float
    minutes_by_cause: tuple[float, ...]
    fallback: Node


@dataclass
class _Draft:
    kind: int
    index: int
    minutes: float
    row: Batch
    answers: list[tuple[int, float, _Draft | None]] = field(default_factory=list)


def compile_chart(network: Network, state: State | None = None, prune: float = PRUNE) -> Chart:
    """Return the procedure for a state: the policy's action in every box.

    Branches rarer than ``prune`` (counted from the start) fall back to the remedy order and the hand-over,
    unless a remedy there still waits for a check.
    """
    state = state or State()
    start = batch_of(network, [state])
    last = _frozen(network, state.level, _Draft(HAND_OVER, -1, 0.0, start))
    cure = cured_by(network, state)
    if cure is not None:
        belief = tuple(map(float, posterior(network, state)))
        done = Node("done", cure, 0.0, 1.0, belief)
        return Chart(network, state, done, 0.0, 1.0, (0.0,) * len(network.causes), last)
    root = _frozen(network, state.level, _drafted(network, state.level, start, prune))
    minutes, settled = by_cause(network, root)
    belief_now = start.weight[0]
    return Chart(
        network,
        state,
        root,
        float(belief_now @ minutes),
        float(belief_now @ settled),
        tuple(map(float, minutes)),
        last,
    )


def boxes(node: Node) -> Iterator[Node]:
    """Yield every box of a chart, each before those that follow it."""
    yield node
    for branch in node.branches:
        if branch.node is not None:
            yield from boxes(branch.node)


def by_cause(network: Network, node: Node) -> tuple[Floats, Floats]:
    """Return, with each cause as the true one, the expected minutes and the share settled here."""
    a = network.arrays
    minutes, settled = np.full(len(network.causes), node.minutes), np.zeros(len(network.causes))
    if node.kind == "hand-over":
        return minutes_of_steps(network, node.then), settled
    goes_on = a.keeps[node.index] if node.kind == "check" else 1 - a.cures[node.index][None]
    settled += 1 - goes_on.sum(axis=0)
    for branch in node.branches:
        if branch.node is not None:
            later, ended = by_cause(network, branch.node)
            minutes += goes_on[branch.outcome] * later
            settled += goes_on[branch.outcome] * ended
    return minutes, settled


def minutes_of_steps(network: Network, steps: tuple[Step, ...]) -> Floats:
    """Return the expected minutes of a hand-over's steps for each cause as the true one."""
    minutes, alive = np.zeros(len(network.causes)), np.ones(len(network.causes))
    for step in steps:
        minutes += alive * step.minutes
        if step.kind == "remedy":
            alive = alive * (1 - network.arrays.cures[step.index])
    return minutes


def _drafted(network: Network, level: int, start: Batch, prune: float) -> _Draft:
    """Return the tree of boxes, all boxes of one depth decided together."""
    root = _Draft(HAND_OVER, -1, 0.0, start)
    drafts, batch = [root], start
    while drafts:
        plain = _tails(network, level, batch, prune)
        choices = _choices(network, level, batch, plain)
        costs = (check_minutes(network, batch), remedy_minutes(network, batch))
        for n, draft in enumerate(drafts):
            draft.kind, draft.index = int(choices.kind[n]), int(choices.index[n])
            if draft.kind in (CHECK, REMEDY):
                draft.minutes = float(costs[draft.kind][n, draft.index])
        _, following, parent, outcome = act(network, batch, level, choices)
        fresh = []
        for i, mass in enumerate(following.mass):
            child = _Draft(HAND_OVER, -1, 0.0, following.take(np.array([i])))
            drafts[parent[i]].answers.append((int(outcome[i]), float(mass), child))
            fresh.append(child)
        drafts, batch = fresh, following
    return root


def _tails(network: Network, level: int, batch: Batch, prune: float) -> Choices:
    """Return the first action of the remedy order for rare situations, and kind -1 for the others."""
    plan = repair(network, batch, level)
    kind = np.where(plan.stop > 0, REMEDY, HAND_OVER)
    index = plan.order[:, 0].copy() if plan.order.shape[1] else np.full(len(batch), -1)
    index[kind == HAND_OVER] = -1
    waits = outstanding(network, batch, level).any(axis=2)
    tried = np.arange(plan.order.shape[1]) < plan.stop[:, None]
    waiting = (np.take_along_axis(waits, plan.order, axis=1) & tried).any(axis=1)
    kind[(batch.mass >= prune) | waiting] = -1
    return Choices(kind, index)


def _choices(network: Network, level: int, batch: Batch, plain: Choices) -> Choices:
    decided = np.flatnonzero(plain.kind < 0)
    kind, index = plain.kind.copy(), plain.index.copy()
    if len(decided):
        best, _ = rollout(network, batch.take(decided), level)
        kind[decided], index[decided] = best.kind, best.index
    return Choices(kind, index)


def _frozen(network: Network, level: int, draft: _Draft) -> Node:
    mass = float(draft.row.mass[0])
    belief = tuple(map(float, draft.row.weight[0] / mass))
    if draft.kind == HAND_OVER:
        steps = _then(network, level, draft.row)
        taker = level + 1 if level < network.top else -1
        return Node(KINDS[HAND_OVER], taker, steps[0].minutes, mass, belief, then=steps)
    branches = tuple(_branch(network, level, draft, outcome) for outcome in range(_width(network, draft)))
    kept = tuple(b for b in branches if b.node is not None or b.cures)
    return Node(KINDS[draft.kind], draft.index, draft.minutes, mass, belief, kept)


def _width(network: Network, draft: _Draft) -> int:
    return len(network.checks[draft.index].outcomes) if draft.kind == CHECK else 1


def _branch(network: Network, level: int, draft: _Draft, outcome: int) -> Branch:
    child = next((node for at, _, node in draft.answers if at == outcome), None)
    node = _frozen(network, level, child) if child is not None else None
    if draft.kind == REMEDY:
        probability = float(child.row.mass[0] / draft.row.mass[0]) if child is not None else 0.0
        return Branch(outcome, probability, False, node)
    fixes = network.checks[draft.index].fixes
    odds = network.arrays.rows[draft.index, outcome] @ draft.row.weight[0] / draft.row.mass[0]
    return Branch(outcome, float(odds), bool(fixes) and any(fixes[outcome]), node)


def _then(network: Network, level: int, row: Batch) -> tuple[Step, ...]:
    """Return what happens after a hand-over: each level's visit and remedies, at last the end unsolved."""
    if level >= network.top:
        return (Step("unsolved", -1, network.unsolved_minutes),)
    steps = [Step("visit", level + 1, network.levels[level + 1].visit_minutes)]
    row = handed_over(row)
    plan = repair(network, row, level + 1)
    a = network.arrays
    seen, weight = row.seen[0].copy(), row.weight[0]
    used, spent = row.used.copy(), row.spent
    waits = outstanding(network, row, level + 1)[0]
    for r in plan.order[0, : int(plan.stop[0])]:
        way = 0.0 if seen[a.remedy_place[r]] else a.reach[a.remedy_place[r]]
        first = float(a.check_minutes[waits[r]].sum())
        steps.append(Step("remedy", int(r), float(a.remedy_minutes[r] + way + first)))
        seen[a.remedy_place[r]] = True
        used[0, r] = True
        weight = weight * (1 - a.cures[r])
    rest = Batch(weight[None], spent, used, np.zeros_like(used), seen[None])
    return (*steps, *_then(network, level + 1, rest))
