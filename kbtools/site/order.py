"""Shares of a symptom's causes, and the order in which its checks stand on the page."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from kbtools.applies import Unit, applies
from kbtools.diagnosis.numbers import prior
from kbtools.library import Library
from kbtools.model import LIKELIHOODS, Cause, Check


@dataclass(frozen=True)
class Share:
    """A cause and its share of the symptom's cases, from 0 to 1; the unlisted one has no cause."""

    cause: Cause | None
    probability: float


def shares(library: Library, symptom: str, unit: Unit | None = None) -> tuple[Share, ...]:
    """The symptom's causes in the author's order, and last the unlisted one; they sum to 1. With a unit, its causes alone.

    Causes without a share divide what is left in proportion to 1/rank; when every cause has one they are scaled.
    """
    entry = library.symptoms[symptom]
    known = [ranked for ranked in entry.causes if ranked.cause in library.causes]
    about = [applies(library.causes[ranked.cause].applies_to, unit) for ranked in known]
    parts = prior([ranked.share for ranked in known], entry.unlisted, about if unit else None)
    listed = zip(known, parts, about, strict=False)
    found = [Share(library.causes[ranked.cause], part) for ranked, part, its in listed if its]
    return (*found, Share(None, parts[-1]))


def checks_in_order(library: Library, symptom: str) -> tuple[Check, ...]:
    """The symptom's checks, by probability of the causes they can prove per minute, best first.

    Minutes include the way to the place; a check that must follow others stands after them.
    """
    probability = {s.cause.id: s.probability for s in shares(library, symptom) if s.cause}

    def worth(check: Check) -> float:
        place = library.places.get(check.place)
        return _proof(check, probability) / (check.minutes + (place.reach_minutes if place else 0))

    return _after_what_they_need(sorted(library.checks_of(symptom), key=lambda check: -worth(check)))


def number_of(likelihood: str | float) -> float:
    """The number behind a likelihood word, or the number itself."""
    return LIKELIHOODS[likelihood] if isinstance(likelihood, str) else likelihood


def _proof(check: Check, probability: Mapping[str, float]) -> float:
    """Probability that an outcome other than the normal one points to a cause of the symptom."""
    return sum(
        probability.get(cause, 0) * number_of(likelihood)
        for outcome in check.outcomes.values()
        if not outcome.normal
        for cause, likelihood in outcome.seen_with.items()
    )


def _after_what_they_need(checks: list[Check]) -> tuple[Check, ...]:
    """The same order, except that `only_after` holds among these checks; circles are broken where they close."""
    by_id = {check.id: check for check in checks}
    placed: dict[str, Check] = {}

    def place(check: Check, above: tuple[str, ...]) -> None:
        for earlier in check.only_after:
            if earlier in by_id and earlier not in placed and earlier not in above:
                place(by_id[earlier], (*above, check.id))
        placed.setdefault(check.id, check)

    for check in checks:
        place(check, ())
    return tuple(placed.values())
