"""What to do next: myopic value of information, and rollout over it.

Rollout plays every candidate out with the myopic policy and takes the least expected minutes (Bertsekas and
Castañon 1999: never worse than the policy it plays out).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from kbtools.diagnosis.batch import (
    CHECK,
    DONE,
    HAND_OVER,
    REMEDY,
    TIE,
    Batch,
    after_checks,
    after_remedies,
    batch_of,
    check_minutes,
    joined,
    open_checks,
    outstanding,
    remedy_minutes,
)
from kbtools.diagnosis.cost import Plan, hand_over, repair
from kbtools.diagnosis.network import Floats, Ints, Network
from kbtools.diagnosis.order import by_remedy
from kbtools.diagnosis.posterior import State, cured_by, outcome_odds, posterior

LIGHT = 0.03  # of the situation that is decided: lighter branches are not played out
CHECKS_TRIED = 4
REMEDIES_TRIED = 2
KINDS = ("check", "remedy", "hand-over", "done")


@dataclass(frozen=True)
class Choices:
    """One action per situation: ``kind`` (CHECK, REMEDY, HAND_OVER) and its position."""

    kind: Ints
    index: Ints


@dataclass(frozen=True)
class Action:
    """The next thing to do: ``kind`` check, remedy, hand-over or done; its position; its minutes with reach.

    ``index`` is a check, a remedy, or the level that takes over (None at the top); for done it is the check
    that cured it. ``expected_minutes`` is what remains from here until fixed, this action included.
    """

    kind: str
    index: int | None
    minutes: float
    expected_minutes: float


def after_all_checks(network: Network, batch: Batch, level: int, plan: Plan, promising: bool) -> tuple[Floats, Floats]:
    """Return each check's minutes and E[repair after it], times mass (N K); infinite where not open.

    With ``promising``, checks that a lower bound shows to gain nothing are left infinite.
    """
    a = network.arrays
    cost = check_minutes(network, batch)
    tried = open_checks(network, batch, level)
    if promising:
        kept = a.keeps.sum(axis=1)
        floor = (batch.weight * a.floors[level]) @ kept.T
        tried &= cost * batch.mass[:, None] + floor < plan.minutes[:, None]
    after = np.full(cost.shape, np.inf)
    rows, checks = np.nonzero(tried)
    if len(rows):
        children = after_checks(network, batch, rows, checks)
        alive = children.mass > 0
        minutes = np.zeros(len(children))
        minutes[alive] = repair(network, children.take(alive), level).minutes
        after[rows, checks] = minutes.reshape(len(rows), -1).sum(axis=1)
    return cost, after


def myopic(network: Network, batch: Batch, level: int) -> Choices:
    """Return the check of the largest net gain, else the first remedy in order, else the hand-over."""
    plan = repair(network, batch, level)
    cost, after = after_all_checks(network, batch, level, plan, promising=True)
    return _myopic(network, batch, level, plan, cost, after)


def _myopic(network: Network, batch: Batch, level: int, plan: Plan, cost: Floats, after: Floats) -> Choices:
    mass = batch.mass
    kind, index = _plain(network, batch, level, plan)
    if cost.shape[1]:
        gain = (plan.minutes[:, None] - after) / mass[:, None] - cost
        best = gain.max(axis=1)
        asks = best > TIE
        kind = np.where(asks, CHECK, kind)
        index = np.where(asks, np.argmax(gain >= (best - TIE)[:, None], axis=1), index)
    return Choices(kind, index)


def _plain(network: Network, batch: Batch, level: int, plan: Plan) -> tuple[Ints, Ints]:
    """Return the first remedy of each plan (or the check it waits for), or the hand-over."""
    kind = np.full(len(batch), HAND_OVER)
    index = np.full(len(batch), -1)
    starts = plan.stop > 0
    if not starts.any():
        return kind, index
    first = plan.order[:, 0]
    kind[starts] = REMEDY
    index[starts] = first[starts]
    waits = outstanding(network, batch, level)[np.arange(len(batch)), np.maximum(first, 0)]
    blocked = starts & waits.any(axis=1)
    if blocked.any():
        ready = waits & open_checks(network, batch, level)
        kind[blocked] = CHECK
        index[blocked] = np.argmax(ready[blocked], axis=1)
    return kind, index


def act(network: Network, batch: Batch, level: int, choices: Choices) -> tuple[Floats, Batch, Ints, Ints]:
    """Return the minutes (times mass) of every chosen action and what may follow it.

    A hand-over costs all that comes after it. Returns minutes (N), the situations that go on, the row each
    came from, and its outcome (0 for a remedy that failed).
    """
    minutes = np.zeros(len(batch))
    mass = batch.mass
    over = np.flatnonzero(choices.kind == HAND_OVER)
    if len(over):
        minutes[over] = hand_over(network, batch.take(over), level)
    parts, parents, outcomes = [], [], []
    asks = np.flatnonzero(choices.kind == CHECK)
    if len(asks):
        chosen = choices.index[asks]
        minutes[asks] = mass[asks] * check_minutes(network, batch.take(asks))[np.arange(len(asks)), chosen]
        width = network.arrays.rows.shape[1]
        parts.append(after_checks(network, batch, asks, chosen))
        parents.append(np.repeat(asks, width))
        outcomes.append(np.tile(np.arange(width), len(asks)))
    tries = np.flatnonzero(choices.kind == REMEDY)
    if len(tries):
        chosen = choices.index[tries]
        minutes[tries] = mass[tries] * remedy_minutes(network, batch.take(tries))[np.arange(len(tries)), chosen]
        parts.append(after_remedies(network, batch, tries, chosen))
        parents.append(tries)
        outcomes.append(np.zeros(len(tries), dtype=np.intp))
    if not parts:
        none = np.zeros(0, dtype=np.intp)
        return minutes, batch.take(none), none, none
    following, parent, outcome = joined(parts), np.concatenate(parents), np.concatenate(outcomes)
    alive = following.mass > 1e-15 * mass[parent]
    return minutes, following.take(alive), parent[alive], outcome[alive]


def rollout(network: Network, batch: Batch, level: int) -> tuple[Choices, Floats]:
    """Return the best candidate of each situation and its expected minutes, times mass."""
    owner, choices = _candidates(network, batch, level)
    totals = _played_out(network, batch.take(owner), level, choices) / batch.mass[owner]
    kind = np.zeros(len(batch), dtype=np.intp)
    index = np.zeros(len(batch), dtype=np.intp)
    least = np.full(len(batch), np.inf)
    np.minimum.at(least, owner, totals)
    # Candidates stand in the order check, remedy, hand-over, then file order: the first that ties wins.
    winners = np.flatnonzero(totals <= least[owner] + TIE)[::-1]
    kind[owner[winners]] = choices.kind[winners]
    index[owner[winners]] = choices.index[winners]
    return Choices(kind, index), least * batch.mass


def _candidates(network: Network, batch: Batch, level: int) -> tuple[Ints, Choices]:
    """Return the situation, kind and position of each candidate, sorted by situation, kind and position."""
    plan = repair(network, batch, level)
    cost, after = after_all_checks(network, batch, level, plan, promising=False)
    base = _myopic(network, batch, level, plan, cost, after)
    found = {(n, int(base.kind[n]), int(base.index[n])) for n in range(len(batch))}
    value = (plan.minutes[:, None] - after) / batch.mass[:, None] / np.maximum(cost, TIE)
    value[~(value > TIE)] = -np.inf
    found |= {(n, CHECK, k) for n, k in _largest(value, CHECKS_TRIED)}
    a = network.arrays
    ready = (a.remedy_level <= level) & ~batch.used & ~batch.shut
    ready &= ~outstanding(network, batch, level).any(axis=2)
    odds = by_remedy(network, batch.weight) / batch.mass[:, None] / np.maximum(remedy_minutes(network, batch), TIE)
    odds[~(ready & (odds > 1e-12))] = -np.inf
    found |= {(n, REMEDY, r) for n, r in _largest(odds, REMEDIES_TRIED)}
    found |= {(n, HAND_OVER, -1) for n in range(len(batch))}
    table = np.array(sorted(found), dtype=np.intp)
    return table[:, 0], Choices(table[:, 1], table[:, 2])


def _largest(values: Floats, count: int) -> list[tuple[int, int]]:
    """Return (row, column) of the ``count`` largest finite values of each row, ties by position."""
    found = []
    values = values.copy()
    for _ in range(min(count, values.shape[1])):
        best = values.max(axis=1)
        column = np.argmax(values >= (best - TIE * np.abs(best))[:, None], axis=1)
        rows = np.flatnonzero(np.isfinite(best))
        found += [(int(n), int(column[n])) for n in rows]
        values[rows, column[rows]] = -np.inf
    return found


def _played_out(network: Network, batch: Batch, level: int, choices: Choices) -> Floats:
    """Return the minutes, times mass, of each choice and then the myopic policy; light branches by repair."""
    totals = np.zeros(len(batch))
    origin = np.arange(len(batch))
    start = batch.mass
    while True:
        minutes, following, parent, _ = act(network, batch, level, choices)
        np.add.at(totals, origin, minutes)
        if not len(following):
            return totals
        origin = origin[parent]
        light = following.mass < LIGHT * start[origin]
        if light.any():
            np.add.at(totals, origin[light], repair(network, following.take(light), level).minutes)
        batch, origin = following.take(~light), origin[~light]
        if not len(batch):
            return totals
        choices = myopic(network, batch, level)


def next_action(network: Network, state: State) -> Action:
    """Return the best next action for this state by rollout, the policy of terminal, page and chart."""
    cure = cured_by(network, state)
    if cure is not None:
        return Action(KINDS[DONE], cure, 0.0, 0.0)
    batch = batch_of(network, [state])
    choices, least = rollout(network, batch, state.level)
    kind, index = int(choices.kind[0]), int(choices.index[0])
    expected = float(least[0])
    if kind == CHECK:
        return Action(KINDS[kind], index, float(check_minutes(network, batch)[0, index]), expected)
    if kind == REMEDY:
        return Action(KINDS[kind], index, float(remedy_minutes(network, batch)[0, index]), expected)
    taker = state.level + 1 if state.level < network.top else None
    minutes = network.levels[taker].visit_minutes if taker is not None else network.unsolved_minutes
    return Action(KINDS[HAND_OVER], taker, minutes, expected)


def expected_minutes(network: Network, state: State) -> float:
    """Return the expected minutes until fixed from here: the next action and all that follows it."""
    return next_action(network, state).expected_minutes


@dataclass(frozen=True)
class Prospect:
    """What one outcome of a check would do: its probability, and the posterior after it."""

    outcome: int
    probability: float
    posterior: tuple[float, ...]
    cures: bool


def why(network: Network, state: State, check: int) -> tuple[Prospect, ...]:
    """Return what each outcome of a check would do to the causes, in the order of its outcomes."""
    belief = posterior(network, state)
    odds = outcome_odds(network, belief, check)
    fixes = network.checks[check].fixes
    found = []
    for outcome, probability in enumerate(odds):
        joint = belief * network.arrays.rows[check, outcome]
        after = joint / joint.sum() if joint.sum() > 0 else belief
        cures = bool(fixes) and any(fixes[outcome])
        found.append(Prospect(outcome, float(probability), tuple(map(float, after)), cures))
    return tuple(found)
