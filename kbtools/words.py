"""How numbers, ranges, times and types are said, the same on every page, card and screen."""

from __future__ import annotations

import math
from collections.abc import Iterable

from kbtools.library import Library
from kbtools.model import Applies, Check, Outcome, Reading

_NO_SPACE = ("°", "′", "″")
"""Units that follow their number without a space (SI Brochure, 9th edition, 5.4.3: the plane-angle units)."""


def decimals_of(numbers: Iterable[float]) -> int:
    """Decimals needed to write every one of these numbers exactly, at most 6.

    >>> decimals_of([20, 21.5, 22])
    1
    """
    return max((_decimals(number) for number in numbers), default=0)


def _decimals(number: float) -> int:
    text = f"{number:.6f}".rstrip("0")
    return len(text.partition(".")[2])


def number_words(number: float, decimals: int | None = None) -> str:
    """A number with a true minus sign; as many decimals as it needs, or as given.

    >>> number_words(-0.3)
    '−0.3'
    """
    text = f"{number:.{_decimals(number) if decimals is None else decimals}f}"
    if float(text) == 0:
        text = text.lstrip("-")
    return text.replace("-", "−")


def with_unit(text: str, unit: str) -> str:
    """A number and its unit: '24 V', '2°', '50 %', '7' without a unit."""
    gap = "" if not unit or unit in _NO_SPACE else " "
    return f"{text}{gap}{unit}"


def range_words(outcome: Outcome, unit: str = "", decimals: int | None = None) -> str:
    """The half-open range of an outcome (from ≤ reading < below) in words; empty when it has none.

    >>> range_words(Outcome.model_validate({"from": 22}), "V")
    '22 V or more'
    >>> range_words(Outcome.model_validate({"from": 21, "below": 22}), "V")
    '21 to under 22 V'
    >>> range_words(Outcome(below=20), "V")
    'under 20 V'
    """
    low, high = outcome.from_, outcome.below
    if decimals is None:
        decimals = decimals_of(n for n in (low, high) if n is not None)
    if low is not None and high is not None:
        return f"{number_words(low, decimals)} to under {with_unit(number_words(high, decimals), unit)}"
    if low is not None:
        return f"{with_unit(number_words(low, decimals), unit)} or more"
    if high is not None:
        return f"under {with_unit(number_words(high, decimals), unit)}"
    return ""


def bounds_of(check: Check) -> tuple[float, ...]:
    """Every bound between two outcomes of a check, in ascending order."""
    found = {n for outcome in check.outcomes.values() for n in (outcome.from_, outcome.below) if n is not None}
    return tuple(sorted(n for n in found if math.isfinite(n)))


def outcome_range(check: Check, outcome: str) -> str:
    """The range of one outcome in the check's unit, all of its outcomes with the same decimals; empty without one."""
    unit = check.reading.unit if check.reading else ""
    return range_words(check.outcomes[outcome], unit, decimals_of(bounds_of(check)))


def outcome_label(check: Check, outcome: str) -> str:
    """What an outcome is called: its label, else its range, else its id in words."""
    written = check.outcomes[outcome].label or outcome_range(check, outcome) or outcome.replace("-", " ")
    return written[:1].upper() + written[1:]


def outcome_words(check: Check, outcome: str) -> str:
    """Label and range together: 'Creeps (1 to under 5 mm)', or just the one that there is."""
    label, span = outcome_label(check, outcome), outcome_range(check, outcome)
    return label if not span or check.outcomes[outcome].label is None else f"{label} ({span})"


def normal_outcome(check: Check) -> str | None:
    """Id of the outcome that equipment shows which is well in this respect."""
    return next((ident for ident, outcome in check.outcomes.items() if outcome.normal), None)


def minutes_words(minutes: float) -> str:
    """A time as people say it, rounded up to what matters.

    >>> minutes_words(2), minutes_words(65), minutes_words(480), minutes_words(0.5)
    ('2 min', '1 h 5 min', '8 h', '1 min')
    """
    whole = math.ceil(minutes - 1e-9)
    hours, rest = divmod(whole, 60)
    if not hours:
        return f"{rest} min"
    return f"{hours} h {rest} min" if rest else f"{hours} h"


def percent_words(probability: float) -> str:
    """A probability (0 to 1) in per cent; never a bare 0 or 100 for what is merely near.

    >>> percent_words(0.254), percent_words(0.004), percent_words(0.998)
    ('25 %', 'under 1 %', 'over 99 %')
    """
    if 0 < probability < 0.01:
        return "under 1 %"
    if 0.99 < probability < 1:
        return "over 99 %"
    return f"{round(probability * 100)} %"


def reading_words(library: Library, reading: Reading) -> str:
    """What is read, where and when: 'Voltage at TP3, power-pack stud, load', or the difference of two points."""
    where = ""
    if reading.of is not None:
        where = f", from {_point(library, reading.of[0])} to {_point(library, reading.of[1])}"
    elif reading.point is not None:
        where = f" at {_point(library, reading.point)}"
    when = f", {reading.condition}" if reading.condition else ""
    return f"{reading.quantity[:1].upper()}{reading.quantity[1:]}{where}{when}"


def _point(library: Library, ident: str) -> str:
    return library.points[ident].title if ident in library.points else ident


def applies_words(library: Library, applies_to: Iterable[Applies]) -> str:
    """The types and serial numbers that something is about: 'All types', 'W4; W6 from W6-20500'."""
    return "; ".join(_applies(library, item) for item in applies_to) or "All types"


def _applies(library: Library, item: Applies) -> str:
    kind = library.types.get(item.type)
    title, prefix = (kind.title, kind.serial_prefix or "") if kind else (item.type, "")
    if item.from_ is not None and item.below is not None:
        return f"{title} from {prefix}{item.from_} to {prefix}{item.below - 1}"
    if item.from_ is not None:
        return f"{title} from {prefix}{item.from_}"
    if item.below is not None:
        return f"{title} up to {prefix}{item.below - 1}"
    return title
