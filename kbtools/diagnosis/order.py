"""The order in which remedies are tried when no check is asked: by probability ÷ cost, place by place.

Kadane and Simon (1975), Kalagnanam and Henrion (1990): for one fault and independent remedies the order by
probability ÷ cost costs least. A place must be reached once, so its first remedy also pays the way.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from kbtools.diagnosis.batch import TIE, Batch
from kbtools.diagnosis.network import Bools, Floats, Ints, Network

NEGLIGIBLE = 1e-12  # of the situation: no reason for a remedy


@dataclass(frozen=True)
class Order:
    """For N situations the remedies in order, and what stopping after each of them means.

    ``spent`` is the minutes so far times mass, infinite beyond the last remedy worth trying; ``left`` is the
    mass not cured yet.
    """

    remedies: Ints  # N S
    spent: Floats  # N S+1
    left: Floats  # N S+1


def in_order(network: Network, batch: Batch, level: int) -> Order:
    """Return the greedy order of the remedies open to a level: largest probability ÷ (minutes + reach) first.

    A remedy that must come after checks not done yet also counts the minutes of those checks.
    """
    a = network.arrays
    usable = (a.remedy_level <= level) & ~batch.used & ~batch.shut
    base = np.maximum(a.remedy_minutes + _gate_minutes(network, batch, level), TIE)
    if a.disjoint:
        return _sorted(network, batch, usable, base)
    return _stepwise(network, batch, usable, base)


def by_remedy(network: Network, values: Floats) -> Floats:
    """Return what each remedy takes of values per cause (N C → N R)."""
    a = network.arrays
    return values[:, a.own_cause] if a.own_cause is not None else np.asarray(values @ a.cures.T)


def _gate_minutes(network: Network, batch: Batch, level: int) -> Floats:
    a = network.arrays
    if not a.remedy_gates.any():
        return np.zeros((1, len(network.remedies)))
    gates = a.remedy_gates & (a.check_level <= level)
    return np.asarray(~batch.spent @ (gates * a.check_minutes).T)


def _sorted(network: Network, batch: Batch, usable: Bools, base: Floats) -> Order:
    """Return the order where every cause has one remedy at most: one sort does it.

    At a place still to be reached, the remedy of the best ratio (way included) comes first; another one whose
    own ratio is higher then follows at once, so its ratio is cut to just below that of the first.
    """
    a = network.arrays
    mass = batch.mass
    cured = np.where(usable, by_remedy(network, batch.weight), 0.0)
    cured[cured <= NEGLIGIBLE * mass[:, None]] = 0.0
    cost = np.array(np.broadcast_to(base, cured.shape))
    ratio = cured / cost
    for place, members in a.remedies_at:
        _put_the_way(~batch.seen[:, place], members, cured, ratio, cost, float(a.reach[place]))
    best = ratio.max(axis=1, initial=0.0)
    line = np.arange(len(mass))
    if ratio.shape[1]:
        ratio[line, np.argmax(ratio >= (best * (1 - TIE))[:, None], axis=1)] *= 2
    order = np.argsort(-ratio, axis=1, kind="stable")
    at = line[:, None]
    gone = cured[at, order]
    left = np.concatenate([mass[:, None], mass[:, None] - np.cumsum(gone, axis=1)], axis=1)
    spent = np.zeros_like(left)
    np.cumsum(left[:, :-1] * cost[at, order], axis=1, out=spent[:, 1:])
    spent[:, 1:][gone <= 0] = np.inf
    return Order(order, spent, np.maximum(left, 0.0))


def _put_the_way(far: Bools, members: Ints, cured: Floats, ratio: Floats, cost: Floats, reach: float) -> None:
    """Put the way to one place on its first remedy, in place, where it is still ``far``."""
    if not far.any():
        return
    line = np.arange(len(far))
    near = ratio[:, members]
    with_way = cured[:, members] / (cost[:, members] + reach)
    first = np.argmax(with_way, axis=1)
    lead = with_way[line, first][:, None]
    cut = lead * (1 - TIE * (2 + lead / np.maximum(near, 1e-300)))  # further below than a tie
    new = np.minimum(near, cut)
    new[line, first] = lead[:, 0]
    ratio[:, members] = np.where(far[:, None], new, near)
    cost[line, members[first]] += reach * far


def _stepwise(network: Network, batch: Batch, usable: Bools, base: Floats) -> Order:
    """Return the order where remedies share causes or cure only in part: odds anew at each step."""
    a = network.arrays
    line = np.arange(len(batch))
    weight, seen = batch.weight, batch.seen.copy()
    mass = batch.mass
    taken = np.zeros_like(usable)
    order, spent, left = [], [np.zeros(len(batch))], [mass]
    for _ in network.remedies:
        cured = weight @ a.cures.T
        cost = base + a.reach[a.remedy_place] * ~seen[:, a.remedy_place]
        ratio = np.where(usable & (cured > NEGLIGIBLE * mass[:, None]), cured / cost, -1.0)
        ratio[taken] = -2.0
        best = ratio.max(axis=1)
        pick = np.argmax(ratio >= (best - TIE * np.abs(best))[:, None], axis=1)
        spent.append(np.where(best > 0, spent[-1] + left[-1] * cost[line, pick], np.inf))
        weight = weight * (1 - a.cures[pick] * (best > 0)[:, None])
        taken[line, pick] = True
        seen[line, a.remedy_place[pick]] = True
        order.append(pick)
        left.append(weight.sum(axis=1))
    remedies = np.stack(order, axis=1) if order else np.zeros((len(batch), 0), dtype=np.intp)
    return Order(remedies, np.stack(spent, axis=1), np.stack(left, axis=1))
