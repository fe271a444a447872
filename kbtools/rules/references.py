"""Rules about names that lead somewhere, and entries that nothing leads to."""

from __future__ import annotations

from collections.abc import Iterator

from kbtools.library import Library
from kbtools.problem import Position, did_you_mean
from kbtools.rules.registry import Finding, rule


@rule("unknown-reference")
def unknown_reference(library: Library) -> Iterator[Finding]:
    """Every id that an entry names belongs to an entry.

    A reference that leads nowhere is a gap in a trace or a dead link.

    Fails:

        causes: [soft-grond]

    Passes:

        causes: [soft-ground]
    """
    for ref in library.references:
        if _is_unknown(library, ref.to_kind, ref.to_id):
            by_folder = ref.to_kind == "system" and ref.path == ()
            at = library.at(ref.kind, ref.id, ref.path, key=by_folder or ref.path[-1:] == (ref.to_id,))
            told = "The folder names the system. " if by_folder else ""
            yield _unknown(library, at, ref.to_kind, ref.to_id, told)
    for name in library.named_in_refused:
        if _is_unknown(library, name.kind, name.id):
            yield _unknown(library, name.at, name.kind, name.id)


def _is_unknown(library: Library, kind: str, ident: str) -> bool:
    return ident not in library.may_declare and ident not in library.declared(kind)


def _unknown(library: Library, at: Position, kind: str, ident: str, told: str = "") -> Finding:
    declared = library.declared(kind)
    hint = did_you_mean(ident, declared) or f"Write an entry for it, or use one of the {len(declared)} known ids."
    return Finding(at, f"there is no {kind} {ident!r}", told + hint)


@rule("unused-cause", "warning")
def unused_cause(library: Library) -> Iterator[Finding]:
    """Every cause is in the list of at least one symptom.

    A cause that no symptom lists is never reached.

    Fails:

        symptoms: {corner-sinks: {causes: [soft-ground]}}
        causes: {soft-ground: {…}, worn-seal: {…}}

    Passes:

        symptoms: {corner-sinks: {causes: [soft-ground, worn-seal]}}
        causes: {soft-ground: {…}, worn-seal: {…}}
    """
    for cause in library.causes:
        if not library.named_by("cause", cause, "symptom") and cause not in library.mentioned:
            yield Finding(
                library.at("cause", cause, key=True),
                f"no symptom lists the cause {cause}",
                "Add it to a symptom's causes, or delete it.",
            )


@rule("unused-check", "warning")
def unused_check(library: Library) -> Iterator[Finding]:
    """Every check names at least one cause in `seen_with`, or proves a remedy.

    A check that speaks about no cause tells nothing apart.

    Fails:

        outcomes: {yes-it-does: {label: Yes, normal: true}, no-it-does-not: {label: No}}

    Passes:

        outcomes:
          yes-it-does: {label: Yes, normal: true}
          no-it-does-not: {label: No, seen_with: {loose-plug: usually}}
    """
    for check in library.checks.values():
        speaks = any(outcome.seen_with for outcome in check.outcomes.values())
        if not speaks and not library.named_by("check", check.id, "cause") and check.id not in library.mentioned:
            yield Finding(
                library.at("check", check.id, key=True),
                f"the check {check.id} names no cause",
                "Say under seen_with which causes show which outcome.",
            )


@rule("unused-equipment", "warning")
def unused_equipment(library: Library) -> Iterator[Finding]:
    """Every hazard, tool, place, precaution and state is used by some entry.

    What nothing uses is a leftover, or a safety text that somebody forgot to name where it is due.

    Fails:

        hazards: {hot-oil: {…}}      # and no entry names it

    Passes:

        hazards: {hot-oil: {…}}
        places: {pump-bay: {hazards: [hot-oil], …}}
    """
    for kind in ("hazard", "tool", "place", "precaution", "state"):
        for ident in library.entries[kind]:
            if not library.backlinks(kind, ident) and ident not in library.mentioned:
                yield Finding(
                    library.at(kind, ident, key=True),
                    f"nothing uses the {kind} {ident}",
                    "Name it where it is due, or delete it.",
                )


@rule("unread-file", "warning")
def unread_file(library: Library) -> Iterator[Finding]:
    """Every file under the content folder is one that the manual reads.

    A topic in the wrong folder, or with the ending .yaml, would be silently left out.

    Fails:

        content/topics/corner-sinks.yml

    Passes:

        content/topics/legs/corner-sinks.yml
    """
    for name in library.unread:
        yield Finding(
            Position(name),
            f"nothing reads the file {name}",
            "Topics stand at topics/<system>/<topic>.yml, equipment at equipment/<name>.yml, pages under pages/.",
        )


@rule("remedy-in-a-circle")
def remedy_in_a_circle(library: Library) -> Iterator[Finding]:
    """`same_as` leads to a remedy.

    Two causes that point at each other have no remedy at all.

    Fails:

        fuse-blown: {remedy: {same_as: fuse-loose}}
        fuse-loose: {remedy: {same_as: fuse-blown}}

    Passes:

        fuse-blown: {remedy: {same_as: fuse-loose}}
        fuse-loose: {remedy: {who: technician, …}}
    """
    for cause in library.causes.values():
        if library.remedy_owner(cause.id) is None and _leads_on(library, cause.id):
            yield Finding(
                library.at("cause", cause.id, ("remedy", "same_as")),
                f"the remedy of {cause.id} leads back to itself",
                "Write the remedy out in one of the causes of this circle.",
            )


def _leads_on(library: Library, cause: str) -> bool:
    """True when every same_as on the way exists, so that only a circle is left."""
    seen: set[str] = set()
    while cause not in seen:
        seen.add(cause)
        if cause not in library.causes:
            return False
        cause = getattr(library.causes[cause].remedy, "same_as", cause)
    return True
