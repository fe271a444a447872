"""What an owner may check and mend for a symptom, and the short procedure of it that goes on paper.

The networks are those of `kbtools.owner.networks_for_owner`, the library is the owner's: what is for others has no name here.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from kbtools.cards.charted import leads
from kbtools.cards.procedure import Box, Exit, Procedure
from kbtools.diagnosis.chart import ANY, Branch, Chart, Node
from kbtools.diagnosis.network import Network
from kbtools.library import Library
from kbtools.model import Cause, Check, Remedy

QUESTIONS = 6
"""Questions on paper at most: who needs more of them should be on the telephone."""


@dataclass(frozen=True)
class Mending:
    """A remedy that an owner may do, the id of the cause under which it is written, and the causes that it mends here."""

    id: str
    remedy: Remedy
    causes: tuple[Cause, ...]


def checks_of(library: Library, network: Network) -> tuple[Check, ...]:
    """The checks that an owner may do, those that settle most per minute first, none before one that it must follow."""

    def worth(number: int) -> float:
        check = network.checks[number]
        told = sum(p * (1 - q) for p, q in zip(network.prior[:-1], check.rows[check.normal], strict=False))
        reach = network.reach_minutes[check.place] if check.place >= 0 else 0.0
        return told / (check.minutes + reach)

    placed: dict[int, Check] = {}

    def place(number: int) -> None:
        for earlier in network.checks[number].only_after:
            if earlier not in placed:
                place(earlier)
        placed.setdefault(number, library.checks[network.checks[number].id])

    known = [i for i, check in enumerate(network.checks) if check.id in library.checks]
    for number in sorted(known, key=lambda i: -worth(i)):
        place(number)
    return tuple(placed.values())


def mendings_of(library: Library, network: Network) -> tuple[Mending, ...]:
    """The remedies that an owner may do for this symptom, those that help most often per minute first."""
    found = []
    for remedy in network.remedies:
        action = library.remedy_of(remedy.id) if remedy.id in library.causes else None
        if action is not None:
            mended = [i for i, cures in enumerate(remedy.cures) if cures]
            causes = tuple(library.causes[network.causes[i]] for i in mended)
            under = library.remedy_owner(remedy.id) or remedy.id
            found.append((sum(network.prior[i] for i in mended) / remedy.minutes, Mending(under, action, causes)))
    return tuple(mending for _, mending in sorted(found, key=lambda pair: -pair[0]))


def may_mend(checks: tuple[Check, ...], mendings: tuple[Mending, ...]) -> bool:
    """True when anything that an owner may do can end the trouble."""
    return bool(mendings) or any(outcome.fixed for check in checks for outcome in check.outcomes.values())


def short_procedure(chart: Chart, who: str) -> Procedure:
    """The part of a compiled chart that an owner meets to whom everything looks as it should, and where other answers lead.

    A whole chart asks an owner the same question under several numbers, because what is for others ends in many small
    branches. Here each question stands once: an answer leads to remedies, on to a later question, or to a call.
    """
    network = chart.network
    before, node = leads(chart.root)
    asked: list[Node] = []
    while node is not None and node.kind == "check" and len(asked) < QUESTIONS:
        asked.append(node)
        node = leads(_after(node, network.checks[node.index].normal).node)[1]
    first = 2 if before else 1
    numbers = {check.index: number for number, check in enumerate(asked, first)}
    boxes = [_question(network, check, numbers) for check in asked]
    if before:
        tried = [network.remedies[r].id for r in before]
        rest = Exit("not-cured", 2 if asked else None, tuple(tried[1:]))
        boxes.insert(0, Box(1, "remedy", tried[0], (Exit("cured", done=True), rest)))
    return Procedure(who, tuple(boxes))


def _question(network: Network, node: Node, numbers: Mapping[int, int]) -> Box:
    check, own, exits = network.checks[node.index], numbers[node.index], []
    for index, outcome in enumerate(check.outcomes):
        branch = _after(node, index)
        remedies, rest = leads(branch.node)
        following = numbers.get(rest.index, 0) if rest is not None and rest.kind == "check" else 0
        tried = dict.fromkeys(network.remedies[r].id for r in remedies)
        exits.append(Exit(outcome, following if following > own else None, tuple(tried), branch.cures))
    return Box(own, "check", check.id, tuple(exits))


def _after(node: Node, outcome: int) -> Branch:
    """The branch of an outcome; one without a branch of its own leads to somebody else."""
    return next((b for b in node.branches if b.outcome in (outcome, ANY)), Branch(outcome, 0.0, False, None))
