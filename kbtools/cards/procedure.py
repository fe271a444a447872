"""The procedure that a card prints: numbered boxes, and where each outcome leads."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from kbtools.library import Library
from kbtools.model import LIKELIHOODS, Check

POINTS_TO = 0.25
"""A cause that shows an outcome at least this often is pointed to by it."""


@dataclass(frozen=True)
class Exit:
    """Where one outcome of a box leads: to the remedies of causes in order, then to a box or, without one, a hand-over.

    `outcome` is an outcome of the check; for a remedy it is `cured` or `not-cured`. `done`: with this outcome the check or
    remedy has itself cured it; the rest is for the case that it has not.
    """

    outcome: str
    box: int | None = None
    causes: tuple[str, ...] = ()
    done: bool = False


@dataclass(frozen=True)
class Box:
    """A check to make or a cause to mend, under its number on the card (from 1)."""

    number: int
    kind: Literal["check", "remedy"]
    id: str
    exits: tuple[Exit, ...]


@dataclass(frozen=True)
class Procedure:
    """Boxes in the order of their numbers, for a reader who may do what `who` may.

    `minutes` is the expected time until fixed, `settled` the share of cases (0 to 1) that end without a hand-over; None where
    nobody has worked them out.
    """

    who: str
    boxes: tuple[Box, ...]
    minutes: float | None = None
    settled: float | None = None


def reader_of(library: Library) -> str:
    """For whom cards are made: the technician, or the highest person where there is none of that name."""
    return "technician" if "technician" in library.people else next(reversed(list(library.people)), "technician")


def by_proof(library: Library, symptom: str, who: str) -> Procedure:
    """Checks one after the other, by the probability of the causes that they can prove per minute.

    A check proves a cause with the likelihood of its outcomes that are not normal. What a check points to is mended at once;
    a normal outcome leads on to the next check, the last one to a hand-over.
    """
    shares = _shares(library, symptom)
    checks = [check for check in library.checks_of(symptom) if library.rank(check.who) <= library.rank(who)]
    checks.sort(key=lambda check: -_proof(check, shares) / _minutes(library, check))
    boxes = [
        Box(number, "check", check.id, _exits(check, shares, number + 1 if number < len(checks) else None))
        for number, check in enumerate(checks, 1)
    ]
    return Procedure(who, tuple(boxes))


def _shares(library: Library, symptom: str) -> dict[str, float]:
    """The causes of a symptom with weights that fall with their rank, or their shares where they are known."""
    ranked = [item for item in library.symptoms[symptom].causes if item.cause in library.causes]
    left = max(0.0, 100 - library.symptoms[symptom].unlisted - sum(item.share or 0 for item in ranked))
    parts = {i: 1 / i for i, item in enumerate(ranked, 1) if item.share is None}
    return {
        item.cause: item.share if item.share is not None else left * parts[i] / sum(parts.values())
        for i, item in enumerate(ranked, 1)
    }


def _minutes(library: Library, check: Check) -> float:
    return check.minutes + (library.places[check.place].reach_minutes if check.place in library.places else 0)


def _likely(value: str | float) -> float:
    return LIKELIHOODS[value] if isinstance(value, str) else value


def _proof(check: Check, shares: Mapping[str, float]) -> float:
    return sum(
        shares.get(cause, 0) * _likely(likelihood)
        for outcome in check.outcomes.values()
        if not outcome.normal
        for cause, likelihood in outcome.seen_with.items()
    )


def _exits(check: Check, shares: Mapping[str, float], following: int | None) -> tuple[Exit, ...]:
    exits = []
    for ident, outcome in check.outcomes.items():
        weights = {
            cause: shares[cause] * _likely(likelihood)
            for cause, likelihood in outcome.seen_with.items()
            if cause in shares and _likely(likelihood) >= POINTS_TO
        }
        causes = tuple(sorted(weights, key=lambda cause: -weights[cause]))
        if outcome.fixed:
            exits.append(Exit(ident, done=True))
        elif causes and not outcome.normal:
            exits.append(Exit(ident, causes=causes))
        else:
            exits.append(Exit(ident, box=following))
    return tuple(exits)
