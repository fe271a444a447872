"""The unit that a reader has before them, and what is about it."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

from kbtools.library import Library
from kbtools.model import Applies
from kbtools.problem import did_you_mean

DIGITS = 5
"""Digits of a serial number after the letters of its type."""


class UnitError(ValueError):
    """What was typed names no unit; the message says why and what would."""


@dataclass(frozen=True)
class Unit:
    """One piece of equipment: its type and, where known, the digits of its serial number."""

    type: str
    serial: int | None = None


def applies(applies_to: Iterable[Applies], unit: Unit | None) -> bool:
    """Return whether something is about this unit; without a unit or limits it is.

    Ranges are half-open: `from` ≤ serial < `below`. To a type without a serial number everything of that
    type applies.
    """
    limits = tuple(applies_to)
    return unit is None or not limits or any(_within(limit, unit) for limit in limits)


def _within(limit: Applies, unit: Unit) -> bool:
    if limit.type != unit.type:
        return False
    if unit.serial is None:
        return True
    return (limit.from_ is None or unit.serial >= limit.from_) and (limit.below is None or unit.serial < limit.below)


def unit_of(library: Library, text: str) -> Unit:
    """The unit that a text names: a type (its id or title) or a serial number such as W6-20731, in any case.

    Raises UnitError for an unknown type, for letters among the digits, and for too few or too many digits.
    """
    typed = "".join(text.split()).casefold()
    for ident, kind in library.types.items():
        if typed in (ident.casefold(), "".join(kind.title.split()).casefold()):
            return Unit(ident)
    prefixes = {ident: kind.serial_prefix for ident, kind in library.types.items() if kind.serial_prefix}
    for ident, prefix in sorted(prefixes.items(), key=lambda pair: -len(pair[1])):
        if typed.startswith(prefix.casefold()):
            return Unit(ident, _serial(text.strip(), prefix, typed[len(prefix) :]))
    known = [*library.types, *prefixes.values()]
    units = ", ".join(kind.title for kind in library.types.values())
    hint = did_you_mean(typed, known) or f"There is: {units}."
    raise UnitError(f"{text.strip()!r} is no unit of this manual. {hint}")


def _serial(text: str, prefix: str, digits: str) -> int:
    if not re.fullmatch(r"[0-9]+", digits):
        raise UnitError(f"{text!r} is no serial number: after {prefix} stand {DIGITS} digits and nothing else.")
    if len(digits) != DIGITS:
        raise UnitError(f"{text!r} has {len(digits)} digits after {prefix}; a serial number has {DIGITS}.")
    return int(digits)


def unit_words(library: Library, unit: Unit) -> str:
    """How a unit is written: 'W6', 'W6-20731'."""
    kind = library.types[unit.type]
    return kind.title if unit.serial is None else f"{kind.serial_prefix or ''}{unit.serial:0{DIGITS}d}"
