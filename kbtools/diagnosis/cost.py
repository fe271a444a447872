"""Expected cost of repair: the best first part of the remedy order, then the hand-over.

Heckerman, Breese and Rommelse (1995) value a check by what it takes off this cost.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from kbtools.diagnosis.batch import TIE, Batch
from kbtools.diagnosis.network import Bools, Floats, Ints, Network
from kbtools.diagnosis.order import Order, by_remedy, in_order


@dataclass(frozen=True)
class Plan:
    """For N situations: the expected minutes (times mass), the order of remedies and how many of them are
    tried.

    After the first ``stop`` remedies of ``order`` comes the hand-over.
    """

    minutes: Floats  # N
    order: Ints  # N S
    stop: Ints  # N


def hand_over(network: Network, batch: Batch, level: int) -> Floats:
    """Return the expected minutes, times mass, of handing each situation to the next level.

    The next level pays its visit, reaches every place anew and may try what this reader could not; at the
    top it is ``unsolved_minutes``.
    """
    if level >= network.top:
        return np.asarray(batch.mass * network.unsolved_minutes)
    visit = network.levels[level + 1].visit_minutes
    return np.asarray(batch.mass * visit + repair(network, handed_over(batch), level + 1).minutes)


def handed_over(batch: Batch) -> Batch:
    """Return the situations as the next level finds them: no place reached, nothing impossible yet."""
    fresh = np.zeros_like(batch.seen)
    fresh[:, -1] = True
    return Batch(batch.weight, batch.spent, batch.used, np.zeros_like(batch.shut), fresh)


def repair(network: Network, batch: Batch, level: int) -> Plan:
    """Return the least expected minutes, times mass, over how many remedies of the order are tried."""
    order = in_order(network, batch, level)
    if level >= network.top:
        totals = order.spent + order.left * network.unsolved_minutes
    else:
        totals = _with_hand_over(network, batch, level, order)
    least = totals.min(axis=1)
    ties = totals <= (least + TIE * batch.mass)[:, None]
    stop = totals.shape[1] - 1 - np.argmax(ties[:, ::-1], axis=1)
    return Plan(least, order.remedies, stop)


def _with_hand_over(network: Network, batch: Batch, level: int, order: Order) -> Floats:
    """Return the total minutes of stopping after each remedy (N S+1), infinite where it cannot be the least.

    What the next level needs is concave in the weights: without a cause it saves at least that cause's floor.
    So where the bound falls with one more remedy, the total falls too and stopping before it need not be
    worked out.
    """
    bound = order.spent + order.left * network.levels[level + 1].visit_minutes
    bound += _floor_left(network, batch, level + 1, order)
    totals = np.full_like(bound, np.inf)
    line = np.arange(len(bound))
    first = np.argmin(bound, axis=1)
    totals[line, first] = order.spent[line, first] + _hand_over_after(network, batch, level, order, line, first)
    limit = totals[line, first] + TIE * batch.mass
    rest = bound <= limit[:, None]
    rest[line, first] = False
    if network.arrays.disjoint:
        rest[:, :-1] &= bound[:, 1:] > bound[:, :-1]
    rows, steps = np.nonzero(rest)
    if len(rows):
        totals[rows, steps] = order.spent[rows, steps] + _hand_over_after(network, batch, level, order, rows, steps)
    return totals


def _floor_left(network: Network, batch: Batch, level: int, order: Order) -> Floats:
    """Return a bound below what the next level needs for the causes left after each remedy (N S+1)."""
    a = network.arrays
    least = batch.weight * a.full_floors[level]
    if not a.disjoint:
        return np.asarray(order.left * float(a.full_floors[level].min()))
    gone = by_remedy(network, least)[np.arange(len(least))[:, None], order.remedies]
    total = least.sum(axis=1)[:, None]
    # Rounding must not lift the bound above the truth.
    left: Floats = np.concatenate([total, total - np.cumsum(gone, axis=1)], axis=1)
    return np.asarray(left - 1e-12 * total)


def _hand_over_after(network: Network, batch: Batch, level: int, order: Order, rows: Ints, steps: Ints) -> Floats:
    """Return the hand-over's minutes of ``rows`` after so many remedies of their order failed."""
    a = network.arrays
    tried = _tried(order, rows, steps, len(network.remedies))
    after = batch.take(rows)
    if a.disjoint:
        weight = after.weight * (1 - tried @ a.cures)
    else:
        stays = np.where(tried[:, :, None], 1 - a.cures, 1.0)
        weight = after.weight * stays.prod(axis=1)
    return hand_over(network, Batch(weight, after.spent, after.used | tried, after.shut, after.seen), level)


def _tried(order: Order, rows: Ints, steps: Ints, remedies: int) -> Bools:
    tried = np.zeros((len(rows), remedies), dtype=bool)
    line = np.arange(len(rows))[:, None]
    tried[line, order.remedies[rows]] = np.arange(order.remedies.shape[1]) < steps[:, None]
    return tried
