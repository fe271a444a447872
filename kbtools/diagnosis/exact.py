"""The exact optimum of small problems: a yardstick, bounded by a count of states and never by time.

Dynamic programming over every state, from the last one backwards. A state is the outcome of each check (or
none yet) and the set of remedies tried; the places seen follow from both. Every remedy is tried in every
state.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from kbtools.diagnosis.batch import Batch, batch_of
from kbtools.diagnosis.cost import hand_over
from kbtools.diagnosis.network import Bools, Floats, Ints, Network
from kbtools.diagnosis.posterior import State, posterior

MAX_STATES = 16_000_000
MAX_STATES_BELOW_THE_TOP = 100_000


@dataclass(frozen=True)
class _Grid:
    """A rows of answers × U sets of remedies, for the checks and remedies that are open at all."""

    network: Network
    level: int
    root: Batch
    checks: list[int]
    remedies: list[int]
    answers: Ints  # A k, outcome + 1 of each check, 0 for none
    stride: list[int]  # what one outcome of each check adds to the row
    likelihood: Floats  # A C, prior included
    left: Floats  # U C, what the remedies tried do not cure
    tried: Bools  # U r


def optimum(network: Network, state: State | None = None, max_states: int | None = None) -> float | None:
    """Return the least expected minutes until fixed, or None when the problem has more than ``max_states``
    states.

    The count is ∏ (outcomes + 1) over the open checks times 2 to the number of open remedies; by default up
    to 16 million at the highest level and 100,000 below it, where every state also prices its hand-over.
    """
    state = state or State()
    root = batch_of(network, [state])
    a = network.arrays
    checks = [k for k in np.flatnonzero(~root.spent[0]) if a.check_level[k] <= state.level]
    barred = root.used[0] | root.shut[0]
    remedies = [r for r in np.flatnonzero(~barred) if a.remedy_level[r] <= state.level]
    limit = MAX_STATES if state.level >= network.top else MAX_STATES_BELOW_THE_TOP
    count = 2 ** len(remedies) * int(np.prod([len(network.checks[k].outcomes) + 1 for k in checks], dtype=object))
    if count > (limit if max_states is None else max_states):
        return None
    return _solved(_grid(network, state, root, [int(k) for k in checks], [int(r) for r in remedies]))


def _grid(network: Network, state: State, root: Batch, checks: list[int], remedies: list[int]) -> _Grid:
    a = network.arrays
    sizes = [len(network.checks[k].outcomes) + 1 for k in checks]
    rows = int(np.prod(sizes, dtype=int))
    answers = np.stack(np.unravel_index(np.arange(rows), sizes), axis=1) if checks else np.zeros((1, 0), dtype=int)
    stride = [int(np.prod(sizes[i + 1 :], dtype=int)) for i in range(len(sizes))]
    likelihood = np.tile(posterior(network, state), (rows, 1))
    for i, k in enumerate(checks):
        table = np.vstack([np.ones(len(network.causes)), a.keeps[k, : sizes[i] - 1]])
        likelihood *= table[answers[:, i]]
    sets = np.arange(2 ** len(remedies))
    tried = (sets[:, None] >> np.arange(len(remedies)) & 1).astype(bool)
    left = np.ones((len(sets), len(network.causes)))
    for i, r in enumerate(remedies):
        left[tried[:, i]] *= 1 - a.cures[r]
    return _Grid(network, state.level, root, checks, remedies, answers, stride, likelihood, left, tried)


def _solved(g: _Grid) -> float:
    """Fill the values from all checks answered back to none, and return that of the start."""
    value = np.empty((len(g.answers), len(g.left)))
    count = (g.answers > 0).sum(axis=1)
    tried = g.tried.sum(axis=1)
    for done in range(len(g.checks), -1, -1):
        rows = np.flatnonzero(count == done)
        mass = g.likelihood[rows] @ g.left.T
        best = np.minimum(_over(g, rows, mass), _asked(g, rows, mass, value))
        for size in range(len(g.remedies) - 1, -1, -1):
            sets = np.flatnonzero(tried == size)
            best[:, sets] = np.minimum(best[:, sets], _tried(g, rows, sets, mass, best))
        value[rows] = best
    return float(value[0, 0])


def _asked(g: _Grid, rows: Ints, mass: Floats, value: Floats) -> Floats:
    """Return the least of asking each check next (rows × sets)."""
    a = g.network.arrays
    best = np.full_like(mass, np.inf)
    for i, k in enumerate(g.checks):
        may = np.flatnonzero((g.answers[rows, i] == 0) & _ready(g, rows, a.check_gates[k]))
        if not len(may):
            continue
        unseen = _unseen(g, rows[may], int(a.check_place[k]))
        total = mass[may] * (a.check_minutes[k] + a.reach[a.check_place[k]] * unseen)
        for outcome in range(1, len(g.network.checks[k].outcomes) + 1):
            total += value[rows[may] + outcome * g.stride[i]]
        best[may] = np.minimum(best[may], total)
    return best


def _tried(g: _Grid, rows: Ints, sets: Ints, mass: Floats, best: Floats) -> Floats:
    """Return the least of trying each remedy next from these sets (rows × chosen sets)."""
    a = g.network.arrays
    least = np.full((len(rows), len(sets)), np.inf)
    for i, r in enumerate(g.remedies):
        may = np.flatnonzero(~g.tried[sets, i])
        ready = np.flatnonzero(_ready(g, rows, a.remedy_gates[r]))
        if not len(may) or not len(ready):
            continue
        unseen = _unseen(g, rows[ready], int(a.remedy_place[r]))[:, sets[may]]
        cost = a.remedy_minutes[r] + a.reach[a.remedy_place[r]] * unseen
        at = np.ix_(ready, sets[may])
        total = mass[at] * cost + best[np.ix_(ready, sets[may] + 2**i)]
        inner = np.ix_(ready, may)
        least[inner] = np.minimum(least[inner], total)
    return least


def _ready(g: _Grid, rows: Ints, gates: Bools) -> Bools:
    """Return for which answers every gate that this level can do is done."""
    a = g.network.arrays
    ready = np.ones(len(rows), dtype=bool)
    for k in np.flatnonzero(gates & (a.check_level <= g.level) & ~g.root.spent[0]):
        ready &= g.answers[rows, g.checks.index(int(k))] > 0
    return ready


def _unseen(g: _Grid, rows: Ints, place: int) -> Bools:
    """Return where nothing was done yet at a place (rows × sets)."""
    a = g.network.arrays
    if g.root.seen[0, place]:
        return np.zeros((len(rows), len(g.left)), dtype=bool)
    here = [i for i, k in enumerate(g.checks) if a.check_place[k] == place]
    there = [i for i, r in enumerate(g.remedies) if a.remedy_place[r] == place]
    checked: Bools = np.any(g.answers[rows][:, here] > 0, axis=1, keepdims=True)
    mended: Bools = np.any(g.tried[:, there], axis=1, keepdims=True)
    return np.asarray(~checked & ~mended.T)


def _over(g: _Grid, rows: Ints, mass: Floats) -> Floats:
    """Return the cost of handing over now (rows × sets)."""
    if g.level >= g.network.top:
        return np.asarray(mass * g.network.unsolved_minutes)
    sets = len(g.left)
    spent = np.repeat(g.root.spent, len(rows) * sets, axis=0)
    used = np.repeat(g.root.used, len(rows) * sets, axis=0)
    for i, k in enumerate(g.checks):
        spent[:, k] = np.repeat(g.answers[rows, i] > 0, sets)
    for i, r in enumerate(g.remedies):
        used[:, r] |= np.tile(g.tried[:, i], len(rows))
    weight = (g.likelihood[rows][:, None, :] * g.left[None]).reshape(len(rows) * sets, -1)
    seen = np.repeat(g.root.seen, len(weight), axis=0)
    batch = Batch(weight, spent, used, np.zeros_like(used), seen)
    value = np.zeros(len(weight))
    alive = batch.mass > 0
    value[alive] = hand_over(g.network, batch.take(alive), g.level)
    return value.reshape(len(rows), sets)
