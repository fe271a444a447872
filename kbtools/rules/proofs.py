"""Rules about traces: what the checks of a symptom can prove at all."""

from __future__ import annotations

from collections.abc import Iterator

from kbtools.diagnosis.build import network_of
from kbtools.diagnosis.network import Network
from kbtools.library import Library
from kbtools.model import Applies, AppliesTo, Symptom
from kbtools.rules.registry import Finding, rule

APART = 0.25
"""Two causes are told apart by a check when their rows differ by so much in total variation."""
ALIKE = 1e-9


def _networks(library: Library) -> Iterator[tuple[Symptom, Network]]:
    """The network of every symptom of which nothing was refused and whose shares add up."""
    for symptom in library.symptoms.values():
        if any(item.cause not in library.causes for item in symptom.causes):
            continue
        try:
            yield symptom, network_of(library, symptom.id)
        except ValueError:
            continue


def _variation(network: Network, check: int, one: int, other: int) -> float:
    """How far apart two causes' rows are: half the sum of the differences, from 0 to 1."""
    return sum(abs(row[one] - row[other]) for row in network.checks[check].rows) / 2


def _meet(one: AppliesTo, other: AppliesTo) -> bool:
    """True when some unit has both: no limits, or ranges of one type that overlap."""
    return not one or not other or any(_overlap(a, b) for a in one for b in other)


def _overlap(one: Applies, other: Applies) -> bool:
    starts = one.from_ or 0, other.from_ or 0
    ends = [end for end in (one.below, other.below) if end is not None]
    return one.type == other.type and (not ends or max(starts) < min(ends))


def _groups(network: Network, library: Library) -> Iterator[list[int]]:
    """Causes that no check tells from the first of their group, unless one remedy mends them or no unit has both."""
    listed = range(len(network.causes) - 1)
    seen: set[int] = set()
    for one in listed:
        alike = [
            other
            for other in listed
            if other > one
            and other not in seen
            and library.remedy_owner(network.causes[one]) != library.remedy_owner(network.causes[other])
            and _meet(library.causes[network.causes[one]].applies_to, library.causes[network.causes[other]].applies_to)
            and all(_variation(network, k, one, other) < APART for k in range(len(network.checks)))
        ]
        if one not in seen and alike:
            seen |= {one, *alike}
            yield [one, *alike]


@rule("causes-not-told-apart", "warning")
def causes_not_told_apart(library: Library) -> Iterator[Finding]:
    """Two causes of a symptom that one unit can have differ in some check, or share their remedy.

    Otherwise a trace can only try one remedy after the other. They differ when the likelihoods of one check's
    outcomes are at least 0.25 apart in total variation (half the sum of the differences).

    Fails:

        outcomes: {silent: {seen_with: {switch-broken: usually, wire-broken: usually}}}

    Passes:

        outcomes: {silent: {seen_with: {switch-broken: usually}}}
    """
    for symptom, network in _networks(library):
        for group in _groups(network, library):
            names = [network.causes[cause] for cause in group]
            if library.mentioned.intersection(names):
                continue
            ranked = [item.cause for item in symptom.causes]
            yield Finding(
                library.at("symptom", symptom.id, ("causes", ranked.index(names[0]))),
                f"no check of {symptom.id} tells {' and '.join(names)} apart: all differ by under {APART:g}",
                "Add a check that one of them shows and the other does not, or give them one remedy with same_as.",
            )


@rule("check-tells-nothing", "warning")
def check_tells_nothing(library: Library) -> Iterator[Finding]:
    """A check turns out differently for at least two causes of some symptom.

    When all causes of a symptom show its outcomes alike, doing it changes nothing.

    Fails:

        outcomes: {dark: {seen_with: {fuse-open: always, switch-broken: always}}, lit: {normal: true}}

    Passes:

        outcomes: {dark: {seen_with: {fuse-open: always}}, lit: {normal: true}}
    """
    used: set[str] = set()
    telling: set[str] = set()
    for _, network in _networks(library):
        listed = range(1, len(network.causes) - 1)
        if not listed:
            continue
        used |= {check.id for check in network.checks}
        telling |= {
            check.id
            for k, check in enumerate(network.checks)
            if any(_variation(network, k, 0, cause) > ALIKE for cause in listed)
        }
    for ident in library.checks:
        named = {cause.id for cause in library.causes_of_check(ident)}
        if ident in used - telling and named and not library.mentioned.intersection({ident, *named}):
            yield Finding(
                library.at("check", ident, ("outcomes",), key=True),
                f"the check {ident} turns out the same for all causes of every symptom where it is used",
                "Name in seen_with only the causes that really show each outcome, or remove the check.",
            )


@rule("only-after-passed-over", "warning")
def only_after_passed_over(library: Library) -> Iterator[Finding]:
    """What comes only after a check never comes without it.

    A person does not wait for a check that only higher people may do, nor for one that the symptom shuts out
    with only_checks: the remedy would be tried on a mere guess.

    Fails:

        remedy: {who: owner, only_after: [pressure-at-port]} # a check for technicians

    Passes:

        remedy: {who: technician, only_after: [pressure-at-port]}
    """
    yield from _above(library)
    yield from _shut_out(library)


def _above(library: Library) -> Iterator[Finding]:
    actions = [("check", check.id, check, ()) for check in library.checks.values()]
    remedies = [
        ("cause", cause, remedy, ("remedy",))
        for cause in library.causes
        if library.remedy_owner(cause) == cause and (remedy := library.remedy_of(cause))
    ]
    for kind, ident, action, path in (*actions, *remedies):
        for i, gate in enumerate(action.only_after):
            if gate in library.checks and library.rank(library.checks[gate].who) > library.rank(action.who):
                yield Finding(
                    library.at(kind, ident, (*path, "only_after", i)),
                    f"{ident} is for {action.who}, but the check {gate} that comes first is for {library.checks[gate].who}",
                    f"Let {library.checks[gate].who} do both, or name a check that {action.who} may do.",
                )


def _shut_out(library: Library) -> Iterator[Finding]:
    for symptom in library.symptoms.values():
        waiting: dict[str, list[str]] = {}
        for item in symptom.causes if symptom.only_checks else ():
            remedy = library.remedy_of(item.cause)
            for gate in remedy.only_after if remedy else ():
                if gate in library.checks and gate not in symptom.only_checks:
                    waiting.setdefault(gate, []).append(item.cause)
        for gate, causes in waiting.items():
            named = ", ".join(causes)
            yield Finding(
                library.at("symptom", symptom.id, ("only_checks",), key=True),
                f"{symptom.id} shuts out the check {gate}, without which nothing may be mended for {named}",
                f"Add {gate} to only_checks, or take {named} from this symptom's causes.",
            )
