"""Rules about symptoms."""

from __future__ import annotations

from collections.abc import Iterator

from kbtools.library import Library
from kbtools.rules.registry import Finding, rule

FEWEST_PHRASES = 3
"""Callers' phrases that a symptom needs to be found (measured: each of the first three adds about four points)."""


@rule("symptom-without-causes")
def symptom_without_causes(library: Library) -> Iterator[Finding]:
    """A symptom lists at least one cause.

    Without causes there is nothing to find out and nothing to mend.

    Fails:

        corner-sinks: {title: One corner sinks}

    Passes:

        corner-sinks: {title: One corner sinks, causes: [soft-ground]}
    """
    for symptom in library.symptoms.values():
        if not symptom.causes:
            yield Finding(
                library.at("symptom", symptom.id, ("causes",), key=True),
                f"the symptom {symptom.id} lists 0 causes, at least 1 is needed",
                "List its causes, most common first.",
            )


@rule("too-few-phrases")
def too_few_phrases(library: Library) -> Iterator[Finding]:
    """A symptom has at least three callers' phrases.

    People search in their own words; phrases carry most of the search.

    Fails:

        heard_as: [it leaks]

    Passes:

        heard_as: [it leaks, there is a puddle under it, oil on the pad]
    """
    for symptom in library.symptoms.values():
        count = len({phrase.casefold() for phrase in symptom.heard_as})
        if count < FEWEST_PHRASES:
            yield Finding(
                library.at("symptom", symptom.id, ("heard_as",), key=True),
                f"the symptom {symptom.id} has {count} different callers' phrases, at least {FEWEST_PHRASES} are needed",
                "Add what callers say, in different people's words.",
            )


@rule("cause-listed-twice")
def cause_listed_twice(library: Library) -> Iterator[Finding]:
    """A symptom lists a cause once.

    The rank is the prior; a cause cannot have two.

    Fails:

        causes: [soft-ground, worn-seal, soft-ground]

    Passes:

        causes: [soft-ground, worn-seal]
    """
    for symptom in library.symptoms.values():
        seen: dict[str, int] = {}
        for index, ranked in enumerate(symptom.causes):
            if ranked.cause in seen:
                yield Finding(
                    library.at("symptom", symptom.id, ("causes", index)),
                    f"the cause {ranked.cause} stands at ranks {seen[ranked.cause] + 1} and {index + 1}",
                    "Keep the rank that is right.",
                )
            seen.setdefault(ranked.cause, index)


@rule("shares-leave-nothing")
def shares_leave_nothing(library: Library) -> Iterator[Finding]:
    """Shares and the unlisted part stay below 100 per cent while a cause has no share.

    Causes without a share divide what is left by rank. If nothing is left, they could never be the cause.

    Fails:

        causes: [{cause: soft-ground, share: 70}, {cause: worn-seal, share: 30}, bent-leg]

    Passes:

        causes: [{cause: soft-ground, share: 60}, {cause: worn-seal, share: 20}, bent-leg]
    """
    for symptom in library.symptoms.values():
        without = [ranked.cause for ranked in symptom.causes if ranked.share is None]
        total = sum(ranked.share or 0 for ranked in symptom.causes) + symptom.unlisted
        if without and total >= 100:
            yield Finding(
                library.at("symptom", symptom.id, ("causes",), key=True),
                f"shares and unlisted add up to {total:g} per cent; {', '.join(without)} would get nothing (limit: below 100)",
                "Lower a share, or give every cause one.",
            )


@rule("dangerous-without-first")
def dangerous_without_first(library: Library) -> Iterator[Finding]:
    """A dangerous symptom opens with a precaution.

    A symptom is dangerous when it has stop signs or a hazard of death or serious harm. Its first words make people safe.

    Fails:

        stop_if: [{sign: The leg slides, then: get-clear}]

    Passes:

        first: [everybody-off]
        stop_if: [{sign: The leg slides, then: get-clear}]
    """
    for symptom in library.symptoms.values():
        if library.dangerous(symptom.id) and not symptom.first:
            yield Finding(
                library.at("symptom", symptom.id, key=True),
                f"the symptom {symptom.id} is dangerous and has no `first` precaution",
                "Name the precaution that comes before everything else.",
            )


@rule("serial-range-empty")
def serial_range_empty(library: Library) -> Iterator[Finding]:
    """A range of serial numbers begins below its end, and below the largest number of its type's digits.

    An empty range applies to nothing, so its entry would vanish.

    Fails:

        applies_to: [{type: w6, from: 20500, below: 20500}]

    Passes:

        applies_to: [{type: w6, from: 20500, below: 20900}]
    """
    for kind in ("symptom", "cause", "check"):
        for ident, entry in library.entries[kind].items():
            for index, part in enumerate(getattr(entry, "applies_to", ())):
                if part.from_ is not None and part.below is not None and part.from_ >= part.below:
                    yield Finding(
                        library.at(kind, ident, ("applies_to", index)),
                        f"the serial range from {part.from_} below {part.below} is empty",
                        "`from` is included, `below` is not.",
                    )
                digits = library.types[part.type].serial_digits if part.type in library.types else 0
                if digits and part.from_ is not None and part.from_ >= 10**digits:
                    yield Finding(
                        library.at(kind, ident, ("applies_to", index)),
                        f"no serial number reaches {part.from_}: those of {part.type} have {digits} digits",
                        f"Mend the number, or the `serial_digits` of the type {part.type}.",
                    )
