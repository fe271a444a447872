"""The policy compiled to a short fixed procedure, for paper and for rehearsal."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace

import numpy as np

from kbtools.diagnosis.batch import (
    CHECK,
    HAND_OVER,
    REMEDY,
    Batch,
    after_checks,
    after_remedies,
    batch_of,
    check_minutes,
    open_checks,
    outstanding,
    remedy_minutes,
)
from kbtools.diagnosis.cost import handed_over, repair
from kbtools.diagnosis.network import Floats, Network
from kbtools.diagnosis.policy import KINDS, act, rollout
from kbtools.diagnosis.posterior import State, cured_by, posterior

PRUNE = 0.02
ANY = -1
"""The outcome of a branch that is taken whatever the check shows."""


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
    answers: list[tuple[int, _Draft]] = field(default_factory=list)


def compile_chart(network: Network, state: State | None = None, prune: float = PRUNE) -> Chart:
    """Return the procedure for a state: the policy's action in every box.

    Branches rarer than ``prune`` (counted from the start) fall back to the remedies in order and the
    hand-over; a check that such a remedy waits for is done whatever it shows.
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
    rows = a.keeps[node.index] if node.kind == "check" else 1 - a.cures[node.index][None]
    settled += 1 - rows.sum(axis=0)
    for branch in node.branches:
        if branch.node is not None:
            goes_on = rows.sum(axis=0) if branch.outcome == ANY else rows[branch.outcome]
            later, ended = by_cause(network, branch.node)
            minutes += goes_on * later
            settled += goes_on * ended
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
        rare = batch.mass < prune
        for n in np.flatnonzero(rare):
            _plain_order(network, level, drafts[n])
        drafts, batch = [draft for draft, is_rare in zip(drafts, rare, strict=True) if not is_rare], batch.take(~rare)
        drafts, batch = _decided(network, level, drafts, batch)
    return root


def _decided(network: Network, level: int, drafts: list[_Draft], batch: Batch) -> tuple[list[_Draft], Batch]:
    """Fill the boxes with the policy's actions and return those that follow, with their situations."""
    if not drafts:
        return [], batch
    choices, _ = rollout(network, batch, level)
    costs = (check_minutes(network, batch), remedy_minutes(network, batch))
    for n, draft in enumerate(drafts):
        draft.kind, draft.index = int(choices.kind[n]), int(choices.index[n])
        if draft.kind in (CHECK, REMEDY):
            draft.minutes = float(costs[draft.kind][n, draft.index])
    _, following, parent, outcome = act(network, batch, level, choices)
    fresh = []
    for i in range(len(following)):
        child = _Draft(HAND_OVER, -1, 0.0, following.take(np.array([i])))
        drafts[parent[i]].answers.append((int(outcome[i]), child))
        fresh.append(child)
    return fresh, following


def _plain_order(network: Network, level: int, draft: _Draft) -> None:
    """Fill a rare situation with its remedies in order, the checks that they wait for, and the hand-over."""
    plan = repair(network, draft.row, level)
    for r in plan.order[0, : int(plan.stop[0])]:
        for _ in network.checks:
            waits = outstanding(network, draft.row, level)[0, r] & open_checks(network, draft.row, level)[0]
            if not waits.any():
                break
            draft = _chained(network, draft, CHECK, int(np.argmax(waits)))
        draft = _chained(network, draft, REMEDY, int(r))


def _chained(network: Network, draft: _Draft, kind: int, index: int) -> _Draft:
    """Make the box an action that leads on whatever it shows, and return the next box."""
    line, what = np.zeros(1, dtype=np.intp), np.array([index])
    if kind == CHECK:
        minutes = check_minutes(network, draft.row)
        each = after_checks(network, draft.row, line, what)
        row = replace(each.take(line), weight=each.weight.sum(axis=0, keepdims=True))
    else:
        minutes = remedy_minutes(network, draft.row)
        row = after_remedies(network, draft.row, line, what)
    draft.kind, draft.index, draft.minutes = kind, index, float(minutes[0, index])
    following = _Draft(HAND_OVER, -1, 0.0, row)
    if row.mass[0] > 0:
        draft.answers.append((ANY if kind == CHECK else 0, following))
    return following


def _frozen(network: Network, level: int, draft: _Draft) -> Node:
    mass = float(draft.row.mass[0])
    belief = tuple(map(float, draft.row.weight[0] / mass))
    if draft.kind == HAND_OVER:
        steps = _then(network, level, draft.row)
        taker = level + 1 if level < network.top else -1
        return Node(KINDS[HAND_OVER], taker, steps[0].minutes, mass, belief, then=steps)
    if draft.kind == CHECK and [outcome for outcome, _ in draft.answers] == [ANY]:
        branches = [Branch(ANY, 1.0, False, _frozen(network, level, draft.answers[0][1]))]
    else:
        branches = [_branch(network, level, draft, outcome) for outcome in range(_width(network, draft))]
    kept = tuple(b for b in branches if b.node is not None or b.cures)
    return Node(KINDS[draft.kind], draft.index, draft.minutes, mass, belief, kept)


def _width(network: Network, draft: _Draft) -> int:
    return len(network.checks[draft.index].outcomes) if draft.kind == CHECK else 1


def _branch(network: Network, level: int, draft: _Draft, outcome: int) -> Branch:
    child = next((node for at, node in draft.answers if at == outcome), None)
    node = _frozen(network, level, child) if child is not None else None
    if draft.kind == REMEDY:
        left = float(child.row.mass[0] / draft.row.mass[0]) if child is not None else 0.0
        return Branch(outcome, left, False, node)
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
