"""Rules about causes and what mends them."""

from __future__ import annotations

from collections.abc import Iterator

from kbtools.library import Library
from kbtools.rules.registry import Finding, rule


@rule("protective-without-look-for")
def protective_without_look_for(library: Library) -> Iterator[Finding]:
    """The cause of a protective part says what to look for.

    A fuse or thermal switch opens for a reason. Who replaces it without finding the reason starts a fire, or comes back
    tomorrow.

    Fails:

        fuse-open: {part: fuse-f3, remedy: {…}}      # fuse-f3 is protective

    Passes:

        fuse-open: {part: fuse-f3, look_for: A chafed wire between the fuse and the panel., remedy: {…}}
    """
    for cause in library.causes.values():
        part = library.parts.get(cause.part or "")
        if part and part.protective and not cause.look_for:
            yield Finding(
                library.at("cause", cause.id, key=True),
                f"{part.id} protects, and the cause {cause.id} does not say why it opened",
                "Add look_for: the reason to look for before it is replaced.",
            )


@rule("proof-above-person")
def proof_above_person(library: Library) -> Iterator[Finding]:
    """Whoever may do a remedy may also do the check that proves it.

    Else the remedy ends without proof, or somebody does what they may not.

    Fails:

        remedy: {who: owner, prove_by: rail-pressure, …}     # a technician's check

    Passes:

        remedy: {who: owner, prove_by: lamp-out, …}          # an owner's check
    """
    for cause in library.causes.values():
        if library.remedy_owner(cause.id) != cause.id:
            continue
        remedy = library.remedy_of(cause.id)
        check = library.checks.get(remedy.prove_by.check or "") if remedy else None
        if remedy and check and library.rank(check.who) > library.rank(remedy.who):
            yield Finding(
                library.at("cause", cause.id, ("remedy", "prove_by")),
                f"the remedy is for {remedy.who}, its proof {check.id} only for {check.who}",
                "Prove it by something that the same person may do.",
            )
