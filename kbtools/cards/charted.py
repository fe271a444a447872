"""From a compiled chart, which is numbers alone, to the numbered boxes of a card."""

from __future__ import annotations

import heapq
from collections.abc import Hashable
from itertools import count

from kbtools.cards.procedure import Box, Exit, Procedure
from kbtools.diagnosis.chart import Chart, Node
from kbtools.diagnosis.network import Network

_Leads = tuple[tuple[int, ...], Node | None]
"""Remedies to try in order, and the node after them; None when all is cured."""


def from_chart(chart: Chart, who: str) -> Procedure:
    """The chart's checks as boxes, the likeliest first, so that a short card holds what most cases need.

    Remedies that follow each other, and the hand-over behind them, become part of the way that leads to them. Branches that
    go on alike share their boxes.
    """
    numbers: dict[Hashable, int] = {}
    waiting: list[tuple[float, int, Node]] = []
    order: list[Node] = []
    ticket = count()

    def want(node: Node) -> None:
        if node.kind in ("check", "remedy"):
            heapq.heappush(waiting, (-node.probability, next(ticket), node))

    want(chart.root)
    while waiting:
        _, _, node = heapq.heappop(waiting)
        if _key(node) in numbers:
            continue
        order.append(node)
        numbers[_key(node)] = len(order)
        for branch in node.branches:
            rest = leads(branch.node)[1]
            if rest is not None:
                want(rest)
    boxes = tuple(_box(chart.network, node, number, numbers) for number, node in enumerate(order, 1))
    return Procedure(who, boxes, chart.minutes, chart.settled)


def _key(node: Node) -> Hashable:
    """What a node and all that follows it ask for, whatever the odds of coming here."""
    return node.kind, node.index, tuple((b.outcome, b.cures, _key(b.node) if b.node else None) for b in node.branches)


def leads(node: Node | None) -> _Leads:
    """The remedies at the head of a node, and the first check or hand-over behind them."""
    remedies: list[int] = []
    while node is not None and node.kind == "remedy":
        remedies.append(node.index)
        node = node.branches[0].node if node.branches else None
    return tuple(remedies), None if node is None or node.kind == "done" else node


def _box(network: Network, node: Node, number: int, numbers: dict[Hashable, int]) -> Box:
    if node.kind == "remedy":
        return _remedy_box(network, node, number, numbers)
    check = network.checks[node.index]
    branches = {branch.outcome: branch for branch in node.branches}
    exits = []
    for index, outcome in enumerate(check.outcomes):
        branch = branches.get(index)
        exits.append(_exit(network, outcome, branch.node if branch else None, bool(branch and branch.cures), numbers))
    return Box(number, "check", check.id, tuple(exits))


def _remedy_box(network: Network, node: Node, number: int, numbers: dict[Hashable, int]) -> Box:
    """A chart may begin with a remedy: what follows when it fails is the way on."""
    after = node.branches[0].node if node.branches else None
    exits = (Exit("cured", done=True), _exit(network, "not-cured", after, False, numbers))
    return Box(number, "remedy", _cause(network, node.index), exits)


def _exit(network: Network, outcome: str, node: Node | None, cures: bool, numbers: dict[Hashable, int]) -> Exit:
    remedies, rest = leads(node)
    following = numbers[_key(rest)] if rest is not None and rest.kind == "check" else None
    return Exit(outcome, following, tuple(_cause(network, r) for r in remedies), cures)


def _cause(network: Network, remedy: int) -> str:
    """The first of this symptom's causes that a remedy cures; the remedy may be written under a cause of another one."""
    cures = network.remedies[remedy].cures
    return next(
        (cause for cause, odds in zip(network.causes, cures, strict=True) if odds > 0), network.remedies[remedy].id
    )
