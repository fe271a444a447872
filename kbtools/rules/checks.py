"""Rules about checks and their outcomes."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator

from kbtools.entries import ID
from kbtools.library import Library
from kbtools.model import LIKELIHOODS, Check, Outcome
from kbtools.rules.registry import Finding, rule

LIKELIHOOD_BOUNDS = (0.001, 0.999)
"""Nothing is ever certain: a 0 or 1 could never be taken back by later evidence."""
ROW_LIMIT = 1.3
"""Largest sum of the likelihoods that one cause has over the outcomes of a check."""


@rule("too-few-outcomes")
def too_few_outcomes(library: Library) -> Iterator[Finding]:
    """A check has at least two outcomes.

    A check that can only turn out one way tells nothing.

    Fails:

        outcomes: {good: {label: It is good, normal: true}}

    Passes:

        outcomes: {good: {label: It is good, normal: true}, bad: {label: It is not}}
    """
    for check in library.checks.values():
        if len(check.outcomes) < 2:
            yield Finding(
                library.at("check", check.id, ("outcomes",), key=True),
                f"the check {check.id} has {len(check.outcomes)} outcomes, at least 2 are needed",
                "Write down the other way it can turn out.",
            )


@rule("not-one-normal")
def not_one_normal(library: Library) -> Iterator[Finding]:
    """Exactly one outcome of a check is normal.

    It is what equipment shows that is well in this respect, and what every cause shows that the check does not name.

    Fails:

        outcomes: {good: {label: Good}, bad: {label: Bad}}

    Passes:

        outcomes: {good: {label: Good, normal: true}, bad: {label: Bad}}
    """
    for check in library.checks.values():
        normal = [ident for ident, outcome in check.outcomes.items() if outcome.normal]
        if len(normal) != 1:
            named = f": {', '.join(normal)}" if normal else ""
            yield Finding(
                library.at("check", check.id, ("outcomes",), key=True),
                f"the check {check.id} has {len(normal)} normal outcomes{named}; exactly 1 is needed",
                "Mark the outcome of equipment that is well with normal: true.",
            )


@rule("outcome-id")
def outcome_id(library: Library) -> Iterator[Finding]:
    """Outcome ids are kebab-case, and none of them is x.

    They are typed as answers in a trace, where x means "cannot do".

    Fails:

        outcomes: {x: {label: No light}, On: {label: Light, normal: true}}

    Passes:

        outcomes: {dark: {label: No light}, lit: {label: Light, normal: true}}
    """
    for check in library.checks.values():
        for ident in check.outcomes:
            if not ID.fullmatch(ident) or ident == "x":
                yield Finding(
                    library.at("check", check.id, ("outcomes", ident), key=True),
                    f"the outcome id {ident!r} is not usable",
                    "Small letters and digits joined by hyphens, a letter first, and not x.",
                )


@rule("outcome-without-label")
def outcome_without_label(library: Library) -> Iterator[Finding]:
    """An outcome has a label or a range.

    The reader chooses by it.

    Fails:

        outcomes: {good: {normal: true}, bad: {seen_with: {loose-plug: usually}}}

    Passes:

        outcomes: {good: {from: 24, normal: true}, bad: {below: 24, seen_with: {loose-plug: usually}}}
    """
    for check in library.checks.values():
        for ident, outcome in check.outcomes.items():
            if outcome.label is None and not _has_range(outcome):
                yield Finding(
                    library.at("check", check.id, ("outcomes", ident), key=True),
                    f"the outcome {ident} has neither a label nor a range",
                    "Write label: and what is seen.",
                )


@rule("range-without-reading")
def range_without_reading(library: Library) -> Iterator[Finding]:
    """Outcomes with a range belong to a check with a reading.

    A range without quantity and unit cannot be read or typed.

    Fails:

        outcomes: {good: {from: 24, normal: true}, low: {below: 24}}

    Passes:

        reading: {quantity: voltage, unit: V, point: tp1}
        outcomes: {good: {from: 24, normal: true}, low: {below: 24}}
    """
    for check in library.checks.values():
        if check.reading is None and any(_has_range(outcome) for outcome in check.outcomes.values()):
            yield Finding(
                library.at("check", check.id, ("outcomes",), key=True),
                f"the check {check.id} has ranges but no reading",
                "Add reading: {quantity: …, unit: …}.",
            )


@rule("ranges-do-not-cover")
def ranges_do_not_cover(library: Library) -> Iterator[Finding]:
    """The ranges of a check cover every reading once: no gap, no overlap, no end left open.

    Ranges are half-open (`from` ≤ reading < `below`). A reading in a gap would leave the reader without an answer.

    Fails:

        outcomes: {good: {from: 24, normal: true}, low: {below: 23}}

    Passes:

        outcomes: {good: {from: 24, normal: true}, low: {below: 24}}
    """
    for check in library.checks.values():
        ranged = [(ident, o) for ident, o in check.outcomes.items() if _has_range(o)]
        if ranged:
            yield from _cover(library, check, ranged)


def _cover(library: Library, check: Check, ranged: list[tuple[str, Outcome]]) -> Iterator[Finding]:
    unit = f" {check.reading.unit}" if check.reading else ""
    spans = sorted((_span(outcome), ident) for ident, outcome in ranged)
    for (low, high), ident in spans:
        if low >= high:
            at = library.at("check", check.id, ("outcomes", ident), key=True)
            yield Finding(
                at, f"the range of {ident} is empty: from {low:g} below {high:g}{unit}", "Swap the two numbers."
            )
            return
    ends: list[tuple[float, float, str, str]] = [
        (-math.inf, spans[0][0][0], "", spans[0][1]),
        *((a[0][1], b[0][0], a[1], b[1]) for a, b in itertools.pairwise(spans)),
        (spans[-1][0][1], math.inf, spans[-1][1], ""),
    ]
    for end, start, before, after in ends:
        if end == start:
            continue
        at = library.at("check", check.id, ("outcomes", after or before), key=True)
        if end > start:
            message = f"{before} (below {end:g}{unit}) and {after} (from {start:g}{unit}) overlap"
            yield Finding(
                at,
                message.replace("below inf", "without end").replace("from -inf", "without start"),
                "Let one end where the next begins.",
            )
        else:
            yield Finding(
                at,
                f"no outcome covers readings {_gap(end, start, unit)}",
                "Let one range end where the next begins; leave out the outermost ends.",
            )


def _gap(end: float, start: float, unit: str) -> str:
    if end == -math.inf:
        return f"below {start:g}{unit}"
    if start == math.inf:
        return f"of {end:g}{unit} or more"
    return f"from {end:g} to below {start:g}{unit}"


def _has_range(outcome: Outcome) -> bool:
    return outcome.from_ is not None or outcome.below is not None


def _span(outcome: Outcome) -> tuple[float, float]:
    low = -math.inf if outcome.from_ is None else outcome.from_
    high = math.inf if outcome.below is None else outcome.below
    return low, high


@rule("likelihood-out-of-bounds")
def likelihood_out_of_bounds(library: Library) -> Iterator[Finding]:
    """A likelihood given as a number is from 0.001 to 0.999.

    Nothing is ever certain; a 0 or 1 could never be taken back by later evidence.

    Fails:

        seen_with: {loose-plug: 1}

    Passes:

        seen_with: {loose-plug: 0.97}
    """
    low, high = LIKELIHOOD_BOUNDS
    for check in library.checks.values():
        for ident, outcome in check.outcomes.items():
            for cause, value in outcome.seen_with.items():
                if not isinstance(value, str) and not low <= value <= high:
                    yield Finding(
                        library.at("check", check.id, ("outcomes", ident, "seen_with", cause)),
                        f"the likelihood {value:g} of {cause} is not within {low:g} to {high:g}",
                        f"Use a number within the bounds or a word: {', '.join(LIKELIHOODS)}.",
                    )


@rule("likelihoods-exceed-one", "warning")
def likelihoods_exceed_one(library: Library) -> Iterator[Finding]:
    """The likelihoods of one cause over the outcomes of a check add up to at most about one (1.3).

    A check turns out one way at a time: "usually" here and "usually" there cannot both be true.

    Fails:

        outcomes: {low: {seen_with: {flat: usually}}, zero: {seen_with: {flat: usually}}, good: {normal: true}}

    Passes:

        outcomes: {low: {seen_with: {flat: usually}}, zero: {seen_with: {flat: sometimes}}, good: {normal: true}}
    """
    for check in library.checks.values():
        for cause in library.causes_of_check(check.id):
            named = [
                LIKELIHOODS[value] if isinstance(value, str) else value
                for outcome in check.outcomes.values()
                for key, value in outcome.seen_with.items()
                if key == cause.id
            ]
            if sum(named) > ROW_LIMIT:
                yield Finding(
                    library.at("check", check.id, ("outcomes",), key=True),
                    f"the likelihoods of {cause.id} in {check.id} add up to {sum(named):.2f} (limit: {ROW_LIMIT})",
                    "Lower the less likely ones.",
                )


@rule("difference-of-one-point")
def difference_of_one_point(library: Library) -> Iterator[Finding]:
    """A difference is taken between two different test points.

    The difference of a point with itself is always zero.

    Fails:

        reading: {quantity: drop, unit: V, of: [tp1, tp1]}

    Passes:

        reading: {quantity: drop, unit: V, of: [tp1, tp3]}
    """
    for check in library.checks.values():
        if check.reading and check.reading.of and check.reading.of[0] == check.reading.of[1]:
            yield Finding(
                library.at("check", check.id, ("reading", "of")),
                f"the difference is taken between {check.reading.of[0]} and itself",
                "Name two different points.",
            )
