"""Parts in series: where to measure next along a supply path or a pressure line.

Point ``t`` (1 … n−1) stands after part ``t``. A fault at or before a point makes it read bad; after it, good.
Measuring at or before the middle of what is still suspected and moving the bracket is the trade's bracketing
(US Army IT0338); the best point also weighs how likely each part is and what each point costs.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import cache
from itertools import accumulate

Rule = Callable[[Sequence[float], Sequence[float]], int]


def best_split(odds: Sequence[float], costs: Sequence[float]) -> int:
    """Return the point (1 … n−1) with the largest min(upstream, downstream) probability ÷ cost; ties
    upstream.

    ``odds`` are the n parts' probabilities in order (they need not sum to 1), ``costs`` the n−1 points'
    minutes. Raises ValueError when there are not n−1 costs, or no point at all.

    >>> best_split([0.25, 0.25, 0.25, 0.25], [1, 1, 1])
    2
    """
    _fitting(odds, costs)
    total, upstream = sum(odds), list(accumulate(odds))
    worth = [min(mass, total - mass) / cost for mass, cost in zip(upstream, costs, strict=False)]
    return _first(worth)


def half_mass(odds: Sequence[float], costs: Sequence[float]) -> int:
    """Return the point that splits the probability best, whatever it costs."""
    return best_split(odds, [1.0] * len(costs))


def half_count(odds: Sequence[float], costs: Sequence[float]) -> int:
    """Return the point in the middle of the parts, at or before it."""
    _fitting(odds, costs)
    return len(odds) // 2


def walking(odds: Sequence[float], costs: Sequence[float]) -> int:
    """Return the first point: from the supply along the path."""
    _fitting(odds, costs)
    return 1


def expected(odds: Sequence[float], costs: Sequence[float], rule: Rule) -> float:
    """Return the expected minutes until one part is left, always measuring where ``rule`` says."""
    if len(odds) < 2:
        return 0.0
    total = sum(odds)
    at = rule(odds, costs)
    sides = ((odds[:at], costs[: at - 1]), (odds[at:], costs[at:]))
    later = sum(sum(part) / total * expected(part, its, rule) for part, its in sides if sum(part) > 0)
    return costs[at - 1] + later


def least(odds: Sequence[float], costs: Sequence[float]) -> float:
    """Return the least expected minutes until one part is left (dynamic programming over brackets)."""
    if len(odds) > 1:
        _fitting(odds, costs)
    upto = [0.0, *accumulate(odds)]

    @cache
    def value(start: int, end: int) -> float:
        if end - start < 2:
            return 0.0
        mass = upto[end] - upto[start]
        return min(costs[t - 1] * mass + value(start, t) + value(t, end) for t in range(start + 1, end))

    return value(0, len(odds)) / upto[-1]


def _first(worth: Sequence[float]) -> int:
    best = max(worth)
    return next(t for t, value in enumerate(worth, 1) if value >= best - 1e-9 * abs(best))


def _fitting(odds: Sequence[float], costs: Sequence[float]) -> None:
    if len(odds) < 2 or len(costs) != len(odds) - 1 or min(costs) <= 0:
        raise ValueError(f"{len(odds)} parts have {max(len(odds) - 1, 0)} points, each costing more than nothing")
