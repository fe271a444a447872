"""From an author's ranks, shares and words to the numbers of a network."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from kbtools.model import LIKELIHOODS as WORDS

UNLISTED_SHARE = 5.0
UNNAMED = 0.01
UNNAMED_NORMAL = 0.97
TOO_MUCH = 1.3


def prior(
    shares: Sequence[float | None],
    unlisted: float | None = None,
    applies: Sequence[bool] | None = None,
) -> tuple[float, ...]:
    """Return the prior of ranked causes and, last, of the unlisted one; the whole sums to 1.

    ``shares`` are per cent in rank order, None where only the rank is known: such causes divide what is left
    in proportion to 1/rank. When every cause has a share, they are scaled to fill what the unlisted cause
    leaves. ``applies`` removes causes of another unit; the rest are divided by their sum and ranks do not
    move.

    >>> [round(p, 4) for p in prior([None, None, 40])]
    [0.3667, 0.1833, 0.4, 0.05]

    Raises ValueError when a share is not between 0 and 100, or when nothing is left for a cause without one.
    """
    beside = UNLISTED_SHARE if unlisted is None else unlisted
    given = [share for share in shares if share is not None]
    for share in (*given, beside):
        if not 0 < share < 100:
            raise ValueError(f"a share must be over 0 and under 100 per cent, not {share:g}")
    if len(given) < len(shares):
        parts = _ranked(shares, 100 - beside - sum(given))
    else:
        parts = [share * (100 - beside) / sum(given) for share in given]
    parts.append(beside if shares else 100.0)
    kept = [part if applies is None or i == len(shares) or applies[i] else 0.0 for i, part in enumerate(parts)]
    return tuple(part / sum(kept) for part in kept)


def _ranked(shares: Sequence[float | None], left: float) -> list[float]:
    if left <= 0:
        raise ValueError(f"the shares leave {left:g} per cent for the causes without one")
    total = sum(1 / rank for rank, share in enumerate(shares, 1) if share is None)
    return [left / rank / total if share is None else share for rank, share in enumerate(shares, 1)]


def likelihood(value: str | float) -> float:
    """Return the number behind a likelihood word, or the number itself.

    Raises ValueError for an unknown word and for numbers that are not strictly between 0 and 1.
    """
    if isinstance(value, str):
        if value not in WORDS:
            raise ValueError(f"{value!r} is not one of {', '.join(WORDS)}")
        return WORDS[value]
    if not 0 < value < 1:
        raise ValueError(f"a likelihood must be over 0 and under 1, not {value:g}")
    return float(value)


def named_row(named: Mapping[int, str | float], outcomes: int, normal: int) -> tuple[float, ...]:
    """Return P(outcome | cause) for a cause that the check names.

    ``named`` maps outcome positions to a word or number. Every other outcome gets 0.01; what is missing to 1
    goes to the normal outcome when it is unnamed, else equally to the unnamed ones; the row is divided by its
    sum.

    >>> [round(p, 4) for p in named_row({1: "usually", 2: "sometimes"}, 3, 0)]
    [0.009, 0.7207, 0.2703]
    """
    row = [likelihood(named[i]) if i in named else UNNAMED for i in range(outcomes)]
    missing = 1 - sum(row)
    takers = [normal] if normal not in named else [i for i in range(outcomes) if i not in named]
    if missing > 0:
        for i in takers:
            row[i] += missing / len(takers)
    return tuple(p / sum(row) for p in row)


def overfull(named: Mapping[int, str | float]) -> float:
    """Return the sum of the named numbers where it exceeds 1.3 (an author's slip), else 0."""
    total = sum(likelihood(value) for value in named.values())
    return total if total > TOO_MUCH else 0.0


def unnamed_row(outcomes: int, normal: int) -> tuple[float, ...]:
    """Return P(outcome | cause) for a cause that the check does not name: normal 0.97, the rest 0.03."""
    other = (1 - UNNAMED_NORMAL) / (outcomes - 1)
    return tuple(UNNAMED_NORMAL if i == normal else other for i in range(outcomes))


def unlisted_row(outcomes: int) -> tuple[float, ...]:
    """Return P(outcome | unlisted): every outcome equally."""
    return (1 / outcomes,) * outcomes
