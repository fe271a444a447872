"""A reading in a query ("21.5 V at TP6"): which outcome of a check it means."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from kbtools.model import Check
from kbtools.words import outcome_label

UNITS: Mapping[str, str] = {
    "v": "v",
    "volt": "v",
    "volts": "v",
    "a": "a",
    "amp": "a",
    "amps": "a",
    "ampere": "a",
    "amperes": "a",
    "bar": "bar",
    "mm": "mm",
    "millimetre": "mm",
    "millimetres": "mm",
    "ohm": "ohm",
    "ohms": "ohm",
    "ω": "ohm",
    "ma": "ma",
    "s": "s",
    "seconds": "s",
    "min": "min",
    "minutes": "min",
}
"""Units as callers write them, to one spelling."""


@dataclass(frozen=True)
class Scale:
    """What a check reads at one point: its unit and, for each outcome with a range, from, below and label."""

    unit: str
    point: tuple[str, ...]
    ranges: tuple[tuple[float | None, float | None, str], ...]


def scale_of(check: Check) -> Scale | None:
    """The scale of a check that reads one value at one point; None for any other check."""
    reading = check.reading
    unit = UNITS.get(reading.unit.lower()) if reading else None
    if reading is None or reading.point is None or unit is None:
        return None
    ranges = tuple(
        (outcome.from_, outcome.below, outcome_label(check, ident))
        for ident, outcome in check.outcomes.items()
        if outcome.from_ is not None or outcome.below is not None
    )
    return Scale(unit, tuple(reading.point.split("-")), ranges)


def measured(words: Sequence[str]) -> int | None:
    """Place of the first number with a unit after it.

    >>> measured(["at", "tp6", "21.5", "v"])
    2
    """
    places = (i for i, (number, unit) in enumerate(pairwise(words)) if number[0].isdigit() and unit in UNITS)
    return next(places, None)


def outcome_of(scale: Scale | None, words: Sequence[str]) -> str:
    """Label of the outcome that the reading in the query means, when the query names the scale's point; else ""."""
    place = measured(words)
    if scale is None or place is None or not set(scale.point) <= set(words) or UNITS[words[place + 1]] != scale.unit:
        return ""
    value = float(words[place])
    fitting = (
        label for low, high, label in scale.ranges if (low is None or low <= value) and (high is None or value < high)
    )
    return next(fitting, "")
