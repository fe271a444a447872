"""Confirmed calls move the shares: a Dirichlet prior that counts as some calls, and older calls that fade."""

from __future__ import annotations

from collections.abc import Sequence

STRENGTH = 20.0
FADE = 0.985


def updated(shares: Sequence[float], counts: Sequence[float], strength: float = STRENGTH) -> tuple[float, ...]:
    """Return the shares after confirmed calls: (strength × share + count) ÷ their sum.

    ``shares`` sum to 1 and ``counts`` are confirmed calls per cause (fractions where older ones fade); the
    mean of a Dirichlet posterior (Gelman et al., Bayesian Data Analysis, §3.4).
    """
    if len(shares) != len(counts) or min(counts, default=0) < 0 or strength <= 0:
        raise ValueError("one count of 0 or more for every share, and a strength over 0")
    alpha = [strength * share + count for share, count in zip(shares, counts, strict=True)]
    return tuple(value / sum(alpha) for value in alpha)


def faded_counts(causes: Sequence[int], number: int, fade: float = FADE) -> tuple[float, ...]:
    """Return how often each of ``number`` causes was confirmed, each call ``fade`` times per later call.

    ``causes`` are the confirmed causes of one symptom's calls by position, oldest first.
    """
    counts = [0.0] * number
    for age, cause in enumerate(reversed(causes)):
        counts[cause] += fade**age
    return tuple(counts)
