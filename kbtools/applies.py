"""The unit that a reader has before them, and what is about it."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise

from kbtools.library import Library
from kbtools.model import Applies, Type

_DASHES = re.compile(r"[-\u2010-\u2015\u2212]")
_SHOWN = 60
"""Characters of a wrong text that a message repeats."""


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

    Spaces count for nothing, and dashes within a serial number neither. Raises UnitError for an unknown type, for letters
    among the digits, and for too few or too many digits.
    """
    typed = _plain(text)
    for ident, kind in library.types.items():
        if typed in (_plain(ident), _plain(kind.title)):
            return Unit(ident)
    marked = [kind for kind in library.types.values() if kind.serial_prefix]
    for kind in sorted(marked, key=lambda kind: -len(kind.serial_prefix or "")):
        start, rest = _bare(kind.serial_prefix or ""), _bare(typed)
        if start and rest.startswith(start):
            return Unit(kind.id, _serial(_short(text), kind, rest[len(start) :]))
    units = ", ".join(kind.title for kind in library.types.values())
    raise UnitError(f"“{_short(text)}” is no unit of this manual. There is: {units}{_serials(marked)}.")


def _serials(marked: list[Type]) -> str:
    """How serial numbers begin, types of as many digits together: ' or 5 digits after W4- or W6-'."""
    prefixes: dict[int, list[str]] = {}
    for kind in marked:
        prefixes.setdefault(kind.serial_digits, []).append(kind.serial_prefix or "")
    return "".join(f" or {_digits(count)} after {' or '.join(found)}" for count, found in prefixes.items())


def _digits(count: int) -> str:
    return f"{count} digit{'' if count == 1 else 's'}"


def _plain(text: str) -> str:
    return "".join(text.split()).lower()


def _bare(text: str) -> str:
    return _DASHES.sub("", _plain(text))


def _short(text: str) -> str:
    text = " ".join(text.split())
    return f"{text[:_SHOWN]}…" if len(text) > _SHOWN else text


def _serial(text: str, kind: Type, digits: str) -> int:
    prefix, wanted = kind.serial_prefix, kind.serial_digits
    if not re.fullmatch(r"[0-9]+", digits):
        stand = "stands" if wanted == 1 else "stand"
        raise UnitError(f"“{text}” is no serial number: after {prefix} {stand} {_digits(wanted)} and nothing else.")
    if len(digits) != wanted:
        raise UnitError(f"“{text}” has {_digits(len(digits))} after {prefix}; a serial number has {wanted}.")
    return int(digits)


def unit_words(library: Library, unit: Unit) -> str:
    """How a unit is written: 'W6', 'W6-20731'."""
    kind = library.types[unit.type]
    return kind.title if unit.serial is None else f"{kind.serial_prefix or ''}{unit.serial:0{kind.serial_digits}d}"


def limits(applies_to: Iterable[Applies]) -> str:
    """Limits as pages and numbers hold them: types between spaces, each with its range of serial numbers, half-open.

    >>> limits([Applies(type="w4"), Applies.model_validate({"type": "w6", "from": 20500})])
    'w4 w6:20500-'
    """
    return " ".join(
        item.type
        if item.from_ is None and item.below is None
        else f"{item.type}:{_bound(item.from_)}-{_bound(item.below)}"
        for item in applies_to
    )


def _bound(serial: int | None) -> str:
    return "" if serial is None else str(serial)


def classes(library: Library, limited: Iterable[Applies]) -> tuple[Applies, ...]:
    """The kinds of units that these limits tell apart: for each type its ranges between the limits, then the type as a whole.

    The whole stands for a unit whose serial number is not known, and where nothing divides the type for all of its units.
    """
    cuts: dict[str, set[int]] = {ident: set() for ident in library.types}
    for limit in limited:
        cuts.setdefault(limit.type, set()).update(cut for cut in (limit.from_, limit.below) if cut)
    found: list[Applies] = []
    for ident, bounds in cuts.items():
        ordered = [None, *sorted(bounds), None]
        if bounds:
            found += [
                Applies.model_validate({"type": ident, "from": low, "below": high}) for low, high in pairwise(ordered)
            ]
        found.append(Applies(type=ident))
    return tuple(found)


def one_of(limit: Applies) -> Unit:
    """A unit of this class: its first one, or the type as a whole."""
    if limit.from_ is None and limit.below is None:
        return Unit(limit.type)
    return Unit(limit.type, limit.from_ or 0)
