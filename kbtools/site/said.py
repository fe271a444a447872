"""Likelihoods, shares and fixed vocabulary in words, for pages."""

from __future__ import annotations

import math

NATURES = {
    "fault": "Fault",
    "setting": "Setting",
    "operation": "Way of use",
    "site": "Site",
    "normal": "Nothing wrong",
}
YES_NO = {"yes": "Yes", "no": "No", "limited": "Within limits"}
LEVELS = ("DANGER", "WARNING", "CAUTION", "NOTICE")

_ONE_IN = (2, 3, 4, 5, 6, 8, 10, 12, 15, 20, 30, 50, 100)
_FRACTIONS = ((19, 20), (9, 10), (4, 5), (3, 4), (2, 3), (2, 5), *((1, bottom) for bottom in _ONE_IN))


def share(probability: float) -> str:
    """A share of cases (over 0, under 1) as a near fraction, nearest in log-odds.

    >>> share(0.41), share(0.05), share(0.002)
    ('about 2 in 5', 'about 1 in 20', 'under 1 in 100')
    """
    if probability < 0.008:
        return "under 1 in 100"
    if probability > 0.965:
        return "nearly all"

    def distance(fraction: tuple[int, int]) -> float:
        return abs(math.log(fraction[0] / (fraction[1] - fraction[0])) - math.log(probability / (1 - probability)))

    top, bottom = min(_FRACTIONS, key=distance)
    return f"about {top} in {bottom}"


def likelihood(value: str | float) -> str:
    """A likelihood word as it is; a number as a share.

    >>> likelihood("usually"), likelihood(0.5)
    ('usually', 'about 1 in 2')
    """
    return value if isinstance(value, str) else share(value)


def plural(count: int, one: str, many: str = "") -> str:
    """A count with its noun.

    >>> plural(1, "check"), plural(3, "check"), plural(2, "remedy", "remedies")
    ('1 check', '3 checks', '2 remedies')
    """
    return f"{count} {one if count == 1 else many or one + 's'}"
