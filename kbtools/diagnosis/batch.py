"""Many situations at once: rows of beliefs with what is used up in each, so that numpy does the work."""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np

from kbtools.diagnosis.network import Bools, Floats, Ints, Network
from kbtools.diagnosis.posterior import State, posterior, visited

CHECK, REMEDY, HAND_OVER, DONE = 0, 1, 2, 3
TIE = 1e-9


@dataclass(frozen=True)
class Batch:
    """N situations for readers of one level. A row of ``weight`` sums to the probability of being there."""

    weight: Floats  # N C
    spent: Bools  # N K, answered, not sure or impossible
    used: Bools  # N R, tried in vain
    shut: Bools  # N R, impossible for this reader, not for the next
    seen: Bools  # N P+1, places where something was done; the last, nowhere, always

    def __len__(self) -> int:
        return len(self.weight)

    def take(self, rows: Ints | Bools) -> Batch:
        """Return the situations of these rows."""
        return Batch(*(getattr(self, field.name)[rows] for field in fields(self)))

    @property
    def mass(self) -> Floats:
        """The probability of each situation (N)."""
        return np.asarray(self.weight.sum(axis=1))


def joined(parts: list[Batch]) -> Batch:
    """Return one batch of all the parts in order."""
    return Batch(*(np.concatenate([getattr(p, field.name) for p in parts]) for field in fields(Batch)))


def batch_of(network: Network, states: list[State]) -> Batch:
    """Return one row per state, each of weight 1."""
    return joined([_row(network, state) for state in states])


def _row(network: Network, state: State) -> Batch:
    a = network.arrays
    checks, remedies = len(network.checks), len(network.remedies)
    barred = np.zeros(checks, dtype=bool)
    barred[list(state.no_checks)] = True
    if state.away:
        barred |= np.array([check.only_while_faulty for check in network.checks], dtype=bool)
    done = np.zeros(checks, dtype=bool)
    done[[check for check, _ in state.answers]] = True
    done[list(state.unsure)] = True
    barred &= ~done & (a.check_level <= state.level)
    behind = (a.check_gates & barred).any(axis=1)
    shut: Bools = np.zeros(remedies, dtype=bool)
    shut |= (a.remedy_gates & (barred | (behind & ~done))).any(axis=1)
    shut[list(state.no_remedies)] = True
    used = np.zeros(remedies, dtype=bool)
    used[list(state.failed)] = True
    seen = np.zeros(len(network.reach_minutes) + 1, dtype=bool)
    seen[[*visited(network, state), -1]] = True
    spent = done | barred | behind
    return Batch(posterior(network, state)[None], spent[None], used[None], shut[None], seen[None])


def after_checks(network: Network, batch: Batch, rows: Ints, checks: Ints) -> Batch:
    """Return M·O situations: each of ``rows`` after each outcome, without what the check cured."""
    a = network.arrays
    outcomes = a.rows.shape[1]
    weight = batch.weight[rows][:, None, :] * a.keeps[checks]
    after = batch.take(np.repeat(rows, outcomes))
    again = np.repeat(checks, outcomes)
    line = np.arange(len(again))
    spent, seen = after.spent.copy(), after.seen.copy()
    spent[line, again] = True
    seen[line, a.check_place[again]] = True
    return Batch(weight.reshape(-1, weight.shape[2]), spent, after.used, after.shut, seen)


def after_remedies(network: Network, batch: Batch, rows: Ints, remedies: Ints) -> Batch:
    """Return M situations: each of ``rows`` after its remedy failed."""
    a = network.arrays
    after = batch.take(rows)
    line = np.arange(len(rows))
    used, seen = after.used.copy(), after.seen.copy()
    used[line, remedies] = True
    seen[line, a.remedy_place[remedies]] = True
    return Batch(after.weight * (1 - a.cures[remedies]), after.spent, used, after.shut, seen)


def check_minutes(network: Network, batch: Batch) -> Floats:
    """Return what each check would cost now, reach included (N K)."""
    a = network.arrays
    return np.asarray(a.check_minutes + a.reach[a.check_place] * ~batch.seen[:, a.check_place])


def remedy_minutes(network: Network, batch: Batch) -> Floats:
    """Return what each remedy would cost now, reach included (N R)."""
    a = network.arrays
    return np.asarray(a.remedy_minutes + a.reach[a.remedy_place] * ~batch.seen[:, a.remedy_place])


def open_checks(network: Network, batch: Batch, level: int) -> Bools:
    """Return which checks this level may do now (N K): not spent, and what they come after is spent."""
    a = network.arrays
    within = a.check_level <= level
    waiting = (~batch.spent[:, None, :] & (a.check_gates & within)).any(axis=2)
    return np.asarray(within & ~batch.spent & ~waiting)


def outstanding(network: Network, batch: Batch, level: int) -> Bools:
    """Return which checks each remedy still waits for at this level (N R K)."""
    a = network.arrays
    return np.asarray(~batch.spent[:, None, :] & (a.remedy_gates & (a.check_level <= level)))
